"""A paper day sheet turned into coupons, readings and verdicts: all of it or nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils.translation import gettext as _

from curriculum.core import spec
from curriculum.models import Assignment, Criterion, ExerciseVersion, Session, Setup
from curriculum.services import criterion_spec
from grading.models import Attempt, Verdict
from grading.services.attempts import Said, log_attempt, next_mark, start_attempt
from grading.services.verdicts import (
    NeedsReason,
    confirm,
    last_readings,
    reckon,
    record_readings,
    rubric_of,
)

if TYPE_CHECKING:
    from curriculum.models import ShopClass
    from shared.people.models import User
    from shared.units import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """What a mark stands for: a coupon that runs, or the next one of an open assignment."""

    mark: str
    student: str
    exercise: str
    booth: str
    assignment: Assignment
    attempt: Attempt | None
    criteria: Mapping[int, spec.Criterion]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the sheet, read; `place` is where it stands in the form."""

    place: int
    target: Target
    current: Range | None = None
    rods: float | None = None
    readings: Mapping[int, Said] = field(default_factory=dict)
    verdict: str = ""
    reason: str = ""


class LineRefused(Exception):
    """One line cannot stand, so that none is stored: its place, its field and the sentence."""

    def __init__(self, place: int, name: str, message: str) -> None:
        super().__init__(message)
        self.place, self.name, self.message = place, name, message


def targets(session: Session) -> dict[str, Target]:
    """Return what can be keyed for a session by mark, in a constant number of queries.

    Coupons that run come first in each student's order; students stand in the order of their
    booths, then by name. A student without open work has no line.
    """
    shop_class = session.shop_class
    booths = dict(session.places.values_list("student_id", "booth__name"))
    order = {student: place for place, student in enumerate(booths)}
    codes = dict(shop_class.enrolments.values_list("student_id", "code"))
    running = {
        one.assignment_id: one
        for one in shop_class.attempts.running().select_related("setup__version")
    }
    rubrics = _Rubrics(shop_class, running)
    used: dict[tuple[int, int], list[str]] = {}
    for student, exercise, mark in shop_class.attempts.values_list(
        "student_id", "assignment__exercise_id", "mark"
    ):
        used.setdefault((student, exercise), []).append(mark)
    marks = frozenset(mark for found in used.values() for mark in found)
    rows = list(
        Assignment.objects.open()
        .filter(shop_class=shop_class)
        .select_related("student", "exercise", "shop_class__campus")
    )
    rows.sort(key=lambda one: (order.get(one.student_id, len(order)), one.student.sort_name))
    found: dict[str, Target] = {}
    for one in rows:
        attempt = running.get(one.pk)
        rubric = rubrics.of(one, attempt)
        if rubric is None or one.student_id not in codes:
            continue
        mark = attempt.mark if attempt else ""
        if not mark:
            mark = next_mark(
                code=codes[one.student_id],
                number=one.exercise.number,
                coupons=len(used.get((one.student_id, one.exercise_id), ())),
                taken=marks,
            )
        # Two setups of one exercise would come to the same mark; the first one given has it.
        found.setdefault(
            mark,
            Target(
                mark=mark,
                student=one.student.name,
                exercise=f"{one.exercise.number} {one.setup_key}",
                booth=booths.get(one.student_id, ""),
                assignment=one,
                attempt=attempt,
                criteria=rubric,
            ),
        )
    return found


class _Rubrics:
    """The criteria of the pinned versions of running coupons, and of the newest for the rest."""

    def __init__(self, shop_class: ShopClass, running: Mapping[int, Attempt]) -> None:
        self.newest: dict[tuple[int, str], int] = {}
        setups = Setup.objects.filter(
            version__state=ExerciseVersion.State.PUBLISHED,
            version__exercise__assignments__in=Assignment.objects.open().filter(
                shop_class=shop_class
            ),
        )
        for exercise, key, version in (
            setups.order_by("version__version")
            .values_list("version__exercise_id", "key", "version_id")
            .distinct()
        ):
            self.newest[exercise, key] = version
        wanted = {one.setup.version_id for one in running.values()} | set(self.newest.values())
        self.by_version: dict[int, dict[int, spec.Criterion]] = {pk: {} for pk in wanted}
        for row in Criterion.objects.filter(version__in=wanted):
            self.by_version[row.version_id][row.pk] = criterion_spec(row)

    def of(self, one: Assignment, attempt: Attempt | None) -> dict[int, spec.Criterion] | None:
        if attempt is not None:
            return self.by_version[attempt.setup.version_id]
        version = self.newest.get((one.exercise_id, one.setup_key))
        return None if version is None else self.by_version[version]


@transaction.atomic
def key_in(*, session: Session, lines: Sequence[Line], by: User, now: datetime) -> list[Attempt]:
    """Store the lines of a day sheet as coupons of that session; all of them or none.

    A coupon that was never begun is begun at the session, one that runs is handed in as from
    paper. Without a stated verdict the readings decide, and a coupon not read whole waits for the
    bench. A verdict that only lacks readings has the sheet as its reason; one against the
    readings, or a void, needs a written one: else `LineRefused`.
    """
    zone = session.shop_class.campus.zone
    held = datetime.combine(session.date, session.end, tzinfo=zone)
    moment = min(now, held)
    stored = []
    for line in lines:
        attempt = line.target.attempt or start_attempt(
            assignment=line.target.assignment, by=by, session=session, now=moment
        )
        if attempt.state == Attempt.State.STARTED:
            attempt = log_attempt(
                attempt=attempt,
                by=by,
                now=moment,
                used_current=line.current,
                used_rods=line.rods,
                on_paper=True,
            )
        else:
            _add_used(attempt, line)
        _judge(attempt, line, by, now)
        stored.append(attempt)
    return stored


def _add_used(attempt: Attempt, line: Line) -> None:
    """Write what the student left empty at hand-in; never over what they wrote."""
    for name, value in (("used_current", line.current), ("used_rods", line.rods)):
        before = getattr(attempt, name)
        if value is None or _figures(before) == _figures(value):
            continue
        if before is not None:
            column = name.removeprefix("used_")
            stated = getattr(before, "typed", "") or before
            message = _("Handed in on the tablet with %(stated)s; leave this empty to keep it.")
            raise LineRefused(line.place, column, message % {"stated": stated})
        setattr(attempt, name, value)
    attempt.save()


def _figures(value: Range | float | None) -> tuple[float | None, ...]:
    if value is None or isinstance(value, float):
        return (value,)
    return (value.low, value.high, value.start)


def _judge(attempt: Attempt, line: Line, by: User, now: datetime) -> None:
    record_readings(attempt=attempt, readings=line.readings, by=by, now=now)
    stands = {pk: row.taken for pk, row in last_readings(attempt, own=False).items()}
    computed = reckon(rubric_of(attempt), stands).verdict
    kind, reason = line.verdict or computed, line.reason
    if kind not in Verdict.Kind.values:
        return
    if not reason and computed == "incomplete" and kind != Verdict.Kind.VOID:
        reason = _("From the paper day sheet, not every reading written.")
    try:
        confirm(attempt=attempt, kind=kind, reason=reason, by=by, now=now)
    except NeedsReason as refused:
        message = _("Say why it is void.")
        if kind != Verdict.Kind.VOID:
            words = {"computed": _("pass") if refused.computed == "pass" else _("redo")}
            message = _("The readings say %(computed)s: write why, or change one.") % words
        raise LineRefused(line.place, "reason", message) from refused
