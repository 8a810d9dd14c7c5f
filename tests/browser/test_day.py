"""A student's day on a tablet with a poor line, and the instructor's session beside it."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from grading.models import Attempt, Reading
from tests.browser.conftest import PHONE, faults_at_every_width
from tests.grading.scene import Shop, booths, shop

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def made() -> Shop:
    made = shop(4)
    booths(made, 5)
    return made


def hand_in(page: Any, made: Shop) -> Attempt:
    page.goto("/today/")
    page.get_by_role("button", name="Start coupon").click()
    page.get_by_role("link", name="Hand in").click()
    page.get_by_label("Current").fill("125")
    page.get_by_label("Leg").fill("11/32")
    page.get_by_label("yes", exact=True).first.check()
    page.get_by_label("What I saw").fill("ran cold")
    return Attempt.objects.get()


def test_a_coupon_logged_off_line_is_handed_in_once_when_the_line_is_back(
    open_as: Any, made: Shop
) -> None:
    page = open_as(made.students[0])
    attempt = hand_in(page, made)
    page.context.set_offline(True)
    page.get_by_role("button", name="Hand in").click()
    expect(page.locator("#unsent")).to_be_visible()
    assert page.get_by_label("Leg").input_value() == "11/32"
    page.context.set_offline(False)
    page.wait_for_url(f"**{reverse('grading:attempt', args=[attempt.pk])}")
    expect(page.locator("#unsent")).to_be_hidden()
    attempt.refresh_from_db()
    assert (attempt.state, attempt.own_note) == ("logged", "ran cold")
    assert Reading.objects.count() == 2


def test_an_answer_lost_after_the_write_hands_in_one_coupon(open_as: Any, made: Shop) -> None:
    page = open_as(made.students[0])
    attempt = hand_in(page, made)

    def lose(route: Any) -> None:
        route.fetch()
        route.abort()

    page.route(f"**{reverse('grading:log', args=[attempt.pk])}", lose, times=1)
    page.get_by_role("button", name="Hand in").click()
    page.wait_for_url(f"**{reverse('grading:attempt', args=[attempt.pk])}")
    expect(page.get_by_role("heading", level=1)).to_have_text("To be judged")
    assert Reading.objects.count() == 2


def test_what_is_refused_is_shown_in_place_with_what_was_typed(open_as: Any, made: Shop) -> None:
    page = open_as(made.students[0])
    attempt = hand_in(page, made)
    page.get_by_label("Leg").fill("wide")
    page.get_by_role("button", name="Hand in").click()
    expect(
        page.locator(f"#field-own_{attempt.setup.version.criteria.first().pk} .error")
    ).to_be_visible()
    assert page.get_by_label("Leg").input_value() == "wide"
    assert page.get_by_label("Current").input_value() == "125"
    assert faults_at_every_width(page) == []
    page.get_by_label("Leg").fill("3/8")
    page.get_by_role("button", name="Hand in").click()
    page.wait_for_url(f"**{reverse('grading:attempt', args=[attempt.pk])}")


def test_an_instructor_taps_a_hold_point_and_who_is_here(open_as: Any, made: Shop) -> None:
    made.coupon(made.given[0])
    page = open_as(made.instructor)
    page.goto("/session/")
    page.get_by_role("button", name="Seen: tack-up").click()
    expect(page.get_by_role("button", name="Seen: root pass")).to_be_visible()
    away = page.get_by_role("button", name=f"{made.students[3]} is away")
    away.click()
    expect(away).to_have_attribute("aria-pressed", "true")
    assert "3 of 4 here" in page.locator(".answer").inner_text()
    booth = page.get_by_label(f"Booth of {made.students[0]}")
    booth.select_option(label="5")
    expect(page.locator("#messages")).to_contain_text("has booth 5")


def test_a_judged_coupon_fits_and_axe_finds_nothing_serious_for_either(
    open_as: Any, made: Shop
) -> None:
    """The other pages of the day are looked at by `test_every_page`."""
    coupon = made.coupon(made.given[0], "redo", why="Leg: 1/4 in.", cure="Slow down.")
    made.coupon(made.given[0])
    found = []
    for who in (made.students[0], made.instructor):
        page = open_as(who, viewport=PHONE)
        page.goto(reverse("grading:attempt", args=[coupon.pk]))
        found += faults_at_every_width(page)
    assert found == []
