"""One student's record in a class: every exercise, coupon, reading, decision, and the hours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from curriculum.core import spec
from curriculum.models import Assignment, Attendance
from curriculum.services import criterion_spec
from grading.core import taken
from grading.core.standing import OPEN, Standing
from grading.forms.log import PICKED
from grading.models import Attempt, Decision, PracticeLook, Reading, Verdict
from grading.services.standing import SIGNS, PlannedTask, planned_tasks, standings
from grading.services.verdicts import last_readings, why_said

if TYPE_CHECKING:
    from curriculum.models import ShopClass
    from shared.people.models import User


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """Both sides' readings on one criterion, as text with the unit."""

    criterion: spec.Criterion
    theirs: str
    own: str


@dataclass(frozen=True, slots=True)
class CouponRow:
    attempt: Attempt
    verdict: Verdict | None
    why: str
    sign: str
    readings: list[ReadingRow]


@dataclass(frozen=True, slots=True)
class TaskRow:
    """One setup of the plan, or one given outside of it; `given` is its open assignment."""

    exercise_id: int
    key: str
    number: str
    title: str
    standing: Standing
    sign: str
    coupons: list[CouponRow]
    decisions: list[Decision]
    given: Assignment | None

    @property
    def value(self) -> str:
        return f"{self.exercise_id}:{self.key}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    student: User
    tasks: list[TaskRow]
    looks: list[PracticeLook]
    minutes: int
    present: int
    absent: int

    @property
    def done(self) -> int:
        return sum(one.standing.is_done for one in self.tasks)

    @property
    def hours(self) -> float:
        """Hours at the booth in the sessions attended."""
        return self.minutes / 60


def record_of(shop_class: ShopClass, student: User) -> Record:
    """Return the record in a constant number of queries."""
    plan = planned_tasks(shop_class)
    states = standings(shop_class, students=[student.pk], tasks=plan).get(student.pk, {})
    attempts = list(
        shop_class.attempts.filter(student=student)
        .for_grading()
        .prefetch_related("verdicts__by")
        .order_by("started_at", "pk")
    )
    decisions = list(
        Decision.objects.filter(shop_class=shop_class, student=student)
        .select_related("by", "exercise")
        .order_by("pk")
    )
    given = {
        (one.exercise_id, one.setup_key): one
        for one in Assignment.objects.open().filter(shop_class=shop_class, student=student)
    }
    rows = [_task(one, states[one.key], attempts, decisions, given) for one in plan if states]
    rows += _beside_the_plan({one.key for one in plan}, attempts)
    said = Attendance.objects.filter(student=student, session__shop_class=shop_class)
    minutes = [
        (present, net) for present, net in said.values_list("present", "session__net_minutes")
    ]
    return Record(
        student=student,
        tasks=rows,
        looks=list(
            PracticeLook.objects.filter(
                assignment__student=student, assignment__shop_class=shop_class
            ).select_related("assignment__exercise", "by")
        ),
        minutes=sum(net for present, net in minutes if present),
        present=sum(present for present, _net in minutes),
        absent=sum(not present for present, _net in minutes),
    )


def _task(
    one: PlannedTask,
    standing: Standing,
    attempts: list[Attempt],
    decisions: list[Decision],
    given: dict[tuple[int, str], Assignment],
) -> TaskRow:
    exercise, key = one.key
    return TaskRow(
        exercise_id=exercise,
        key=key,
        number=one.number,
        title=one.title,
        standing=standing,
        sign=SIGNS[standing.state],
        coupons=[
            _coupon(row)
            for row in attempts
            if (row.assignment.exercise_id, row.assignment.setup_key) == one.key
        ],
        decisions=[row for row in decisions if (row.exercise_id, row.setup_key) == one.key],
        given=given.get(one.key),
    )


def _beside_the_plan(planned: set[tuple[int, str]], attempts: list[Attempt]) -> list[TaskRow]:
    """Return what was welded and is not, or no longer, in the plan."""
    rows: dict[tuple[int, str], TaskRow] = {}
    for one in attempts:
        key = (one.assignment.exercise_id, one.assignment.setup_key)
        if key in planned:
            continue
        row = rows.setdefault(
            key,
            TaskRow(
                exercise_id=key[0],
                key=key[1],
                number=one.assignment.exercise.number,
                title=one.setup.version.title,
                standing=Standing(OPEN),
                sign="open",
                coupons=[],
                decisions=[],
                given=None,
            ),
        )
        row.coupons.append(_coupon(one))
    return list(rows.values())


def _coupon(one: Attempt) -> CouponRow:
    verdict = one.current_verdict
    sign = {"started": "working", "logged": "waiting"}.get(one.state)
    theirs, own = last_readings(one, own=False), last_readings(one, own=True)
    readings = []
    for row in one.setup.version.criteria.all():
        if row.pk not in theirs and row.pk not in own:
            continue
        criterion = criterion_spec(row)
        texts = [_written(criterion, side.get(row.pk)) for side in (theirs, own)]
        readings.append(ReadingRow(criterion, *texts))
    why = why_said(verdict) if verdict else ""
    return CouponRow(one, verdict, why, sign or (verdict.kind if verdict else "open"), readings)


def _written(criterion: spec.Criterion, row: Reading | None) -> str:
    if row is None:
        return ""
    text = taken.write(criterion, row.value, row.passed, row.detail)
    text = str(PICKED.get(text, text))
    return f"{text} {taken.unit_of(criterion)}".strip()
