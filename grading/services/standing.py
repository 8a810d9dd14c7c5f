"""Where every student of a class stands, read in a constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from curriculum.models import ExerciseVersion, Prerequisite, Setup
from grading.core.standing import Coupon, Standing, Task, next_tasks
from grading.core.standing import standings as stand
from grading.models import Attempt, Decision, Verdict

if TYPE_CHECKING:
    from curriculum.models import Exercise, ShopClass
    from shared.people.models import User

Key = tuple[int, str]
"""Exercise pk and setup key."""
SIGNS = {
    "passed": "pass",
    "redo": "redo",
    "working": "working",
    "to_be_judged": "waiting",
    "credited": "credited",
    "moved_on": "moved_on",
    "open": "open",
    "not_open": "locked",
}
"""How a standing is shown: its name in `shared.templatetags.look.STATES`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTask:
    """One required setup of the class's plan, in the plan's order."""

    exercise_id: int
    version_id: int
    process: str
    task: Task

    @property
    def key(self) -> Key:
        return (self.exercise_id, self.task.setup_key)

    @property
    def number(self) -> str:
        return self.task.number

    @property
    def title(self) -> str:
        return self.task.title


def planned_tasks(shop_class: ShopClass) -> list[PlannedTask]:
    """Return what the class's plan requires: each entry's setups, none named meaning all.

    All means those of the newest published version; an exercise without one has no task. Four
    queries, whatever the plan's length.
    """
    entries = list(shop_class.plan_entries.values_list("exercise_id", "required_setups"))
    wanted = [exercise for exercise, _keys in entries]
    versions = {
        row.exercise_id: row
        for row in ExerciseVersion.objects.newest_published()
        .filter(exercise__in=wanted)
        .select_related("exercise")
        .only("exercise__number", "title", "process")
    }
    pks = [row.pk for row in versions.values()]
    setups: dict[int, list[str]] = defaultdict(list)
    for version, key in Setup.objects.filter(version__in=pks).values_list("version_id", "key"):
        setups[version].append(key)
    needs: dict[int, list[str]] = defaultdict(list)
    for version, number in Prerequisite.objects.filter(
        version__in=pks, kind=Prerequisite.Kind.NEEDS
    ).values_list("version_id", "exercise__number"):
        needs[version].append(number)
    return [
        PlannedTask(
            exercise_id=exercise,
            version_id=row.pk,
            process=row.process,
            task=Task(
                number=row.exercise.number,
                setup_key=key,
                title=row.title,
                needs=tuple(needs[row.pk]),
            ),
        )
        for exercise, required in entries
        if (row := versions.get(exercise)) is not None
        for key in required or setups[row.pk]
    ]


def standings(
    shop_class: ShopClass,
    *,
    students: Collection[int] | None = None,
    tasks: Sequence[PlannedTask] | None = None,
) -> dict[int, dict[Key, Standing]]:
    """Return the standing of each student (by pk) on each task of the plan.

    Coupons count whichever version they were welded to. `students` limits it to some; without it
    everybody who was ever enrolled is there. `tasks` saves reading the plan once more. At most six
    queries, and four for the plan.
    """
    plan = planned_tasks(shop_class) if tasks is None else tasks
    pks = set(shop_class.enrolments.values_list("student_id", flat=True))
    if students is not None:
        pks &= set(students)
    coupons = _coupons(shop_class, pks)
    decisions = _decisions(shop_class, pks)
    elsewhere = _done_elsewhere(shop_class, plan, pks)
    core = [one.task for one in plan]
    found: dict[int, dict[Key, Standing]] = {}
    for pk in pks:
        states = stand(
            core,
            {one.task.key: coupons.get((pk, *one.key), ()) for one in plan},
            {one.task.key: decisions.get((pk, *one.key), ()) for one in plan},
            done_elsewhere=elsewhere.get(pk, ()),
        )
        found[pk] = {one.key: states[one.task.key] for one in plan}
    return found


def next_for(
    student: User | int,
    shop_class: ShopClass,
    *,
    tasks: Sequence[PlannedTask] | None = None,
    states: dict[Key, Standing] | None = None,
) -> list[PlannedTask]:
    """Return what a student may work on now: what was begun first, then what is open, in order."""
    plan = planned_tasks(shop_class) if tasks is None else tasks
    pk = student if isinstance(student, int) else student.pk
    if states is None:
        states = standings(shop_class, students=[pk], tasks=plan).get(pk, {})
    if not states:
        return []
    by_task = {one.task.key: one for one in plan}
    given = {one.task.key: states[one.key] for one in plan}
    return [by_task[task.key] for task in next_tasks([one.task for one in plan], given)]


def _coupons(shop_class: ShopClass, pks: set[int]) -> dict[tuple[int, int, str], list[Coupon]]:
    """Coupons by student, exercise and setup, numbered as they were started.

    An assignment numbers its own coupons, and a task may have been given more than once.
    """
    verdicts = dict(
        Verdict.objects.filter(attempt__shop_class=shop_class, attempt__student__in=pks)
        .order_by("pk")
        .values_list("attempt_id", "kind")
    )
    found: dict[tuple[int, int, str], list[Coupon]] = defaultdict(list)
    rows = (
        Attempt.objects.filter(shop_class=shop_class, student__in=pks)
        .order_by("started_at", "pk")
        .values_list(
            "pk", "student_id", "assignment__exercise_id", "assignment__setup_key", "state"
        )
    )
    for pk, student, exercise, key, state in rows:
        row = found[student, exercise, key]
        verdict = verdicts.get(pk, "") if state == Attempt.State.JUDGED else ""
        row.append(Coupon(number=len(row) + 1, state=state, verdict=verdict))
    return found


def _decisions(shop_class: ShopClass, pks: set[int]) -> dict[tuple[int, int, str], list[str]]:
    found: dict[tuple[int, int, str], list[str]] = defaultdict(list)
    for student, exercise, key, kind in (
        Decision.objects.filter(shop_class=shop_class, student__in=pks)
        .order_by("pk")
        .values_list("student_id", "exercise_id", "setup_key", "kind")
    ):
        found[student, exercise, key].append(kind)
    return found


def _done_elsewhere(
    shop_class: ShopClass, plan: Sequence[PlannedTask], pks: set[int]
) -> dict[int, set[str]]:
    """Numbers needed but not planned here that a student passed or was credited, in any class."""
    planned = {one.number for one in plan}
    outside = {need for one in plan for need in one.task.needs} - planned
    if not outside:
        return {}
    found: dict[int, set[str]] = defaultdict(set)
    judged = Verdict.objects.filter(
        attempt__student__in=pks,
        attempt__state=Attempt.State.JUDGED,
        attempt__assignment__exercise__number__in=outside,
        attempt__shop_class__campus=shop_class.campus_id,
    ).order_by("pk")
    last: dict[int, tuple[int, str, str]] = {
        attempt: (student, number, kind)
        for attempt, student, number, kind in judged.values_list(
            "attempt_id", "attempt__student_id", "attempt__assignment__exercise__number", "kind"
        )
    }
    for student, number, kind in last.values():
        if kind == Verdict.Kind.PASS:
            found[student].add(number)
    decided: dict[tuple[int, int, str, str], str] = {}
    for student, where, number, key, kind in (
        Decision.objects.filter(
            student__in=pks,
            exercise__number__in=outside,
            shop_class__campus=shop_class.campus_id,
        )
        .order_by("pk")
        .values_list("student_id", "shop_class_id", "exercise__number", "setup_key", "kind")
    ):
        decided[student, where, number, key] = kind
    for (student, _where, number, _key), kind in decided.items():
        if kind != Decision.Kind.WITHDRAWN:
            found[student].add(number)
    return found


def still_needed(
    shop_class: ShopClass, students: Collection[User], exercise: Exercise
) -> dict[int, tuple[str, ...]]:
    """Return by student key what the newest version of `exercise` needs and they have not done.

    Needed setups are those the class's plan requires; for `curriculum.services.assign`.
    """
    version = exercise.newest_published()
    if version is None:
        return {}
    needs = version.prerequisites.filter(kind=Prerequisite.Kind.NEEDS)
    asked = PlannedTask(
        exercise_id=exercise.pk,
        version_id=version.pk,
        process=version.process,
        task=Task(
            number=exercise.number,
            setup_key="",
            needs=tuple(needs.values_list("exercise__number", flat=True)),
        ),
    )
    plan = [*planned_tasks(shop_class), asked]
    found = standings(shop_class, students=[one.pk for one in students], tasks=plan)
    return {pk: states[asked.key].missing for pk, states in found.items()}


def handed_in(assignments: Collection[int]) -> set[int]:
    """Return those of the assignments whose last coupon waits for its verdict."""
    waiting = Attempt.objects.filter(assignment__in=assignments, state=Attempt.State.LOGGED)
    return set(waiting.values_list("assignment_id", flat=True))
