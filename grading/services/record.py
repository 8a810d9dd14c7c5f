"""A student's own record: the path of exercises, the coupons, the hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from curriculum.models import Attendance, Session, ShopClass
from grading.core.standing import Standing
from grading.models import Attempt, Verdict
from grading.services.coupon import state_of
from grading.services.standing import SIGNS, Key, PlannedTask, planned_tasks, standings
from grading.services.today import classes_of

if TYPE_CHECKING:
    from shared.people.models import Campus, User


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """One coupon of the record with the verdict that counts."""

    attempt: Attempt
    verdict: Verdict | None

    @property
    def state(self) -> str:
        return state_of(self.attempt, self.verdict)

    @property
    def key(self) -> Key:
        return (self.attempt.assignment.exercise_id, self.attempt.assignment.setup_key)


@dataclass(frozen=True, slots=True, kw_only=True)
class PathStep:
    """One task of the plan, where the student stands on it, and its coupons in order."""

    task: PlannedTask
    standing: Standing
    coupons: tuple[Coupon, ...]

    @property
    def state(self) -> str:
        return SIGNS[self.standing.state]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """Sessions held so far in which attendance was taken, those attended, hours at the booth."""

    held: int
    attended: int
    hours: float


def coupons_of(student: User, shop_class: ShopClass) -> list[Coupon]:
    """Return the student's coupons in a class, oldest first. Two queries."""
    rows = (
        Attempt.objects.filter(student=student, shop_class=shop_class)
        .select_related("assignment__exercise")
        .prefetch_related("verdicts")
        .order_by("started_at", "pk")
    )
    return [Coupon(attempt=row, verdict=row.current_verdict) for row in rows]


def hours_of(student: User, shop_class: ShopClass) -> Hours:
    """Return how often the student was there: net minutes at the booth, in hours. One query."""
    rows = Attendance.objects.filter(
        student=student, session__shop_class=shop_class, session__state=Session.State.PLANNED
    ).values_list("present", "session__net_minutes")
    minutes = [net for present, net in rows if present]
    return Hours(held=len(rows), attended=len(minutes), hours=sum(minutes) / 60)


def path_of(student: User, shop_class: ShopClass, coupons: Sequence[Coupon]) -> list[PathStep]:
    """Return the plan's tasks in order, each with its standing and those of `coupons` it had."""
    plan = planned_tasks(shop_class)
    states = standings(shop_class, students=[student.pk], tasks=plan).get(student.pk, {})
    return [
        PathStep(
            task=task,
            standing=states[task.key],
            coupons=tuple(one for one in coupons if one.key == task.key),
        )
        for task in plan
        if task.key in states
    ]


def record_context(student: User, campus: Campus) -> dict[str, Any]:
    """Return what the record page shows, a part for each class the student is in today."""
    parts = []
    for shop_class in classes_of(student, campus):
        coupons = coupons_of(student, shop_class)
        path = path_of(student, shop_class, coupons)
        planned = {step.task.key for step in path}
        parts.append(
            {
                "shop_class": shop_class,
                "path": path,
                "done": sum(step.standing.is_done for step in path),
                "hours": hours_of(student, shop_class),
                "beside": [one for one in coupons if one.key not in planned],
            }
        )
    return {"parts": parts, "student": student}
