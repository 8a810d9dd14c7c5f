"""From readings to a verdict, and what follows: closed or open again, credited, moved on, next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils.translation import get_language

from curriculum.core import spec
from curriculum.models import Assignment, Exercise, ExerciseVersion, Setup
from curriculum.services import criterion_spec
from curriculum.services.sheet import said
from grading.core.verdict import Reading as Taken
from grading.core.verdict import Result, judge
from grading.models import Attempt, Decision, Reading, Verdict
from grading.services.attempts import NoSetup, Said, log_attempt, session_at, write_readings
from shared.people.audit import audit

if TYPE_CHECKING:
    from datetime import datetime

    from django.db.models import QuerySet

    from curriculum.models import ShopClass
    from shared.people.models import User

NOTHING = Taken()


class NeedsReason(Exception):
    """Void, overruled, changed or decided without a word why; `computed` is what the rubric says.

    `computed` is empty where no rubric was asked.
    """

    def __init__(self, computed: str = "") -> None:
        super().__init__(computed)
        self.computed = computed


class NothingToTakeBack(Exception):
    """The setup is neither credited nor moved on."""


@dataclass(frozen=True, slots=True)
class Rubric:
    """The criteria of an attempt's own version by pk, and the thickness its limits grow with."""

    criteria: Mapping[int, spec.Criterion]
    thickness: float | None


def rubric_of(attempt: Attempt) -> Rubric:
    """Return the rubric of the pinned version, in its order; two queries, or what is loaded."""
    setup = attempt.setup
    criteria = {row.pk: criterion_spec(row) for row in setup.version.criteria.all()}
    thickness = setup.thickness
    return Rubric(criteria, thickness.value if thickness else None)


def last_readings(attempt: Attempt, *, own: bool) -> dict[int, Reading]:
    """Return the reading of each criterion that counts, of one side; those taken back left out."""
    found = {row.criterion_id: row for row in attempt.readings.all() if row.own is own}
    return {pk: row for pk, row in found.items() if not _is_empty(row)}


def _is_empty(row: Reading) -> bool:
    return row.value is None and row.passed is None and not row.detail


def reckon(rubric: Rubric, readings: Mapping[int, Taken]) -> Result:
    """Hold readings, by criterion pk, against the rubric."""
    named = {rubric.criteria[pk].name: one for pk, one in readings.items()}
    return judge(list(rubric.criteria.values()), named, thickness=rubric.thickness)


def why_said(verdict: Verdict) -> str:
    """Return why, in the reader's language, where reckoning again says what was stored.

    Else as it was stored: nothing is said that was not said then.
    """
    if not verdict.why or (get_language() or "en").startswith("en"):
        return verdict.why
    standing = {
        row.criterion_id: row
        for row in verdict.attempt.readings.all()
        if not row.own and row.at <= verdict.at
    }
    read = {pk: row.taken for pk, row in standing.items() if not _is_empty(row)}
    why = reckon(rubric_of(verdict.attempt), read).why
    return said(why) if str(why) == verdict.why else verdict.why


@transaction.atomic
def record_readings(
    *, attempt: Attempt, readings: Mapping[int, Said | None], by: User, now: datetime
) -> list[Reading]:
    """Append the instructor's readings by criterion pk where they differ from what stands.

    None takes a reading back: an empty row is appended, nothing is ever changed. Returns the rows
    that were added.
    """
    Attempt.objects.select_for_update().get(pk=attempt.pk)
    standing = {row.criterion_id: row for row in Reading.objects.filter(attempt=attempt, own=False)}
    changed: dict[int, Said] = {}
    for pk, stated in readings.items():
        old = standing.get(pk)
        new = stated or Said(taken=NOTHING)
        if (old.taken if old else NOTHING) != new.taken:
            changed[pk] = new
    return write_readings(attempt=attempt, readings=changed, own=False, by=by, now=now)


@transaction.atomic
def confirm(*, attempt: Attempt, kind: str, by: User, now: datetime, reason: str = "") -> Verdict:
    """Give a coupon its verdict, or another one than it has; the readings must be stored.

    What the rubric says is computed from the pinned version and kept beside. A coupon that was
    never handed in is handed in here, as from paper. A pass closes the assignment; a redo or a
    void leaves it open, so that the next coupon can be started. Saying the same again without
    new readings changes nothing.

    Raises
    ------
    NeedsReason
        For a void, for another verdict than the rubric's, and for a changed one.
    """
    row = Attempt.objects.select_for_update().get(pk=attempt.pk)
    if row.state == Attempt.State.STARTED:
        row = log_attempt(attempt=row, by=by, now=now, on_paper=True)
    before = row.verdicts.order_by("pk").last()
    result = reckon(rubric_of(row), {k: v.taken for k, v in last_readings(row, own=False).items()})
    reason = " ".join(reason.split())[:300]
    is_void = kind == Verdict.Kind.VOID
    if not reason and (is_void or kind != result.verdict or (before and before.kind != kind)):
        raise NeedsReason(result.verdict)
    newest = row.readings.filter(own=False).order_by("pk").last()
    same = before is not None and (before.kind, before.reason) == (kind, reason)
    if before and same and (newest is None or newest.at <= before.at):
        return before
    verdict = Verdict.objects.create(
        attempt=row,
        kind=kind,
        computed=result.verdict,
        score=None if is_void else result.score,
        why="" if is_void else str(result.why),
        cure="" if is_void or kind == Verdict.Kind.PASS else result.cure,
        reason=reason,
        by=by,
        at=now,
    )
    row.state = Attempt.State.VOID if is_void else Attempt.State.JUDGED
    row.save(update_fields=["state"])
    settle(row.assignment, now=now)
    audit(
        by,
        "grade.judged" if before is None else "grade.changed",
        row,
        campus=row.shop_class.campus,
        detail={
            "kind": kind,
            "computed": result.verdict,
            "before": before.kind if before else None,
            "verdict": verdict.pk,
        },
    )
    return verdict


def settle(assignment: Assignment, *, now: datetime) -> None:
    """Close an assignment whose setup is passed or decided, open it again where it is not.

    One that was withdrawn stays so, and none is opened beside another open one.
    """
    assignment = Assignment.objects.select_for_update().get(pk=assignment.pk)
    last = dict(
        Verdict.objects.filter(attempt__assignment=assignment, attempt__state=Attempt.State.JUDGED)
        .order_by("pk")
        .values_list("attempt_id", "kind")
    )
    passed = Verdict.Kind.PASS in last.values()
    done = passed or _decided(
        assignment.shop_class_id,
        assignment.student_id,
        assignment.exercise_id,
        assignment.setup_key,
    )
    state = Assignment.State
    if done and assignment.state == state.OPEN:
        assignment.state, assignment.closed_at = state.DONE, now
    elif not done and assignment.state == state.DONE and not _same_task(assignment).exists():
        assignment.state, assignment.closed_at = state.OPEN, None
    else:
        return
    assignment.save(update_fields=["state", "closed_at"])


def _same_task(assignment: Assignment) -> QuerySet[Assignment]:
    return Assignment.objects.open().filter(
        shop_class=assignment.shop_class_id,
        student=assignment.student_id,
        exercise=assignment.exercise_id,
        setup_key=assignment.setup_key,
    )


def _decided(shop_class: int, student: int, exercise: int, key: str) -> bool:
    last = (
        Decision.objects.filter(
            shop_class=shop_class, student=student, exercise=exercise, setup_key=key
        )
        .order_by("pk")
        .last()
    )
    return last is not None and last.kind != Decision.Kind.WITHDRAWN


@transaction.atomic
def decide(
    *,
    shop_class: ShopClass,
    student: User,
    exercise: Exercise,
    setup_key: str,
    kind: str,
    reason: str,
    by: User,
    now: datetime,
) -> Decision:
    """Count a setup as done without a passing coupon (credited, moved on), or take that back.

    Closes or opens the assignments of that setup. Raises `NeedsReason`, and `NothingToTakeBack`
    where neither stands.
    """
    reason = " ".join(reason.split())[:300]
    if not reason:
        raise NeedsReason
    task = {"shop_class": shop_class, "student": student, "exercise": exercise}
    if kind == Decision.Kind.WITHDRAWN and not _decided(
        shop_class.pk, student.pk, exercise.pk, setup_key
    ):
        raise NothingToTakeBack
    decision = Decision.objects.create(
        shop_class=shop_class,
        student=student,
        exercise=exercise,
        setup_key=setup_key,
        kind=kind,
        reason=reason,
        by=by,
        at=now,
    )
    given = Assignment.objects.filter(**task, setup_key=setup_key)
    # Of closed ones only the last may open again.
    open_or_last = given.open() if kind != Decision.Kind.WITHDRAWN else given.order_by("-pk")[:1]
    for assignment in list(open_or_last):
        settle(assignment, now=now)
    audit(
        by,
        "grade.decided",
        decision,
        campus=shop_class.campus,
        detail={"kind": kind, "student": student.pk, "exercise": exercise.pk},
    )
    return decision


@transaction.atomic
def give_next(
    *,
    shop_class: ShopClass,
    student: User,
    exercise: Exercise,
    setup_key: str,
    by: User,
    now: datetime,
) -> Assignment:
    """Give a student a setup; who has it open keeps that one. Raises `NoSetup`."""
    offered = Setup.objects.filter(
        version__exercise=exercise,
        version__state=ExerciseVersion.State.PUBLISHED,
        key=setup_key,
    )
    if not offered.exists():
        raise NoSetup
    assignment, _made = Assignment.objects.open().get_or_create(
        shop_class=shop_class,
        student=student,
        exercise=exercise,
        setup_key=setup_key,
        state=Assignment.State.OPEN,
        defaults={"assigned_by": by, "session": session_at(shop_class, now)},
    )
    return assignment
