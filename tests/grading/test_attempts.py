"""Coupons: started once, numbered, marked, pinned to their version; standing in few queries."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any

import pytest

from curriculum.models import Assignment, Enrolment, Prerequisite, Session
from curriculum.services import copy_to_draft
from grading.core.verdict import Reading as Taken
from grading.models import Attempt, Decision, Verdict
from grading.services import (
    CouponRunning,
    NoHoldPoint,
    NoSetup,
    NotInClass,
    NotOpen,
    NotRunning,
    Said,
    log_attempt,
    next_for,
    planned_tasks,
    practice_look,
    session_at,
    standings,
    tap_hold,
)
from shared.units import parse_range
from tests.factories import CampusFactory
from tests.grading.scene import Shop, exercise, put, shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def made() -> Shop:
    return shop(2)


def test_a_coupon_is_numbered_marked_and_belongs_to_todays_session(made: Shop) -> None:
    given = made.given[0]
    first = made.coupon(given, "redo")
    second = made.coupon(given)
    code = Enrolment.objects.get(student=given.student).code
    assert (first.number, second.number) == (1, 2)
    assert (first.mark, second.mark) == (f"{code}23A", f"{code}23B")
    assert second.session == made.session


def test_a_second_coupon_waits_until_the_first_is_judged(made: Shop) -> None:
    first = made.coupon(made.given[0])
    for state in ("started", "logged"):
        Attempt.objects.filter(pk=first.pk).update(state=state)
        with pytest.raises(CouponRunning) as caught:
            made.coupon(made.given[0])
        assert caught.value.attempt == first
    assert Attempt.objects.count() == 1


def test_publishing_a_version_leaves_the_open_coupon_and_the_next_one_takes_it(made: Shop) -> None:
    first = made.coupon(made.given[0])
    newer = put(made.campus, exercise(title="Tee, cleaner between passes"))
    first.refresh_from_db()
    assert first.setup.version == made.versions["23"]
    assert first.setup.version.title == "Tee, three passes"
    log_attempt(attempt=first, by=first.student, now=made.now)
    Attempt.objects.update(state="judged")
    assert made.coupon(made.given[0]).setup.version == newer


def test_a_draft_is_not_welded_from(made: Shop) -> None:
    copy_to_draft(version=made.versions["23"], by=made.instructor)
    assert made.coupon(made.given[0]).setup.version == made.versions["23"]


def test_marks_count_coupons_of_the_exercise_over_its_setups_and_assignments() -> None:
    made = shop(1, exercises=(exercise(keys=("3-8in", "1-4in")),))
    given = made.given[0]
    made.coupon(given, "pass")
    Assignment.objects.filter(pk=given.pk).update(state="done")
    other = made.coupon(made.assign(given.student, "23", "1-4in"), "redo")
    again = made.coupon(made.assign(given.student))
    assert (other.number, again.number) == (1, 1)
    assert [row.mark[-1] for row in Attempt.objects.order_by("pk")] == ["A", "B", "C"]


@pytest.mark.parametrize("state", ["done", "withdrawn"])
def test_a_closed_assignment_starts_nothing(made: Shop, state: str) -> None:
    Assignment.objects.update(state=state)
    with pytest.raises(NotOpen):
        made.coupon(made.given[0])


def test_a_setup_that_is_nowhere_and_a_stranger_start_nothing(made: Shop) -> None:
    made.given[0].setup_key = "gone"
    with pytest.raises(NoSetup):
        made.coupon(made.given[0])
    Enrolment.objects.filter(student=made.students[1]).delete()
    with pytest.raises(NotInClass):
        made.coupon(made.given[1])
    assert not Attempt.objects.exists()


def test_a_coupon_is_handed_in_once_with_what_was_used(made: Shop) -> None:
    attempt = made.coupon(made.given[0])
    leg = attempt.setup.version.criteria.get(name="leg")
    said = Said(taken=Taken(value=0.00873), typed="11/32")
    amps = parse_range("125 A", "current")
    log_attempt(
        attempt=attempt,
        by=attempt.student,
        now=made.now,
        used_current=amps,
        used_rods=3.5,
        own_readings={leg.pk: said},
        own_note=" ran cold ",
    )
    row = Attempt.objects.get()
    assert (row.state, row.used_current, row.used_rods, row.own_note) == (
        "logged", amps, 3.5, "ran cold",
    )  # fmt: skip
    reading = row.readings.get()
    assert (reading.own, reading.value, reading.typed) == (True, 0.00873, "11/32")
    with pytest.raises(NotRunning):
        log_attempt(attempt=attempt, by=attempt.student, now=made.now, used_rods=99)
    assert Attempt.objects.get().used_rods == 3.5


def test_a_hold_point_is_tapped_once_and_can_be_taken_back(made: Shop) -> None:
    attempt = made.coupon(made.given[0])
    for _again in range(2):
        tap_hold(attempt=attempt, position=1, by=made.instructor, now=made.now)
    tap = attempt.hold_taps.get()
    assert (tap.position, tap.text, tap.by) == (1, "root pass", made.instructor)
    with pytest.raises(NoHoldPoint):
        tap_hold(attempt=attempt, position=2, by=made.instructor, now=made.now)
    tap_hold(attempt=attempt, position=1, by=made.instructor, now=made.now, on=False)
    assert not attempt.hold_taps.exists()


def test_a_look_at_practice_is_kept_with_the_day(made: Shop) -> None:
    look = practice_look(
        assignment=made.given[0], by=made.instructor, now=made.now, note="shorter arc"
    )
    assert (look.session, look.note) == (made.session, "shorter arc")


def test_the_session_of_the_moment_is_by_the_clock_of_the_campus(made: Shop) -> None:
    late = Session.objects.create(
        shop_class=made.shop_class,
        date=made.session.date,
        start=time(20),
        end=time(22),
        net_minutes=90,
    )
    evening = datetime.combine(made.session.date, time(21), tzinfo=made.campus.zone)
    assert session_at(made.shop_class, evening) == late
    assert session_at(made.shop_class, evening - timedelta(hours=3)) == made.session
    assert session_at(made.shop_class, evening + timedelta(days=2)) is None
    Session.objects.filter(pk=late.pk).update(state="lost")
    assert session_at(made.shop_class, evening) == made.session


def ladder() -> tuple:
    first, second = exercise("23", keys=("3-8in", "1-4in")), exercise("24", title="Tee, vertical")
    return first, replace(second, prerequisites=("23",))


def test_what_needs_an_exercise_opens_when_all_its_required_setups_are_done() -> None:
    made = shop(1, exercises=ladder())
    student, plan = made.students[0], planned_tasks(made.shop_class)
    one, two, needing = (task.key for task in plan)

    def states() -> dict:
        return {key: s.state for key, s in standings(made.shop_class)[student.pk].items()}

    assert states() == {one: "open", two: "open", needing: "not_open"}
    assert standings(made.shop_class)[student.pk][needing].missing == ("23",)
    made.coupon(made.given[0], "redo")
    assert states()[one] == "redo"
    put(made.campus, exercise("23", keys=("3-8in", "1-4in"), title="Newer"))
    made.coupon(made.given[0], "pass")
    assert states() == {one: "passed", two: "open", needing: "not_open"}
    Decision.objects.create(
        shop_class=made.shop_class, student=student, exercise=made.versions["23"].exercise,
        setup_key="1-4in", kind="credited", reason="welds at work", by=made.instructor,
        at=made.now,
    )  # fmt: skip
    assert states() == {one: "passed", two: "credited", needing: "open"}
    assert [task.number for task in next_for(student, made.shop_class)] == ["24"]


def test_only_required_setups_count_and_a_verdict_taken_back_does_not_pass() -> None:
    made = shop(1, exercises=ladder())
    made.shop_class.plan_entries.filter(exercise__number="23").update(required_setups=["3-8in"])
    assert [task.task.key for task in planned_tasks(made.shop_class)] == [
        ("23", "3-8in"), ("24", "3-8in"),
    ]  # fmt: skip
    attempt = made.coupon(made.given[0], "pass")
    student = made.students[0]
    assert [task.number for task in next_for(student, made.shop_class)] == ["24"]
    Verdict.objects.create(attempt=attempt, kind="redo", by=made.instructor, at=made.now)
    assert [task.number for task in next_for(student, made.shop_class)] == ["23"]


def test_what_was_passed_in_an_earlier_class_counts_where_the_plan_has_it_not() -> None:
    earlier = shop(1, name="Last term", exercises=(exercise("23"),))
    later = shop(
        1,
        name="This term",
        campus=earlier.campus,
        exercises=(replace(exercise("24"), prerequisites=("23",)),),
        give=False,
    )
    Enrolment.objects.create(shop_class=later.shop_class, student=earlier.students[0], code="ZZ")
    key = planned_tasks(later.shop_class)[0].key
    before = standings(later.shop_class)
    assert {one[key].state for one in before.values()} == {"not_open"}
    earlier.coupon(earlier.given[0], "pass")
    after = standings(later.shop_class)
    assert after[earlier.students[0].pk][key].state == "open"
    assert after[later.students[0].pk][key].state == "not_open"
    assert Prerequisite.objects.count() == 1


@pytest.mark.parametrize("students", [3, 20])
def test_standings_take_ten_queries_however_many_students(
    students: int, django_assert_num_queries: Any
) -> None:
    campus = CampusFactory()
    put(campus, exercise("22"))
    needing = replace(exercise("25"), prerequisites=("22",))
    made = shop(students, campus=campus, exercises=(*ladder(), needing))
    for given in made.given:
        made.coupon(given, "redo")
    with django_assert_num_queries(10):
        found = standings(made.shop_class)
    assert len(found) == students
