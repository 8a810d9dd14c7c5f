"""Coupons from the first strike to the bench: started, seen at hold points, handed in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from curriculum.models import Assignment, Enrolment, ExerciseVersion, Session, Setup
from grading.core import marks
from grading.core.verdict import Reading as Taken
from grading.models import Attempt, HoldTap, PracticeLook, Reading

if TYPE_CHECKING:
    from datetime import datetime

    from curriculum.models import ShopClass
    from shared.people.models import User
    from shared.units import Range


class NotOpen(Exception):
    """The assignment is done or withdrawn."""


class CouponRunning(Exception):
    """The assignment has a coupon that is not judged yet: `attempt`."""

    def __init__(self, attempt: Attempt) -> None:
        super().__init__(attempt.mark)
        self.attempt = attempt


class NoSetup(Exception):
    """No published version of the exercise has the assignment's setup."""


class NotInClass(Exception):
    """The student is not enrolled in the assignment's class, so there is no code for a mark."""


class NotRunning(Exception):
    """The coupon was handed in already; what was sent changes nothing."""


class NoHoldPoint(Exception):
    """The coupon's version has no hold point at that place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One reading with its text as typed; `taken` is in SI as in `grading.core.verdict`."""

    taken: Taken
    typed: str = ""


def session_at(shop_class: ShopClass, now: datetime) -> Session | None:
    """Return the session of the class that runs at `now`, else the day's last one begun or next.

    None where the class does not meet on that day, or the session is lost.
    """
    local = now.astimezone(shop_class.campus.zone)
    sessions = [
        one
        for one in shop_class.sessions.filter(date=local.date()).order_by("start")
        if one.state != Session.State.LOST
    ]
    begun = [one for one in sessions if one.start <= local.time()]
    return next(iter(begun[-1:] or sessions), None)


def newest_setup(assignment: Assignment) -> Setup | None:
    """Return the setup with the assignment's key in the newest published version that has it."""
    return (
        Setup.objects.filter(
            version__exercise_id=assignment.exercise_id,
            version__state=ExerciseVersion.State.PUBLISHED,
            key=assignment.setup_key,
        )
        .order_by("-version__version")
        .first()
    )


def next_mark(
    *, code: str, number: str, coupons: int, taken: set[str] | frozenset[str] = frozenset()
) -> str:
    """Return the mark of the coupon after `coupons` ones of exercise `number`, none of `taken`.

    Raises `ValueError` where the mark would be too long to stamp.
    """
    text = marks.mark(code, number, coupons + 1)
    while text in taken:
        coupons += 1
        text = marks.mark(code, number, coupons + 1)
    return text


@transaction.atomic
def start_attempt(
    *, assignment: Assignment, by: User, session: Session | None = None, now: datetime
) -> Attempt:
    """Start the next coupon of an assignment.

    It pins the newest published setup; a version published later leaves it as it is. `by` may be
    the student or, from paper, an instructor. `session` defaults to the class's session of the
    day.

    Raises
    ------
    NotOpen, CouponRunning, NoSetup, NotInClass
        See these; nothing is written.
    ValueError
        Where the mark would be longer than a mark may be.
    """
    # Whoever starts a second coupon of the student at the same moment waits here.
    enrolment = (
        Enrolment.objects.select_for_update()
        .filter(shop_class=assignment.shop_class_id, student=assignment.student_id)
        .first()
    )
    if enrolment is None:
        raise NotInClass
    assignment.refresh_from_db(fields=["state"])
    if assignment.state != Assignment.State.OPEN:
        raise NotOpen
    running = assignment.attempts.running().first()
    if running is not None:
        raise CouponRunning(running)
    setup = newest_setup(assignment)
    if setup is None:
        raise NoSetup
    shop_class = assignment.shop_class
    earlier = Attempt.objects.filter(
        shop_class=shop_class,
        student=assignment.student_id,
        assignment__exercise=assignment.exercise_id,
    )
    taken = frozenset(
        Attempt.objects.filter(shop_class=shop_class, mark__startswith=enrolment.code).values_list(
            "mark", flat=True
        )
    )
    return Attempt.objects.create(
        assignment=assignment,
        shop_class=shop_class,
        student_id=assignment.student_id,
        setup=setup,
        session=session or session_at(shop_class, now),
        number=1 + max(assignment.attempts.values_list("number", flat=True), default=0),
        mark=next_mark(
            code=enrolment.code,
            number=assignment.exercise.number,
            coupons=earlier.count(),
            taken=taken,
        ),
        started_at=now,
    )


@transaction.atomic
def log_attempt(
    *,
    attempt: Attempt,
    by: User,
    now: datetime,
    used_current: Range | None = None,
    used_voltage: Range | None = None,
    used_travel_speed: Range | None = None,
    used_rods: float | None = None,
    used_practice_pieces: int | None = None,
    own_readings: Mapping[int, Said] | None = None,
    own_note: str = "",
    on_paper: bool = False,
) -> Attempt:
    """Hand a started coupon in, with what was used and the student's own inspection.

    `own_readings` go by the criterion's pk. Nothing but the coupon itself is needed. Raises
    `NotRunning` for a coupon that was handed in before.
    """
    row = Attempt.objects.select_for_update().get(pk=attempt.pk)
    if row.state != Attempt.State.STARTED:
        raise NotRunning
    values = {
        "used_current": used_current,
        "used_voltage": used_voltage,
        "used_travel_speed": used_travel_speed,
        "used_rods": used_rods,
        "used_practice_pieces": used_practice_pieces,
        "own_note": own_note.strip(),
        "logged_on_paper": on_paper,
        "logged_at": now,
        "state": Attempt.State.LOGGED,
    }
    for name, value in values.items():
        setattr(row, name, value)
    row.save()
    write_readings(attempt=row, readings=own_readings or {}, own=True, by=by, now=now)
    return row


def write_readings(
    *, attempt: Attempt, readings: Mapping[int, Said], own: bool, by: User, now: datetime
) -> list[Reading]:
    """Append readings of one side (the student's `own`, or the instructor's) by criterion pk."""
    return Reading.objects.bulk_create(
        Reading(
            attempt=attempt,
            criterion_id=pk,
            own=own,
            value=said.taken.value,
            passed=said.taken.passed,
            detail=dict(said.taken.detail),
            typed=said.typed,
            by=by,
            at=now,
        )
        for pk, said in readings.items()
    )


@transaction.atomic
def tap_hold(*, attempt: Attempt, position: int, by: User, now: datetime, on: bool = True) -> None:
    """Say that an instructor looked at a hold point, or (`on` false) that the tap was a slip.

    `position` counts from 0 in the hold points of the coupon's own version. Twice the same
    changes nothing. Raises `NoHoldPoint`.
    """
    points = attempt.setup.version.hold_points
    if not 0 <= position < len(points):
        raise NoHoldPoint
    if not on:
        attempt.hold_taps.filter(position=position).delete()
        return
    HoldTap.objects.get_or_create(
        attempt=attempt,
        position=position,
        defaults={"text": points[position][:200], "by": by, "at": now},
    )


@transaction.atomic
def practice_look(
    *,
    assignment: Assignment,
    by: User,
    now: datetime,
    session: Session | None = None,
    note: str = "",
) -> PracticeLook:
    """Write down that an instructor looked at practice, without a grade."""
    return PracticeLook.objects.create(
        assignment=assignment,
        session=session or session_at(assignment.shop_class, now),
        note=note.strip()[:300],
        by=by,
        at=now,
    )
