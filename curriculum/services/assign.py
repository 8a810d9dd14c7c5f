"""Who is given what, who stands in which booth, who was there, who holds which sign-off."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from django.db import models, transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from curriculum.core import day
from curriculum.core.cautions import signoffs_for
from curriculum.models import (
    Assignment,
    Attendance,
    Booth,
    Exercise,
    Place,
    PlanEntry,
    Session,
    ShopClass,
    Signoff,
)
from curriculum.services import plan as plans
from curriculum.services.findings import booths_of, too_small
from curriculum.services.library import setup_spec
from shared.people.audit import audit
from shared.people.models import User

if TYPE_CHECKING:
    from curriculum.models import ExerciseVersion

Ready = Callable[[ShopClass, Collection[User], Exercise], Mapping[int, Sequence[str]]]
"""What each student (by key) has not passed of what an exercise needs, as exercise numbers."""

OVERRIDES = {
    "prior-skill": _("brings the skill from elsewhere"),
    "next-to-it": _("does it beside what is needed first"),
    "machine": _("the machine is free now only"),
    "instructor": _("the instructor stands by"),
}
"""Why somebody is given an exercise before what it needs; kept in the audit as the code word."""
WAIT_LOOKED_BACK = 6
_ready: list[Ready] = []
_handed_in: list[Callable[[Collection[int]], Collection[int]]] = []


class NotInClass(Exception):
    """A student who is not in the class, or not any more."""


class NoSuchSetup(Exception):
    """The published exercise has no such setup, or is not published."""


class BoothTaken(Exception):
    """Another student has the booth in this session."""

    def __init__(self, place: Place) -> None:
        super().__init__(str(place))
        self.place = place


def register_ready(provider: Ready) -> None:
    """Let an app to the right, which knows what was passed, say what students still need.

    `provider(shop_class, students, exercise)` gives by student key the numbers of the exercises
    that are needed and neither passed, credited nor moved on. Hand it in at `AppConfig.ready`.
    """
    if provider not in _ready:
        _ready.append(provider)


def register_handed_in(provider: Callable[[Collection[int]], Collection[int]]) -> None:
    """Let an app to the right say whose coupon waits for its verdict: nothing to weld just now.

    `provider(assignments)` gives those of the primary keys for which that is so.
    """
    if provider not in _handed_in:
        _handed_in.append(provider)


def still_needed(
    shop_class: ShopClass, students: Collection[User], exercise: Exercise
) -> dict[int, list[str]]:
    """Return what each student still needs first; nothing where no app knows."""
    found: dict[int, list[str]] = {student.pk: [] for student in students}
    for provider in _ready:
        for pk, numbers in provider(shop_class, students, exercise).items():
            found.setdefault(pk, []).extend(numbers)
    return found


def signoffs_of(version: ExerciseVersion) -> list[str]:
    """Return the sign-offs a version needs: those it asks for and those of its machines.

    Criteria are read, so fetch them with many versions.
    """
    return signoffs_for(version, version.criteria.all())


def missing_signoffs(
    shop_class: ShopClass, students: Collection[User], version: ExerciseVersion
) -> dict[int, list[str]]:
    """Return by student key the sign-offs that a version needs and the student lacks."""
    needed = signoffs_of(version)
    held = defaultdict(set)
    for student, name in Signoff.objects.filter(
        campus=shop_class.campus_id, student__in=students, name__in=needed
    ).values_list("student", "name"):
        held[student].add(name)
    return {
        student.pk: [name for name in needed if name not in held[student.pk]]
        for student in students
    }


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
    in_class = set(
        shop_class.enrolments.filter(
            models.Q(left__isnull=True) | models.Q(left__gt=shop_class.campus.today())
        ).values_list("student", flat=True)
    )
    if not in_class >= {student.pk for student in students}:
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


# -- booths -----------------------------------------------------------------------------------


@transaction.atomic
def place(*, session: Session, student: User, booth: Booth | None, by: User) -> Place | None:
    """Put a student into a booth by hand, or into none; raise `BoothTaken`, `NotInClass`."""
    ShopClass.objects.select_for_update().get(pk=session.shop_class_id)
    if not session.shop_class.enrolments.present_on(session.date).filter(student=student).exists():
        raise NotInClass
    if booth is None:
        session.places.filter(student=student).delete()
        return None
    taken = session.places.filter(booth=booth).exclude(student=student).first()
    if taken is not None and taken.by_hand:
        raise BoothTaken(taken)
    if taken is not None:  # was filled by the program: it goes round what is set by hand
        taken.delete()
    made, _new = Place.objects.update_or_create(
        session=session, student=student, defaults={"booth": booth, "by_hand": True}
    )
    return made


def in_session(session: Session) -> list[User]:
    """Return who is in the class that day and not said to be absent, in the order of lists."""
    rows = session.shop_class.enrolments.present_on(session.date).select_related("student")
    absent = set(session.attendances.filter(present=False).values_list("student", flat=True))
    return [row.student for row in rows if row.student_id not in absent]


def work_of(session: Session, students: Collection[User]) -> dict[int, Assignment]:
    """Return what each student works on: given for this session, else the oldest open one."""
    found: dict[int, Assignment] = {}
    rows = Assignment.objects.open().filter(shop_class=session.shop_class_id, student__in=students)
    for row in rows.select_related("exercise"):
        if row.student_id not in found or (
            row.session_id == session.pk and found[row.student_id].session_id != session.pk
        ):
            found[row.student_id] = row
    return found


@transaction.atomic
def fill_places(*, session: Session, by: User) -> day.Day:
    """Give everybody here with an open assignment a booth; what was set by hand stays.

    Who had none in the last sessions comes first, who waits for a verdict last. The answer names
    who has none, and why.
    """
    ShopClass.objects.select_for_update().get(pk=session.shop_class_id)
    students = in_session(session)
    work = work_of(session, students)
    versions = plans.newest_versions({row.exercise_id for row in work.values()})
    booths = booths_of(session.shop_class.campus)
    small = _too_small(work.values(), versions, booths)
    waited = _waited(session, students)
    given = [row.pk for row in work.values()]
    handed_in = {pk for provider in _handed_in for pk in provider(given)}
    by_hand: dict[Hashable, str] = {
        row.student_id: row.booth.name
        for row in session.places.filter(by_hand=True).select_related("booth")
    }
    wanting = [
        day.Student(
            id=one.pk,
            name=one.name,
            process=versions[work[one.pk].exercise_id].process,
            waited=-1 if work[one.pk].pk in handed_in else waited[one.pk],
            too_small=small.get(work[one.pk].pk, frozenset()),
        )
        for one in students
        if one.pk in work and work[one.pk].exercise_id in versions
    ]
    known = {one.id for one in wanting}
    idle = {name for pk, name in by_hand.items() if pk not in known}
    found = day.assign(
        wanting,
        plans.booths_of(session.shop_class, without=idle),
        kept=by_hand,
        pairs=False,
    )
    session.places.filter(by_hand=False).delete()
    by_name = {booth.name: booth for booth in booths}
    Place.objects.bulk_create(
        Place(session=session, student_id=pk, booth=by_name[name])
        for pk, name in found.places.items()
        if pk not in by_hand and isinstance(pk, int)
    )
    audit(
        by,
        "places.filled",
        session,
        campus=session.shop_class.campus,
        detail={"placed": len(found.places), "without": len(found.without)},
    )
    return found


def _too_small(
    work: Iterable[Assignment], versions: Mapping[int, ExerciseVersion], booths: Sequence[Booth]
) -> dict[int, frozenset[str]]:
    """Return by assignment the booths whose machine its setup asks too much of."""
    models.prefetch_related_objects(list(versions.values()), "setups__passes", "setups__pieces")
    found = {}
    for one in work:
        version = versions.get(one.exercise_id)
        for row in version.setups.all() if version else ():
            if version and row.key == one.setup_key:
                found[one.pk] = too_small(version.process, setup_spec(row), booths)
    return found


def _waited(session: Session, students: Iterable[User]) -> dict[int, int]:
    """Count the sessions in a row, just before this one, that each was in without a booth."""
    before = list(
        Session.objects.planned()
        .filter(shop_class=session.shop_class_id, places__isnull=False)
        .filter(
            models.Q(date__lt=session.date) | models.Q(date=session.date, start__lt=session.start)
        )
        .distinct()
        .order_by("-date", "-start")[:WAIT_LOOKED_BACK]
    )
    placed = set(Place.objects.filter(session__in=before).values_list("session", "student"))
    away = set(
        Attendance.objects.filter(session__in=before, present=False).values_list(
            "session", "student"
        )
    )
    waited = {}
    for student in students:
        count = 0
        for one in before:
            if (one.pk, student.pk) in placed:
                break
            count += (one.pk, student.pk) not in away
        waited[student.pk] = count
    return waited


# -- attendance and sign-offs -----------------------------------------------------------------


@transaction.atomic
def set_attendance(*, session: Session, student: User, present: bool | None, by: User) -> None:
    """Say whether a student was there; None: not said. Raises `NotInClass`."""
    if not session.shop_class.enrolments.filter(student=student).exists():
        raise NotInClass
    if present is None:
        session.attendances.filter(student=student).delete()
        return
    Attendance.objects.update_or_create(
        session=session, student=student, defaults={"present": present}
    )
    if not present:
        session.places.filter(student=student, by_hand=False).delete()


def signoff_names(shop_class: ShopClass) -> list[str]:
    """Return the sign-offs that the exercises of the class's plan ask for, in their order."""
    exercises = PlanEntry.objects.filter(shop_class=shop_class).values_list("exercise", flat=True)
    versions = plans.newest_versions(exercises)
    models.prefetch_related_objects(list(versions.values()), "criteria")
    needed = (signoffs_of(versions[pk]) for pk in exercises if pk in versions)
    return list(dict.fromkeys(name for names in needed for name in names))


@transaction.atomic
def set_signoff(*, shop_class: ShopClass, student: User, name: str, held: bool, by: User) -> None:
    """Give or take a sign-off; it holds on the whole campus. Raises `NotInClass`."""
    if not shop_class.enrolments.filter(student=student).exists():
        raise NotInClass
    campus = shop_class.campus
    if held:
        signoff, new = Signoff.objects.get_or_create(
            campus=campus,
            student=student,
            name=name,
            defaults={"given_by": by, "given_on": campus.today()},
        )
        if new:
            audit(by, "signoff.given", signoff, campus=campus, detail={"student": student.pk})
        return
    rows = Signoff.objects.filter(campus=campus, student=student, name=name)
    for signoff in rows:
        audit(by, "signoff.taken", signoff, campus=campus, detail={"student": student.pk})
    rows.delete()
