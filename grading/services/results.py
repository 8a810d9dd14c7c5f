"""Coupons with their verdicts: first tries, what redos failed by, an exercise's results, export."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from curriculum.models import Criterion, Exercise, ExerciseVersion
from curriculum.services import criterion_spec
from grading.core.learning import Defect, Rate, defect_pareto, pass_rate
from grading.core.verdict import NOT, evaluate
from grading.core.verdict import Reading as Taken
from grading.models import Attempt, Reading, Verdict
from grading.services.standing import Key

if TYPE_CHECKING:
    from curriculum.models import ShopClass

WORST = 5  # defects of an exercise that are shown


@dataclass(frozen=True, slots=True)
class Coupon:
    """One coupon of the class as lists and rates need it; `verdict` is empty until it is judged."""

    pk: int
    student: int
    shop_class: int
    key: Key
    state: str
    verdict: str
    thickness: float | None
    started: datetime
    logged: datetime | None
    session: int | None


def read_coupons(**which: Any) -> list[Coupon]:
    """Return the coupons that fit the look-ups on attempts, as they were begun; two queries."""
    attempts = Attempt.objects.filter(**which)
    verdicts = dict(
        Verdict.objects.filter(attempt__in=attempts)
        .order_by("pk")
        .values_list("attempt_id", "kind")
    )
    rows = attempts.order_by("started_at", "pk").values_list(
        "pk",
        "student_id",
        "shop_class_id",
        "assignment__exercise_id",
        "assignment__setup_key",
        "state",
        "setup__thickness_m",
        "started_at",
        "logged_at",
        "session_id",
    )
    return [
        Coupon(
            pk=pk,
            student=student,
            shop_class=klass,
            key=(exercise, key),
            state=state,
            verdict=verdicts.get(pk, "") if state in ("judged", "void") else "",
            thickness=thickness,
            started=started,
            logged=logged,
            session=session,
        )
        for pk, student, klass, exercise, key, state, thickness, started, logged, session in rows
    ]


def first_coupons(coupons: Iterable[Coupon]) -> list[Coupon]:
    """Return the first real coupon of each student on each setup, where it is judged.

    Void ones do not count; one still to be judged keeps its place.
    """
    first: dict[tuple[int, int, Key], Coupon] = {}
    for one in coupons:
        if one.verdict != "void":
            first.setdefault((one.shop_class, one.student, one.key), one)
    return [one for one in first.values() if one.verdict]


def missed_criteria(coupons: Sequence[Coupon], **which: Any) -> dict[int, list[str]]:
    """Return the criteria that the instructor's readings do not meet, of each coupon to redo.

    `which` are look-ups on readings that hold at least those of the coupons.
    """
    thickness = {one.pk: one.thickness for one in coupons if one.verdict == "redo"}
    rows = Reading.objects.filter(
        own=False, attempt__verdicts__kind=Verdict.Kind.REDO, **which
    ).order_by("pk")
    columns = ("attempt_id", "criterion_id", "value", "passed")
    bends = rows.filter(criterion__kind=Criterion.Kind.BEND)
    last: dict[tuple[int, int], tuple[float | None, bool | None, str]] = {}
    # A bend alone needs its detail; reading JSON for every row takes longer than the rest.
    for attempt, criterion, *rest in rows.exclude(criterion__kind=Criterion.Kind.BEND).values_list(
        *columns
    ):
        last[attempt, criterion] = (*rest, "{}")
    for attempt, criterion, value, passed, detail in bends.values_list(*columns, "detail"):
        last[attempt, criterion] = (value, passed, json.dumps(detail))
    specs = {
        row.pk: criterion_spec(row)
        for row in Criterion.objects.filter(pk__in={pk for _one, pk in last})
    }
    found: dict[int, list[str]] = {pk: [] for pk in thickness}
    known: dict[Any, bool] = {}  # gauges have few figures, so most readings were held before
    for (attempt, criterion), reading in last.items():
        if attempt not in found:
            continue
        key = (criterion, thickness[attempt], reading)
        if key not in known:
            value, passed, detail = reading
            given = Taken(value=value, passed=passed, detail=json.loads(detail))
            outcome = evaluate(specs[criterion], given, thickness=thickness[attempt])
            known[key] = outcome.state == NOT
        if known[key]:
            found[attempt].append(specs[criterion].name)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassResults:
    """One exercise in one class: coupons begun, first ones that passed of those judged."""

    shop_class: ShopClass
    coupons: int
    passes: int
    tried: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ExerciseResults:
    """What came of an exercise, over the classes one may see."""

    classes: Sequence[ClassResults]
    rate: Rate | None
    planned: float
    defects: Sequence[Defect]
    redos: int

    @property
    def percent(self) -> tuple[str, ...]:
        """The chance of a first pass, its bounds, and the library's chance, in percent."""
        if self.rate is None:
            return ()
        shares = (self.rate.mean, self.rate.low, self.rate.high, self.planned)
        return tuple(f"{share * 100:.0f}" for share in shares)

    @property
    def passes(self) -> int:
        return sum(one.passes for one in self.classes)

    @property
    def tried(self) -> int:
        return sum(one.tried for one in self.classes)


def results_of(exercise: Exercise, classes: Sequence[ShopClass]) -> ExerciseResults:
    """Return the results of an exercise in `classes`, in a constant number of queries.

    The rate counts first coupons against the newest version's chance as prior of 8 coupons.
    """
    which = {"shop_class__in": classes, "assignment__exercise": exercise}
    coupons = read_coupons(**which)
    begun: dict[int, int] = defaultdict(int)
    first: dict[int, list[bool]] = defaultdict(list)
    for one in coupons:
        begun[one.shop_class] += 1
    for one in first_coupons(coupons):
        first[one.shop_class].append(one.verdict == "pass")
    missed = missed_criteria(
        coupons, **{f"attempt__{name}": value for name, value in which.items()}
    )
    newest = ExerciseVersion.objects.newest().get(exercise=exercise)
    every = [passed for found in first.values() for passed in found]
    return ExerciseResults(
        classes=[
            ClassResults(
                shop_class=one,
                coupons=begun[one.pk],
                passes=sum(first[one.pk]),
                tried=len(first[one.pk]),
            )
            for one in classes
            if begun[one.pk]
        ],
        rate=pass_rate(sum(every), every.count(False), prior=newest.first_pass) if every else None,
        planned=newest.first_pass,
        defects=defect_pareto(name for names in missed.values() for name in names)[:WORST],
        redos=len(missed),
    )


RESULT_COLUMNS = (
    "student",
    "student_number",
    "exercise",
    "title",
    "version",
    "setup",
    "coupon",
    "mark",
    "state",
    "started",
    "handed_in",
    "verdict",
    "rubric",
    "score",
    "why",
    "reason",
    "judged_by",
    "judged_at",
)


def result_rows(shop_class: ShopClass) -> list[list[Any]]:
    """Return one row for each coupon of the class, columns as `RESULT_COLUMNS`; two queries."""
    zone = shop_class.campus.zone

    def moment(value: datetime | None) -> str:
        return value.astimezone(zone).isoformat(timespec="minutes") if value else ""

    attempts = (
        shop_class.attempts.select_related(
            "student", "assignment__exercise", "setup__version__exercise"
        )
        .prefetch_related("verdicts__by")
        .order_by("student__sort_name", "started_at", "pk")
    )
    rows = []
    for one in attempts:
        verdict = one.current_verdict
        rows.append(
            [
                one.student.sort_name,
                one.student.student_number or "",
                one.assignment.exercise.number,
                one.setup.version.title,
                one.setup.version.version,
                one.setup.key,
                one.number,
                one.mark,
                one.state,
                moment(one.started_at),
                moment(one.logged_at),
                verdict.kind if verdict else "",
                verdict.computed if verdict else "",
                verdict.score if verdict else None,
                verdict.why if verdict else "",
                verdict.reason if verdict else "",
                verdict.by.name if verdict else "",
                moment(verdict.at if verdict else None),
            ]
        )
    return rows
