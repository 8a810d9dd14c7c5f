"""The term plan by buttons in place, by drag and without a script; axe on the pages of a class."""

import pytest
from django.urls import reverse

from tests.browser.conftest import DESKTOP, PHONE, faults_at_every_width
from tests.curriculum.term import begins, make_term, plan, published

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def term(transactional_db):
    made = make_term(students=3, sessions=6, booths=2)
    first = published(made.campus, "41", keys=("14ga", "11ga"))
    second = published(made.campus, "42", first)
    third = published(made.campus, "51", process="SMAW", signoffs=["grinder"])
    made.entries = plan(made, first, second, third, targets=(0, 2, 4))
    return made


def address(term, **query):
    url = reverse("curriculum:plan", args=[term.shop_class.pk])
    return url + "".join(f"?{name}={value}" for name, value in query.items())


def test_a_button_moves_in_place_and_keeps_the_focus(term, open_as):
    page = open_as(term.instructor, DESKTOP)
    page.goto(address(term, entry=term.entries[2].pk))
    page.evaluate("window.stayed = true")
    for place in ("4", "3"):
        page.click("#earlier")
        page.wait_for_function(
            "n => document.querySelector('tr.sel .bar').textContent.startsWith(n)", arg=place
        )
    assert page.evaluate("window.stayed")
    assert page.evaluate("document.activeElement.id") == "earlier"
    assert begins(term) == [("41", 0), ("42", 2), ("51", 2)]


def test_a_move_that_may_not_be_is_refused_in_words_in_place(term, open_as):
    page = open_as(term.instructor, DESKTOP)
    page.goto(address(term, entry=term.entries[1].pk))
    page.click("#up")
    page.wait_for_selector("#plan [role=alert]")
    assert "42 Exercise 42 needs 41 Exercise 41 first" in page.inner_text("#plan [role=alert]")
    assert faults_at_every_width(page) == []
    assert begins(term) == [("41", 0), ("42", 2), ("51", 4)]


def test_rows_are_dragged_up_and_bars_to_another_week(term, open_as):
    page = open_as(term.instructor, DESKTOP)
    page.goto(address(term))
    row = f"#entry-{term.entries[2].pk}"
    page.drag_and_drop(f"{row} .proc", f"#entry-{term.entries[0].pk} .proc")
    page.wait_for_function("id => document.querySelector('tr[data-entry]').id === id", arg=row[1:])
    assert [number for number, _place in begins(term)] == ["51", "41", "42"]
    page.drag_and_drop(f"{row} .bar", "th[data-first='5']")
    page.wait_for_function(
        "bar => document.querySelector(bar).textContent.startsWith('6')", arg=f"{row} .bar"
    )
    assert begins(term)[0] == ("51", 5)


def test_without_a_script_the_same_buttons_do_it(term, open_as):
    page = open_as(term.instructor, DESKTOP, java_script_enabled=False)
    page.goto(address(term, entry=term.entries[2].pk))
    page.click("#up")
    page.click("#later")
    assert [number for number, _place in begins(term)] == ["41", "51", "42"]
    assert begins(term)[1] == ("51", 3)


def test_an_exercise_is_found_and_added_without_leaving(term, open_as):
    published(term.campus, "70", title="Lap, horizontal")
    page = open_as(term.instructor, DESKTOP)
    page.goto(address(term))
    page.click("text=Add from the library")
    page.fill("#id_q", "lap")
    page.wait_for_selector("#plan-found li >> text=Lap, horizontal")
    page.click("#plan-found button")
    page.wait_for_selector("table.weeks >> text=Lap, horizontal")
    assert begins(term)[-1] == ("70", None)


def test_axe_finds_nothing_serious_and_nothing_scrolls_sideways(term, open_as):
    """An entry picked and an exercise to assign; the pages as they open are `test_every_page`'s."""
    page = open_as(term.instructor, PHONE)
    for path in (
        address(term, entry=term.entries[0].pk),
        reverse("curriculum:assign", args=[term.shop_class.pk])
        + f"?exercise={term.entries[0].exercise_id}",
    ):
        page.goto(path)
        assert faults_at_every_width(page) == [], path
