"""A class at a glance: where everybody stands, who needs the instructor, what stops the class."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

from curriculum.models import Attendance, ExerciseVersion, Session
from grading.core.learning import Defect, Rate, defect_pareto, pass_rate
from grading.core.standing import (
    REDO,
    Standing,
    Step,
    ladder,
)
from grading.services.results import Coupon, first_coupons, missed_criteria, read_coupons
from grading.services.standing import Key, PlannedTask, planned_tasks, standings

if TYPE_CHECKING:
    from curriculum.models import ShopClass

LOOKED_BACK = 6  # sessions whose attendance counts
ABSENT = 3  # of those: this often is a reason to ask
DRY = 5  # sessions there without a pass
WORST = 10  # defects shown
WAITS = timedelta(days=7)  # a coupon that lies there longer
STOP, LATE, LOOK = 100, 10, 1  # what a reason weighs in the order of the rows


@dataclass(frozen=True, slots=True)
class Need:
    """Why a student needs the instructor: what it weighs, its sign and the words."""

    weight: int
    sign: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One exercise of the plan, with the results of its first coupons."""

    exercise_id: int
    number: str
    title: str
    process: str
    due: date | None
    planned: float  # the library's chance of a first pass
    passes: int = 0
    tried: int = 0
    rate: Rate | None = None

    @property
    def shortfall(self) -> float:
        """How many first passes are missing against the library's chance."""
        return self.planned * self.tried - self.passes

    @property
    def planned_words(self) -> str:
        return f"{self.planned * 100:.0f} %"

    @property
    def rate_words(self) -> tuple[str, str]:
        """The chance of a first pass and its interval, in percent; empty before any result."""
        if self.rate is None:
            return "", ""
        low, high = self.rate.low * 100, self.rate.high * 100
        return f"{self.rate.mean * 100:.0f} %", f"{low:.0f}–{high:.0f} %"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One student: a step for each column, coupons by exercise, and why they need somebody."""

    pk: int
    name: str
    steps: Sequence[Step]
    coupons: Mapping[int, int]
    done: int
    behind: int
    needs: Sequence[Need]

    @property
    def weight(self) -> int:
        return sum(one.weight for one in self.needs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """The grid, rows in order of need, and what the class as a whole says."""

    columns: Sequence[Column]
    rows: Sequence[Row]
    defects: Sequence[Defect]
    redos: int
    held: int
    sessions: int
    groups: Sequence[tuple[str, int]] = field(default=())

    @property
    def in_need(self) -> int:
        return sum(bool(row.needs) for row in self.rows)

    @property
    def worst(self) -> Sequence[Defect]:
        return self.defects[:WORST]

    @property
    def expected(self) -> str:
        """How many first coupons of the stopper should have passed by the library's chance."""
        one = self.stopper
        return f"{one.planned * one.tried:.0f}" if one else ""

    @property
    def stopper(self) -> Column | None:
        """The exercise that falls furthest short of the library's chance, by a coupon or more."""
        found = [one for one in self.columns if one.shortfall >= 1]
        return max(found, key=lambda one: one.shortfall, default=None)


def progress_of(shop_class: ShopClass, *, today: date, now: datetime) -> Progress:
    """Return the class's progress in a constant number of queries, whatever it holds.

    Students on the roll on `today`; the pass rates count the first judged coupon of a student on
    a setup, void ones left out, against the library's chance as prior.
    """
    people = list(
        shop_class.enrolments.present_on(today).values_list("student_id", "student__sort_name")
    )
    plan = planned_tasks(shop_class)
    states = standings(shop_class, students=[pk for pk, _name in people], tasks=plan)
    coupons = read_coupons(shop_class=shop_class)
    columns = _columns(shop_class, plan, coupons)
    missed = missed_criteria(coupons, attempt__shop_class=shop_class)
    presence = _Presence(shop_class, today)
    by_student: dict[int, list[Coupon]] = defaultdict(list)
    for one in coupons:
        by_student[one.student].append(one)
    core = [one.task for one in plan]
    rows = []
    for pk, name in people:
        found = states.get(pk, {})
        own = by_student[pk]
        steps = ladder(core, {one.task.key: found[one.key] for one in plan}) if found else []
        late = sum(
            step.done < step.of and column.due is not None and column.due < today
            for column, step in zip(columns, steps, strict=False)
        )
        reasons = _needs(shop_class, plan, found, own, missed, presence.of(pk), late, now)
        rows.append(
            Row(
                pk=pk,
                name=name,
                steps=steps,
                coupons=Counter(one.key[0] for one in own if one.verdict != "void"),
                done=sum(step.done == step.of for step in steps),
                behind=late,
                needs=reasons,
            )
        )
    rows.sort(key=lambda row: (-row.weight, -row.behind, row.name))
    return Progress(
        columns=columns,
        rows=rows,
        defects=defect_pareto(name for names in missed.values() for name in names),
        redos=len(missed),
        held=len(presence.held),
        sessions=presence.planned,
        groups=_groups(columns),
    )


def _columns(
    shop_class: ShopClass, plan: Sequence[PlannedTask], coupons: Sequence[Coupon]
) -> list[Column]:
    due = dict(shop_class.plan_entries.values_list("exercise_id", "target_session__date"))
    chances = dict(
        ExerciseVersion.objects.filter(pk__in={one.version_id for one in plan}).values_list(
            "exercise_id", "first_pass"
        )
    )
    results: dict[int, list[bool]] = defaultdict(list)
    for one in first_coupons(coupons):
        results[one.key[0]].append(one.verdict == "pass")
    columns = []
    for exercise in dict.fromkeys(one.exercise_id for one in plan):
        task = next(one for one in plan if one.exercise_id == exercise)
        passes, tried = sum(results[exercise]), len(results[exercise])
        rate = None
        if tried:
            rate = pass_rate(
                passes,
                tried - passes,
                prior=chances[exercise],
                weight=shop_class.opinion_weight,
            )
        columns.append(
            Column(
                exercise_id=exercise,
                number=task.number,
                title=task.title,
                process=task.process,
                due=due.get(exercise),
                planned=chances[exercise],
                passes=passes,
                tried=tried,
                rate=rate,
            )
        )
    return columns


def _groups(columns: Sequence[Column]) -> list[tuple[str, int]]:
    """Return the processes that stand side by side, with how many columns each has."""
    groups: list[tuple[str, int]] = []
    for one in columns:
        if groups and groups[-1][0] == one.process:
            groups[-1] = (one.process, groups[-1][1] + 1)
        else:
            groups.append((one.process, 1))
    return groups


class _Presence:
    """Who was there in the sessions held so far, newest first."""

    def __init__(self, shop_class: ShopClass, today: date) -> None:
        planned = list(
            shop_class.sessions.exclude(state=Session.State.LOST)
            .order_by("-date", "-start")
            .values_list("pk", "date")
        )
        self.planned = len(planned)
        self.held = [pk for pk, day in planned if day <= today]
        self.said: dict[int, dict[int, bool]] = defaultdict(dict)
        for session, student, present in Attendance.objects.filter(
            session__shop_class=shop_class
        ).values_list("session_id", "student_id", "present"):
            self.said[student][session] = present

    def of(self, student: int) -> list[tuple[int, bool]]:
        """Return the sessions for which it was said, newest first."""
        said = self.said[student]
        return [(pk, said[pk]) for pk in self.held if pk in said]


def _needs(
    shop_class: ShopClass,
    plan: Sequence[PlannedTask],
    found: Mapping[Key, Standing],
    own: Sequence[Coupon],
    missed: Mapping[int, list[str]],
    presence: Sequence[tuple[int, bool]],
    late: int,
    now: datetime,
) -> list[Need]:
    needs = []
    recent = [was_there for _pk, was_there in presence[:LOOKED_BACK]]
    if (absent := recent.count(False)) >= ABSENT:
        words = _("absent %(n)d of last %(of)d") % {"n": absent, "of": len(recent)}
        needs.append(Need(STOP + absent, "stop", words))
    for one in plan:
        standing = found.get(one.key)
        if standing is None or standing.state != REDO:
            continue
        if standing.redos >= shop_class.attempt_cap:
            words = _("%(number)s: %(n)d tries, decide") % {
                "number": one.number,
                "n": standing.redos,
            }
            needs.append(Need(STOP + standing.redos, "stop", words))
        elif standing.redos > 1:
            needs.append(Need(LOOK * standing.redos, "redo", _again(one, standing, own, missed)))
    if late > 1:
        words = _("%(n)d exercises behind the plan") % {"n": late}
        needs.append(Need(LATE * late, "late", words))
    there = [pk for pk, was_there in presence if was_there][:DRY]
    passed = any(one.verdict == "pass" and one.session in there for one in own)
    unfinished = any(not one.is_done for one in found.values())
    if len(there) == DRY and not passed and unfinished:
        needs.append(Need(LATE, "redo", _("no pass in %(n)d sessions") % {"n": DRY}))
    waits = [one for one in own if one.state == "logged" and one.logged]
    if any(one.logged and now - one.logged > WAITS for one in waits):
        needs.append(Need(LATE, "waiting", _("a coupon waits for its verdict over a week")))
    needs.sort(key=lambda one: -one.weight)
    return needs


def _again(
    one: PlannedTask,
    standing: Standing,
    own: Sequence[Coupon],
    missed: Mapping[int, list[str]],
) -> str:
    """Say what keeps coming on one task, else how often it was redone."""
    seen = Counter(
        name for coupon in own if coupon.key == one.key for name in missed.get(coupon.pk, ())
    )
    name, times = (seen.most_common(1) or [("", 0)])[0]
    if times > 1:
        words = {"number": one.number, "defect": name, "n": times}
        return _("%(number)s: %(defect)s, %(n)d times") % words
    return _("%(number)s: %(n)d redos") % {"number": one.number, "n": standing.redos}
