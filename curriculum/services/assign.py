"""Who is given what, and what is needed first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from curriculum.models import Assignment, Exercise, Session, ShopClass
from curriculum.services import plan as plans
from curriculum.services.classes import NotInClass
from curriculum.services.signoffs import missing_signoffs
from shared.people.audit import audit
from shared.people.models import User

Ready = Callable[[ShopClass, Collection[User], Exercise], Mapping[int, Sequence[str]]]
"""What each student (by key) has not passed of what an exercise needs, as exercise numbers."""

OVERRIDES = {
    "prior-skill": _("brings the skill from elsewhere"),
    "next-to-it": _("does it beside what is needed first"),
    "machine": _("the machine is free now only"),
    "instructor": _("the instructor stands by"),
}
"""Why somebody is given an exercise before what it needs; kept in the audit as the code word."""
_ready: list[Ready] = []


class NoSuchSetup(Exception):
    """The published exercise has no such setup, or is not published."""


def register_ready(provider: Ready) -> None:
    """Let an app to the right, which knows what was passed, say what students still need.

    `provider(shop_class, students, exercise)` gives by student key the numbers of the exercises
    that are needed and neither passed, credited nor moved on. Hand it in at `AppConfig.ready`.
    """
    if provider not in _ready:
        _ready.append(provider)


def still_needed(
    shop_class: ShopClass, students: Collection[User], exercise: Exercise
) -> dict[int, list[str]]:
    """Return what each student still needs first; nothing where no app knows."""
    found: dict[int, list[str]] = {student.pk: [] for student in students}
    for provider in _ready:
        for pk, numbers in provider(shop_class, students, exercise).items():
            found.setdefault(pk, []).extend(numbers)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A student who was not given the exercise: sign-offs lacking, exercises needed first."""

    student: User
    signoffs: Sequence[str] = ()
    needs: Sequence[str] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Assigned:
    """What came of assigning: new ones, those open already, and who was held back."""

    made: Sequence[Assignment] = ()
    had: int = 0
    held: Sequence[Held] = field(default=())


@transaction.atomic
def assign(
    *,
    shop_class: ShopClass,
    students: Collection[User],
    exercise: Exercise,
    setup_keys: Collection[str],
    session: Session | None,
    by: User,
    override_reason: str = "",
) -> Assigned:
    """Give setups of an exercise to students; one open assignment per student and setup.

    Who lacks a sign-off, or has not passed what is needed first (see `register_ready`), is held
    back and named. `override_reason`, a key of OVERRIDES, lets the second pass, never the first.
    Raises `NoSuchSetup`, `NotInClass`, and `ValueError` for an unknown reason. Sent twice, nothing
    is doubled.
    """
    ShopClass.objects.select_for_update().get(pk=shop_class.pk)
    if override_reason and override_reason not in OVERRIDES:
        raise ValueError(f"override_reason must be one of {', '.join(OVERRIDES)}")
    version = plans.newest_versions([exercise.pk]).get(exercise.pk)
    there = [setup.key for setup in version.setups.all()] if version else []
    keys = [key for key in there if key in setup_keys]
    if version is None or not keys or len(keys) != len(set(setup_keys)):
        raise NoSuchSetup
    _check_in_class(shop_class, students)
    lacks = missing_signoffs(shop_class, students, version)
    needs = {} if override_reason else still_needed(shop_class, students, exercise)
    held = [
        Held(student=one, signoffs=lacks[one.pk], needs=needs.get(one.pk, ()))
        for one in students
        if lacks[one.pk] or needs.get(one.pk)
    ]
    waiting = {one.student.pk for one in held}
    ready = [one for one in students if one.pk not in waiting]
    open_ = set(
        Assignment.objects.open()
        .filter(shop_class=shop_class, exercise=exercise, student__in=ready, setup_key__in=keys)
        .values_list("student", "setup_key")
    )
    made = Assignment.objects.bulk_create(
        Assignment(
            shop_class=shop_class,
            student=student,
            exercise=exercise,
            setup_key=key,
            session=session,
            assigned_by=by,
        )
        for student in ready
        for key in keys
        if (student.pk, key) not in open_
    )
    if made:
        detail = {
            "exercise": exercise.pk,
            "assigned": [one.pk for one in made],
            "override": override_reason or None,
        }
        audit(by, "assignment.made", shop_class, campus=shop_class.campus, detail=detail)
    return Assigned(made=made, had=len(open_), held=held)


def _check_in_class(shop_class: ShopClass, students: Collection[User]) -> None:
    staying = shop_class.enrolments.staying(shop_class.campus.today())
    if not {student.pk for student in students} <= {*staying.values_list("student", flat=True)}:
        raise NotInClass


@transaction.atomic
def withdraw(*, assignment: Assignment, by: User) -> bool:
    """Take back an open assignment; return whether it was open. Its coupons stay on record."""
    changed = (
        Assignment.objects.open()
        .filter(pk=assignment.pk)
        .update(state=Assignment.State.WITHDRAWN, closed_at=timezone.now())
    )
    if changed:
        campus = assignment.shop_class.campus
        audit(by, "assignment.withdrawn", assignment, campus=campus)
    return bool(changed)
