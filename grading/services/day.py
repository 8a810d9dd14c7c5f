"""One session of a class: who is here, where, on what; what waits; what to lay out."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext as _

from curriculum.core import day, spec
from curriculum.core.cautions import Caution, Shade, cautions_for, shade_for
from curriculum.core.setup_check import table
from curriculum.core.term_plan import Booth as BoothSpec
from curriculum.core.usage import LayOut, rods_to_lay_out
from curriculum.models import (
    Assignment,
    Attendance,
    Booth,
    Enrolment,
    ExerciseVersion,
    Place,
    Session,
    Setup,
)
from curriculum.services import to_spec
from curriculum.services.findings import machine_findings, shown, too_small
from curriculum.services.places import floor_plan
from curriculum.services.sheet import pick_setup, said, said_caution, usage_of
from grading.models import Attempt, HoldTap
from grading.services.attempts import next_mark
from grading.services.today import work_state

if TYPE_CHECKING:
    from shared.people.models import User


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A hold point of what a student welds; `tap` is there once an instructor looked."""

    position: int
    text: str
    tap: HoldTap | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What a student is on: the assignment with the version of its running or next coupon."""

    assignment: Assignment
    version: ExerciseVersion
    exercise: spec.Exercise
    setup: spec.Setup
    attempt: Attempt | None
    mark: str
    holds: tuple[Hold, ...]
    lay_out: tuple[LayOut, ...]
    others: int  # further open assignments

    @property
    def state(self) -> str:
        """As in `look.STATES`: open (practises), working, or waiting to be judged."""
        return work_state(self.attempt)

    @property
    def seen(self) -> int:
        """How many hold points an instructor looked at."""
        return sum(hold.tap is not None for hold in self.holds)

    @property
    def waiting_hold(self) -> Hold | None:
        """The next hold point of a coupon that is being welded."""
        if self.state != "working":
            return None
        return next((hold for hold in self.holds if hold.tap is None), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A student of the day; `present` None: not said; `why_no_booth` where work has no booth.

    `machine` is what the booth's machine cannot do of the work, as findings that pages show.
    """

    enrolment: Enrolment
    present: bool | None
    booth: Booth | None
    work: Work | None
    why_no_booth: str = ""
    machine: tuple[dict[str, Any], ...] = ()

    @property
    def student(self) -> User:
        return self.enrolment.student

    @property
    def is_here(self) -> bool:
        return self.present is not False


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """All of a session; `queue` are coupons of the class that wait for their verdict."""

    session: Session
    rows: tuple[Row, ...]
    booths: tuple[Booth, ...]
    queue: tuple[Attempt, ...]

    @property
    def here(self) -> list[Row]:
        return [row for row in self.rows if row.is_here]

    @property
    def without_booth(self) -> list[Row]:
        return [row for row in self.here if row.why_no_booth]

    @property
    def machine_too_small(self) -> list[Row]:
        """Those in a booth whose machine does not give what their setup asks."""
        return [row for row in self.here if row.machine]

    @property
    def without_work(self) -> list[Row]:
        return [row for row in self.here if row.work is None]

    @property
    def holds(self) -> list[Row]:
        """Those who stand at a hold point."""
        return [row for row in self.here if row.work and row.work.waiting_hold]

    def floor(self) -> list[list[tuple[Booth, list[Row]] | None]]:
        """Return the floor plan as rows of places; None where no booth stands."""
        placed: dict[int, list[Row]] = defaultdict(list)
        for row in self.here:
            if row.booth:
                placed[row.booth.pk].append(row)
        return [
            [(booth, placed[booth.pk]) if booth else None for booth in line]
            for line in floor_plan(self.booths)
            if any(line)
        ]


def load_day(session: Session) -> Day:
    """Return a session with everybody in the class that day, in a constant number of queries."""
    shop_class = session.shop_class
    enrolments = list(shop_class.enrolments.present_on(session.date).select_related("student"))
    present = dict(Attendance.objects.filter(session=session).values_list("student_id", "present"))
    booths = list(Booth.objects.filter(campus=shop_class.campus_id).prefetch_related("machines"))
    by_pk = {booth.pk: booth for booth in booths}
    placed = {
        student: by_pk[booth]
        for student, booth in Place.objects.filter(session=session).values_list(
            "student_id", "booth_id"
        )
    }
    work = _work(session, enrolments)
    reasons = _why_no_booth(
        [row for row in enrolments if present.get(row.student_id) is not False],
        work,
        placed,
        booths,
    )
    queue = (
        Attempt.objects.filter(shop_class=shop_class)
        .to_judge()
        .select_related("student", "assignment__exercise")
    )
    return Day(
        session=session,
        rows=tuple(
            Row(
                enrolment=row,
                present=present.get(row.student_id),
                booth=placed.get(row.student_id),
                work=work.get(row.student_id),
                why_no_booth=reasons.get(row.student_id, ""),
                machine=_machine(work.get(row.student_id), placed.get(row.student_id)),
            )
            for row in enrolments
        ),
        booths=tuple(booths),
        queue=tuple(queue),
    )


def _machine(work: Work | None, booth: Booth | None) -> tuple[dict[str, Any], ...]:
    if work is None or booth is None:
        return ()
    found = machine_findings(work.exercise.process, work.setup, booth)
    # A current is the same figure in every reader's units.
    return tuple(shown(one, work.exercise, "us") for one in found if one.level != "ok")


def _work(session: Session, enrolments: Sequence[Enrolment]) -> dict[int, Work]:
    students = [row.student_id for row in enrolments]
    open_ones: dict[int, list[Assignment]] = defaultdict(list)
    for given in (
        Assignment.objects.open()
        .filter(shop_class=session.shop_class_id, student__in=students)
        .select_related("exercise")
    ):
        open_ones[given.student_id].append(given)
    running = {
        row.assignment_id: row
        for row in Attempt.objects.running()
        .filter(shop_class=session.shop_class_id, student__in=students)
        .select_related("setup")
        .prefetch_related("hold_taps__by")
    }
    picked = {
        student: min(rows, key=lambda one: _order(one, session, running.get(one.pk)))
        for student, rows in open_ones.items()
    }
    newest = _newest_setups(picked.values())
    wanted = {
        given.pk: running[given.pk].setup.version_id
        if given.pk in running
        else newest.get((given.exercise_id, given.setup_key))
        for given in picked.values()
    }
    versions = {
        row.pk: row
        for row in ExerciseVersion.objects.with_content().filter(
            pk__in={pk for pk in wanted.values() if pk is not None}
        )
    }
    specs = {pk: to_spec(row) for pk, row in versions.items()}
    marks: dict[int, set[str]] = defaultdict(set)
    coupons: Counter[tuple[int, int]] = Counter()
    for student, number, mark in Attempt.objects.filter(
        shop_class=session.shop_class_id, student__in=students
    ).values_list("student_id", "assignment__exercise_id", "mark"):
        marks[student].add(mark)
        coupons[student, number] += 1
    codes = {row.student_id: row.code for row in enrolments}
    rods: dict[tuple[int, str], tuple[LayOut, ...]] = {}
    found: dict[int, Work] = {}
    for student, given in picked.items():
        pk = wanted[given.pk]
        if pk is None:
            continue
        exercise = specs[pk]
        setup = pick_setup(exercise, given.setup_key)
        if (pk, setup.key) not in rods:
            used, _fault = usage_of(exercise, setup)
            rods[pk, setup.key] = tuple(rods_to_lay_out(used)) if used else ()
        attempt = running.get(given.pk)
        try:
            mark = (
                attempt.mark
                if attempt
                else next_mark(
                    code=codes[student],
                    number=exercise.number,
                    coupons=coupons[student, given.exercise_id],
                    taken=marks[student],
                )
            )
        except ValueError:  # too long to stamp; starting the coupon says so
            mark = ""
        found[student] = Work(
            assignment=given,
            version=versions[pk],
            exercise=exercise,
            setup=setup,
            attempt=attempt,
            mark=mark,
            holds=_holds(versions[pk].hold_points, attempt),
            lay_out=rods[pk, setup.key],
            others=len(open_ones[student]) - 1,
        )
    return found


def _order(given: Assignment, session: Session, attempt: Attempt | None) -> tuple[int, int, int]:
    """What is being welded first, then what was given for this session, then the oldest."""
    if attempt is not None and attempt.state == Attempt.State.STARTED:
        rank = 0
    elif attempt is not None:
        rank = 2
    else:
        rank = 1
    return rank, int(given.session_id != session.pk), given.pk


def _newest_setups(given: Iterable[Assignment]) -> dict[tuple[int, str], int]:
    """Return by exercise and key the newest published version that has such a setup."""
    rows = Setup.objects.filter(
        version__exercise__in={one.exercise_id for one in given},
        version__state=ExerciseVersion.State.PUBLISHED,
    ).order_by("version__version")
    return {
        (exercise, key): version
        for exercise, key, version in rows.values_list("version__exercise_id", "key", "version_id")
    }


def _holds(points: Sequence[str], attempt: Attempt | None) -> tuple[Hold, ...]:
    taps = {tap.position: tap for tap in attempt.hold_taps.all()} if attempt else {}
    return tuple(
        Hold(position=position, text=text, tap=taps.get(position))
        for position, text in enumerate(points)
    )


def _why_no_booth(
    enrolments: Sequence[Enrolment],
    work: Mapping[int, Work],
    placed: Mapping[int, Booth],
    booths: Sequence[Booth],
) -> dict[int, str]:
    """Return a sentence for each student who has work here and no booth."""
    wanting = [
        day.Student(
            id=row.student_id,
            name=row.student.name,
            process=given.exercise.process,
            too_small=too_small(given.exercise.process, given.setup, booths),
        )
        for row in enrolments
        if (given := work.get(row.student_id)) is not None
    ]
    if all(one.id in placed for one in wanting):
        return {}
    known = {one.id for one in wanting}
    idle = {booth.name for pk, booth in placed.items() if pk not in known}
    free = [
        BoothSpec(name=booth.name, processes=frozenset(booth.processes), is_down=booth.is_down)
        for booth in booths
        if booth.name not in idle
    ]
    kept: dict[Hashable, str] = {pk: booth.name for pk, booth in placed.items() if pk in known}
    plan = day.assign(wanting, free, kept=kept, pairs=False)
    reasons = {one.student.id: said(one.why) for one in plan.without}
    return {
        int(str(one.id)): reasons.get(one.id)
        or _("Booth %(booth)s is free.") % {"booth": plan.places[one.id]}
        for one in wanting
        if one.id not in placed
    }


def cautions_of(works: Collection[Work]) -> list[Caution]:
    """Return the cautions of all the processes in use, each once, in the order of their table.

    Electric shock stands first wherever one of the processes is an arc.
    """
    found: dict[str, Caution] = {}
    for one in works:
        for caution in cautions_for(one.exercise, one.setup):
            found.setdefault(caution.key, caution)
    order = [row["key"] for row in table("cautions")["caution"]]
    chosen = sorted(found.values(), key=lambda one: order.index(one.key))
    return [said_caution(one) for one in chosen]


def shades_of(works: Collection[Work]) -> dict[str, Shade]:
    """Return for each process in use the darkest shade to start with and never to go below."""
    found: dict[str, Shade] = {}
    for one in works:
        shade = shade_for(one.exercise, one.setup)
        before = found.get(one.exercise.process)
        if before is None or (shade.minimum, shade.start) > (before.minimum, before.start):
            found[one.exercise.process] = shade
    return found


def cut_list(rows: Iterable[Row]) -> list[tuple[int, spec.Piece, str]]:
    """Return the blanks to lay out, equal ones added up: count, blank, base metal.

    A coupon that waits for its verdict has had its blanks.
    """
    counts: Counter[tuple[str, ...]] = Counter()
    pieces: dict[tuple[str, ...], tuple[spec.Piece, str]] = {}
    for row in rows:
        if row.work is None or row.work.state == "waiting":
            continue
        for piece in row.work.setup.pieces:
            metal = piece.metal or row.work.setup.base_metal
            sizes = (piece.thickness, piece.width, piece.length)
            key = (metal, piece.form, *(f"{one.value:.6f}" for one in sizes), piece.prep)
            counts[key] += piece.count
            pieces.setdefault(key, (piece, metal))
    return [(counts[key], *pieces[key]) for key in sorted(counts)]
