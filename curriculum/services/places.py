"""Who is there, and who stands in which booth."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from django.db import models, transaction

from curriculum.core import day
from curriculum.models import Assignment, Attendance, Booth, Place, Session, ShopClass
from curriculum.services import plan as plans
from curriculum.services.classes import NotInClass
from curriculum.services.findings import booths_of, too_small
from curriculum.services.spec_rows import setup_spec
from shared.people.audit import audit
from shared.people.models import User

if TYPE_CHECKING:
    from curriculum.models import ExerciseVersion

WAIT_LOOKED_BACK = 6  # sessions
_handed_in: list[Callable[[Collection[int]], Collection[int]]] = []


class BoothTaken(Exception):
    """Another student has the booth in this session."""

    def __init__(self, place: Place) -> None:
        super().__init__(str(place))
        self.place = place


def register_handed_in(provider: Callable[[Collection[int]], Collection[int]]) -> None:
    """Let an app to the right say whose coupon waits for its verdict: nothing to weld just now.

    `provider(assignments)` gives those of the primary keys for which that is so.
    """
    if provider not in _handed_in:
        _handed_in.append(provider)


def floor_plan(booths: Sequence[Booth]) -> list[list[Booth | None]]:
    """Return the booths as rows of a grid; None is an empty place."""
    if not booths:
        return []
    places = {(booth.row, booth.column): booth for booth in booths}
    rows = range(min(row for row, _c in places), max(row for row, _c in places) + 1)
    columns = range(min(col for _r, col in places), max(col for _r, col in places) + 1)
    return [[places.get((row, column)) for column in columns] for row in rows]


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
