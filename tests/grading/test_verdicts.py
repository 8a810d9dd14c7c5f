"""Verdicts: computed, confirmed, overruled, changed; what they close, open and make possible."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from curriculum.models import Assignment
from curriculum.services import copy_to_draft, publish
from grading.models import Attempt, Decision, Reading, Verdict
from grading.services import NoSetup, standings, start_attempt
from grading.services.verdicts import (
    NeedsReason,
    NothingToTakeBack,
    confirm,
    decide,
    give_next,
    record_readings,
)
from shared.people.models import AuditEntry
from tests.grading.bench import read, said
from tests.grading.scene import Shop, exercise, shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def made() -> Shop:
    return shop(2, exercises=(exercise(), exercise("24")))


def judged(made: Shop, attempt: Attempt, kind: str, reason: str = "", later: int = 0) -> Verdict:
    now = made.now + timedelta(minutes=later)
    return confirm(attempt=attempt, kind=kind, reason=reason, by=made.instructor, now=now)


def state(assignment: Assignment) -> str:
    return Assignment.objects.get(pk=assignment.pk).state


def test_readings_that_meet_the_rubric_pass_and_close_the_assignment(made: Shop) -> None:
    coupon = made.coupon(made.given[0], "logged")
    read(made, coupon)
    verdict = judged(made, coupon, "pass")
    assert (verdict.computed, verdict.reason, verdict.why) == (
        "pass",
        "",
        "Every criterion is met.",
    )
    coupon.refresh_from_db()
    assert coupon.state == Attempt.State.JUDGED
    assert state(made.given[0]) == Assignment.State.DONE


def test_a_short_leg_is_a_redo_with_its_figure_and_cure_and_opens_the_next_coupon(
    made: Shop,
) -> None:
    coupon = made.coupon(made.given[0], "logged")
    read(made, coupon, leg=9 / 32 * 0.0254)
    verdict = judged(made, coupon, "redo")
    assert "9/32 in" in verdict.why
    assert verdict.cure == "Slow down, watch both toes."
    assert state(made.given[0]) == Assignment.State.OPEN
    again = start_attempt(assignment=made.given[0], by=made.instructor, now=made.now)
    assert again.number == 2


@pytest.mark.parametrize("kind", ["pass", "void"])
def test_overruling_and_voiding_need_a_reason_and_change_nothing_without(
    made: Shop, kind: str
) -> None:
    coupon = made.coupon(made.given[0], "logged")
    read(made, coupon, leg=9 / 32 * 0.0254)
    with pytest.raises(NeedsReason) as refused:
        judged(made, coupon, kind, reason="   ")
    assert refused.value.computed == "redo"
    assert not Verdict.objects.exists()
    coupon.refresh_from_db()
    assert coupon.state == Attempt.State.LOGGED
    assert judged(made, coupon, kind, "measured on the other side").computed == "redo"


def test_a_void_coupon_harms_nobody_and_the_same_work_goes_on(made: Shop) -> None:
    coupon = made.coupon(made.given[0], "logged")
    judged(made, coupon, "void", "gas ran out")
    student = made.students[0].pk
    standing = standings(made.shop_class)[student][made.versions["23"].exercise.pk, "3-8in"]
    assert (standing.state, standing.redos) == ("open", 0)
    assert state(made.given[0]) == Assignment.State.OPEN
    assert Verdict.objects.get().score is None


def test_a_changed_verdict_is_a_new_row_with_a_reason_and_opens_what_was_closed(
    made: Shop,
) -> None:
    coupon = made.coupon(made.given[0], "logged")
    read(made, coupon)
    judged(made, coupon, "pass")
    with pytest.raises(NeedsReason):
        judged(made, coupon, "redo")
    judged(made, coupon, "redo", "cracked when cold", later=1)
    assert [row.kind for row in coupon.verdicts.order_by("pk")] == ["pass", "redo"]
    assert state(made.given[0]) == Assignment.State.OPEN
    assert list(
        AuditEntry.objects.filter(target_type="grading.attempt", target_id=str(coupon.pk))
        .order_by("pk")
        .values_list("action", flat=True)
    ) == ["grade.judged", "grade.changed"]


def test_the_same_verdict_twice_is_one_row(made: Shop) -> None:
    coupon = made.coupon(made.given[0], "logged")
    read(made, coupon)
    assert judged(made, coupon, "pass") == judged(made, coupon, "pass", later=1)
    assert Verdict.objects.count() == 1


def test_readings_are_appended_where_they_differ_and_can_be_taken_back(made: Shop) -> None:
    coupon = made.coupon(made.given[0], "logged")
    read(made, coupon)
    first = Reading.objects.count()
    read(made, coupon)
    assert Reading.objects.count() == first
    read(made, coupon, leg=None)
    assert Reading.objects.count() == first + 1
    with pytest.raises(NeedsReason) as refused:
        judged(made, coupon, "pass")
    assert refused.value.computed == "incomplete"


@pytest.mark.parametrize("model", [Reading, Verdict])
def test_the_database_refuses_to_change_what_was_written(made: Shop, model: Any) -> None:
    coupon = made.coupon(made.given[0], "logged")
    read(made, coupon)
    judged(made, coupon, "pass")
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"UPDATE {model._meta.db_table} SET at = at")


def test_a_coupon_that_was_never_handed_in_is_handed_in_from_paper(made: Shop) -> None:
    coupon = made.coupon(made.given[0])
    read(made, coupon)
    judged(made, coupon, "pass")
    coupon.refresh_from_db()
    assert (coupon.state, coupon.logged_on_paper) == (Attempt.State.JUDGED, True)


def test_limits_stay_those_of_the_version_that_was_welded_to(made: Shop) -> None:
    coupon = made.coupon(made.given[0], "logged")
    version = made.versions["23"]
    draft = copy_to_draft(version=version, by=made.instructor)
    draft.criteria.filter(name="leg").update(min_value=0.001, min_typed="1 mm")
    publish(
        version=draft, reviewed_by="R. Example", reviewed_on=version.reviewed_on, by=made.instructor
    )
    read(made, coupon, leg=9 / 32 * 0.0254)
    assert judged(made, coupon, "redo").computed == "redo"


def choose(made: Shop, kind: str, reason: str = "prior skill", student: int = 0) -> Decision:
    return decide(
        shop_class=made.shop_class,
        student=made.students[student],
        exercise=made.versions["23"].exercise,
        setup_key="3-8in",
        kind=kind,
        reason=reason,
        by=made.instructor,
        now=made.now,
    )


def test_credited_closes_the_work_and_taking_it_back_opens_it_again(made: Shop) -> None:
    choose(made, "credited")
    assert state(made.given[0]) == Assignment.State.DONE
    assert state(made.given[1]) == Assignment.State.OPEN
    choose(made, "withdrawn", "mixed up two people")
    assert state(made.given[0]) == Assignment.State.OPEN
    assert AuditEntry.objects.filter(action="grade.decided").count() == 2


def test_taking_back_leaves_a_pass_standing(made: Shop) -> None:
    coupon = made.coupon(made.given[0], "logged")
    choose(made, "moved_on", "enough tries")
    read(made, coupon)
    judged(made, coupon, "pass")
    choose(made, "withdrawn", "passed after all")
    assert state(made.given[0]) == Assignment.State.DONE


def test_a_decision_needs_a_reason_and_something_to_take_back(made: Shop) -> None:
    with pytest.raises(NeedsReason):
        choose(made, "credited", " ")
    with pytest.raises(NothingToTakeBack):
        choose(made, "withdrawn")
    assert not Decision.objects.exists()


def test_what_is_next_is_given_once_and_only_where_it_is_published(made: Shop) -> None:
    def give(key: str = "3-8in") -> Assignment:
        return give_next(
            shop_class=made.shop_class,
            student=made.students[0],
            exercise=made.versions["24"].exercise,
            setup_key=key,
            by=made.instructor,
            now=made.now,
        )

    assert give() == give()
    assert give().session == made.session
    with pytest.raises(NoSetup):
        give("none")


def test_another_students_work_stays_as_it_was(made: Shop) -> None:
    coupon = made.coupon(made.given[0], "logged")
    record_readings(attempt=coupon, readings=said(coupon), by=made.instructor, now=made.now)
    judged(made, coupon, "pass")
    assert state(made.given[1]) == Assignment.State.OPEN
