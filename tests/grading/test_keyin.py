"""A paper day sheet keyed next morning: all lines or none, each error at its place."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from grading.forms.keyin import split
from grading.models import Attempt, Reading, Verdict
from grading.services.keyin import targets
from shared.people.models import Role
from tests.factories import CampusFactory, UserFactory
from tests.grading.bench import browser, keyed
from tests.grading.scene import Shop, booths, exercise, shop

pytestmark = pytest.mark.django_db

GOOD = "11/32 y 100 3 0 0"
SHORT = "9/32 in y 100% 3 0 0"


@pytest.fixture
def made() -> Shop:
    return shop(4)


@pytest.fixture
def client(made: Shop) -> Client:
    return browser(made.instructor)


def url(made: Shop) -> str:
    return reverse("grading:keyin", args=[made.session.pk])


def sheet(*lines: dict[str, str]) -> dict[str, Any]:
    """Return the form's values for these lines."""
    data = keyed(**{"line-TOTAL_FORMS": len(lines), "line-INITIAL_FORMS": 0})
    for place, line in enumerate(lines):
        names = ("mark", "current", "rods", "readings", "verdict", "reason")
        data |= {f"line-{place}-{name}": line.get(name, "") for name in names}
    return data


def marks(made: Shop) -> list[str]:
    return list(targets(made.session))


def test_the_lines_come_prefilled_in_the_order_of_the_booths(made: Shop, client: Client) -> None:
    booths(made, 2)
    page = client.get(url(made))
    assert page.status_code == 200
    rows = page.context["rows"]
    assert [target.student for _form, target in rows if target] == [
        person.name for person in made.students
    ]
    assert rows[0][1].booth == "1"
    assert len(rows) == 4 + 3
    assert rows[0][0]["mark"].value() == marks(made)[0]


def test_a_whole_sheet_becomes_coupons_readings_and_verdicts(made: Shop, client: Client) -> None:
    running = made.coupon(made.given[1])
    first, second, third, fourth = marks(made)
    assert second == running.mark
    answer = client.post(
        url(made),
        sheet(
            {"mark": first, "current": "118", "rods": "2.5", "readings": GOOD},
            {"mark": second.lower(), "readings": SHORT},
            {"mark": third, "current": "115-120"},
            {"mark": fourth},
            {},
        ),
    )
    assert answer.status_code == 302
    made_of = {one.mark: one for one in Attempt.objects.all()}
    assert set(made_of) == {first, second, third}
    assert {mark: one.state for mark, one in made_of.items()} == {
        first: "judged", second: "judged", third: "logged",
    }  # fmt: skip
    assert [row.kind for row in Verdict.objects.order_by("attempt__mark")] == ["pass", "redo"]
    assert all(one.logged_on_paper and one.session == made.session for one in made_of.values())
    used = made_of[first].used_current
    assert used is not None
    assert (used.low, made_of[first].used_rods) == (118.0, 2.5)


def test_one_wrong_line_stores_none_and_loses_nothing(made: Shop, client: Client) -> None:
    first, second, *_rest = marks(made)
    answer = client.post(
        url(made),
        sheet(
            {"mark": first, "readings": GOOD},
            {"mark": second, "readings": "wide y", "current": "130"},
            {"mark": "ZZ9", "verdict": "pass"},
            {"mark": second, "rods": "2"},
        ),
    )
    assert answer.status_code == 422
    assert not Attempt.objects.exists()
    errors = [dict(form.errors) for form in answer.context["forms"]]
    assert [sorted(one) for one in errors] == [[], ["readings"], ["mark"], ["mark"]]
    text = answer.content.decode()
    assert "leg: “wide”" in text
    assert 'value="wide y"' in text
    assert 'value="130"' in text
    assert "3 lines to put right" in text


@pytest.mark.parametrize(
    ("line", "field", "words"),
    [
        ({"readings": GOOD, "verdict": "redo"}, "reason", "The readings say pass"),
        ({"readings": SHORT, "verdict": "pass"}, "reason", "The readings say redo"),
        ({"verdict": "void"}, "reason", "Say why it is void"),
        ({"readings": GOOD + " 1"}, "readings", "There are 7 readings"),
        ({"current": "nan A"}, "current", "nan"),
        ({"rods": "-1"}, "rods", "greater than or equal to 0"),
        ({"verdict": "perhaps"}, "verdict", "perhaps"),
    ],
)
def test_what_cannot_stand_is_said_at_its_place(
    made: Shop, client: Client, line: dict[str, str], field: str, words: str
) -> None:
    good, bad, *_rest = marks(made)
    answer = client.post(url(made), sheet({"mark": good, "readings": GOOD}, {"mark": bad} | line))
    assert answer.status_code == 422
    form = answer.context["forms"][1]
    assert list(form.errors) == [field]
    assert words in form.errors[field][0]
    assert not Attempt.objects.exists()


def test_a_verdict_that_only_lacks_readings_has_the_sheet_as_its_reason(
    made: Shop, client: Client
) -> None:
    first = marks(made)[0]
    client.post(url(made), sheet({"mark": first, "readings": "11/32 - 100", "verdict": "pass"}))
    verdict = Verdict.objects.get()
    assert (verdict.kind, verdict.computed) == ("pass", "incomplete")
    assert "paper day sheet" in verdict.reason
    assert Reading.objects.count() == 2


def test_sent_twice_a_sheet_counts_once(made: Shop, client: Client) -> None:
    data = sheet(*({"mark": mark, "readings": GOOD} for mark in marks(made)))
    answers = [client.post(url(made), data) for _ in range(2)]
    assert [one.status_code for one in answers] == [302, 302]
    assert (Attempt.objects.count(), Verdict.objects.count()) == (4, 4)


def test_a_coupon_judged_meanwhile_is_not_judged_again(made: Shop, client: Client) -> None:
    coupon = made.coupon(made.given[0], "pass", computed="pass")
    answer = client.post(url(made), sheet({"mark": coupon.mark, "readings": GOOD}))
    assert answer.status_code == 422
    assert "judged already" in answer.context["forms"][0].errors["mark"][0]
    assert Verdict.objects.count() == 1


def test_what_the_student_wrote_at_the_tablet_is_not_written_over(
    made: Shop, client: Client
) -> None:
    coupon = made.coupon(made.given[0], "logged")
    Attempt.objects.filter(pk=coupon.pk).update(used_rods=3)
    line = {"mark": coupon.mark, "rods": "5"}
    answer = client.post(url(made), sheet(line))
    assert answer.status_code == 422
    assert "with 3" in answer.context["forms"][0].errors["rods"][0]
    assert client.post(url(made), sheet(line | {"rods": "3", "current": "90"})).status_code == 302
    coupon.refresh_from_db()
    assert coupon.used_current is not None


def test_a_form_that_says_nothing_is_not_taken_for_a_sheet(made: Shop, client: Client) -> None:
    answer = client.post(url(made), sheet({"mark": marks(made)[0]}, {}))
    assert answer.status_code == 422
    assert "Nothing keyed yet" in answer.content.decode()


def test_only_who_teaches_the_class_may_key_its_sheet(made: Shop) -> None:
    elsewhere = CampusFactory(name="South")
    people = (
        (made.students[0], 403),
        (UserFactory(roles=[Role.CLERK], home_campus=made.campus), 403),
        (UserFactory(roles=[Role.INSTRUCTOR], home_campus=made.campus), 404),
        (UserFactory(roles=[Role.MANAGER], home_campus=elsewhere), 404),
        (UserFactory(roles=[Role.MANAGER], home_campus=made.campus), 200),
    )
    for who, status in people:
        assert browser(who).get(url(made)).status_code == status
    assert browser(people[0][0]).post(url(made), sheet({"mark": "X"})).status_code == 403


def test_opening_the_sheet_costs_the_same_for_three_and_twenty_students() -> None:
    counts = []
    for students in (3, 20):
        made = shop(students, name=f"Class {students}", exercises=(exercise(str(students)),))
        made.coupon(made.given[0])
        client = browser(made.instructor)
        client.get(url(made))
        with CaptureQueriesContext(connection) as seen:
            client.get(url(made))
        counts.append(len(seen))
    assert counts[0] == counts[1]


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("3/8 11/32 in; 0, y", ["3/8", "11/32 in", "0", "y"]),
        ("9,5 mm 100 %", ["9,5 mm", "100 %"]),
        ("  ", []),
        ("in 3", ["in", "3"]),
    ],
)
def test_readings_are_parted_by_blanks_and_keep_their_unit(text: str, parts: list[str]) -> None:
    assert split(text) == parts
