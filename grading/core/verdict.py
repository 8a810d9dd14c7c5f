"""What the rubric says of a coupon: each criterion, the mandatory ones, the score, the verdict.

Figures are SI as in `curriculum.core.spec.Criterion`; a person confirms or overrules the verdict.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from curriculum.core.limits import HUNDREDTH_MM, highest
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Criterion
from grading.core.bend import Bend, BendLimits, judge_bend
from shared.units import Measure, show

PASS_MARK = 0.7
"""Least weighted score of a pass; common practice, no source."""
SLACK = 1e-9  # absolute, in metres and shares: a reading typed as the limit meets it
MET, NOT, MISSING = "met", "not", "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was taken on one criterion.

    `value` for measured, share (0 to 1), counted and judged 0–4; `passed` for a gauge and for
    yes/no. `detail` for a bend (see `Bend.from_detail`), and for a gauge of two sizes `reaches`
    (the least size) and `within` (the largest size).
    """

    value: float | None = None
    passed: bool | None = None
    detail: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Limit:
    """Bounds in the criterion's SI unit; None is open."""

    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One criterion: met, not or missing; `close` when within the gauge's step of a limit."""

    criterion: Criterion
    state: str
    close: bool = False
    share: float = 0.0  # of its weight that counts
    figure: str = ""
    limit: str = ""
    sentence: _


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What the rubric says. `verdict` is pass, redo or incomplete; `score` is 0 to 1."""

    outcomes: tuple[Outcome, ...]
    verdict: str
    score: float
    why: _
    cure: str = ""

    @property
    def close(self) -> tuple[Outcome, ...]:
        return tuple(one for one in self.outcomes if one.close)


def limit_for(criterion: Criterion, thickness: float | None) -> Limit:
    """Return the bounds of a criterion on material of a thickness in metres.

    Raises `ValueError` where the limit grows with the thickness and none above 0 is given.
    """
    low = criterion.min.value if criterion.min else None
    return Limit(low, highest(criterion, thickness))


def show_figure(criterion: Criterion, value: float) -> str:
    """Write a value of a criterion in its own unit; millimetres to a hundredth, as gauges go."""
    unit = criterion.unit
    if criterion.kind == "share":
        return f"{value * 100:.4g} %"
    if criterion.kind in ("counted", "judged"):
        return f"{value:.4g}"
    if unit in ("deg", "s"):
        return f"{value:.4g} {unit}"
    if unit == "mm":
        return str(show(Measure.of(round(value, HUNDREDTH_MM) or value, "m"), system="metric"))
    return str(show(Measure.of(value, "m"), system="us"))


def show_limit(criterion: Criterion, limit: Limit) -> str:
    """Write the bounds in words: "at most 1/32 in", "1/8 in to 3/16 in"."""
    low = None if limit.low is None else show_figure(criterion, limit.low)
    high = None if limit.high is None else show_figure(criterion, limit.high)
    if low is None and high is None:
        return "4" if criterion.unit == "0-4" else _("yes")
    if high is None:
        return _("at least %(low)s", low=low)
    if low is None:
        return _("none") if limit.high == 0 else _("at most %(high)s", high=high)
    return low if low == high else _("%(low)s to %(high)s", low=low, high=high)


def evaluate(
    criterion: Criterion,
    reading: Reading | None,
    *,
    thickness: float | None = None,
    bend_limits: BendLimits | None = None,
) -> Outcome:
    """Hold one reading against its criterion; no reading gives `missing`.

    Raises `ValueError` for a reading outside its scale (a share over 1, a judgement over 4, a
    negative length) and for a limit by thickness without thickness.
    """
    if criterion.kind == "bend":
        return _bend(criterion, reading, bend_limits)
    if criterion.kind == "gauge" or (reading and reading.value is None):
        return _yes_or_no(criterion, reading, thickness)
    limit = limit_for(criterion, thickness)
    wanted = show_limit(criterion, limit)
    if reading is None or reading.value is None:
        return _missing(criterion, wanted)
    value = reading.value
    top = {"share": 1.0, "judged": 1.0 if criterion.unit == "yes/no" else 4.0}
    high = top.get(criterion.kind, math.inf)
    if not 0 <= value <= high or not math.isfinite(value):
        raise ValueError(f"{criterion.name} must be from 0 to {high:g}, got {value:g}")
    if criterion.kind == "judged" and limit == Limit(None, None):
        limit = Limit(1.0 if criterion.unit == "yes/no" else 2.0, None)
        wanted = _("yes") if criterion.unit == "yes/no" else show_limit(criterion, limit)
    met = (limit.low is None or value >= limit.low - SLACK) and (
        limit.high is None or value <= limit.high + SLACK
    )
    step = criterion.step.value if criterion.step else 0.0
    close = step > 0 and any(
        bound is not None and abs(value - bound) < step + SLACK for bound in (limit.low, limit.high)
    )
    figure = show_figure(criterion, value)
    if criterion.unit == "yes/no":
        figure = _("yes") if value >= 1 else _("no")
    share = value / 4 if met and criterion.kind == "judged" and high == 4 else float(met)
    return _outcome(criterion, met, figure, wanted, share=share, close=close)


def judge(
    criteria: Sequence[Criterion],
    readings: Mapping[str, Reading],
    *,
    thickness: float | None = None,
    pass_mark: float = PASS_MARK,
    bend_limits: BendLimits | None = None,
) -> Result:
    """Return what the rubric says of one coupon.

    A mandatory criterion that is not met means redo, whatever is still missing. Else a missing
    reading leaves the coupon incomplete; else it passes when the weighted score reaches
    `pass_mark`. A judgement of 0 to 4 counts by its share of 4, anything else whole or not at all.

    Parameters
    ----------
    criteria : sequence of Criterion
        The rubric of the exercise version.
    readings : mapping of str to Reading
        By criterion name; a name that is no criterion is refused.
    thickness : float, optional
        Of the base metal in metres, for limits that grow with it.
    pass_mark : float
        Least score, 0 to 1.

    Raises
    ------
    ValueError
        For a reading outside its scale, an unknown name, or a pass mark outside 0 to 1.
    """
    if not 0 <= pass_mark <= 1:
        raise ValueError(f"pass_mark must be from 0 to 1, got {pass_mark}")
    if unknown := readings.keys() - {one.name for one in criteria}:
        raise ValueError(f"no criterion is called {', '.join(sorted(unknown))}")
    outcomes = tuple(
        evaluate(one, readings.get(one.name), thickness=thickness, bend_limits=bend_limits)
        for one in criteria
    )
    weight = math.fsum(one.criterion.weight for one in outcomes)
    if weight > 0:
        score = math.fsum(one.share * one.criterion.weight for one in outcomes) / weight
    else:
        score = float(bool(outcomes) and all(one.state == MET for one in outcomes))
    failed = sorted(
        (one for one in outcomes if one.state == NOT),
        key=lambda one: (not one.criterion.mandatory, -one.criterion.weight),
    )
    missing = [one for one in outcomes if one.state == MISSING]
    if any(one.criterion.mandatory for one in failed):
        verdict, first = "redo", [one for one in failed if one.criterion.mandatory]
    elif missing or not outcomes:
        verdict, first = "incomplete", missing
    elif score >= pass_mark - SLACK:
        verdict, first = "pass", failed
    else:
        verdict, first = "redo", failed
    why = _why(verdict, first, score, pass_mark, outcomes)
    cure = next((one.criterion.cure for one in failed if one.criterion.cure), "")
    return Result(outcomes=outcomes, verdict=verdict, score=score, why=why, cure=cure)


def _why(
    verdict: str,
    first: Sequence[Outcome],
    score: float,
    pass_mark: float,
    outcomes: Sequence[Outcome],
) -> _:
    if not outcomes:
        return _("There is no criterion to judge by.")
    reasons = [one.sentence for one in first]
    marks = _(
        "The score is %(score)s %%, a pass needs %(pass_mark)s %%.",
        score=f"{score * 100:.0f}",
        pass_mark=f"{pass_mark * 100:.0f}",
    )
    if verdict == "pass":
        return _.join([marks, *reasons]) if reasons else _("Every criterion is met.")
    if verdict == "redo" and not any(one.criterion.mandatory for one in first):
        reasons.append(marks)
    return _.join(reasons)


def _missing(criterion: Criterion, wanted: str, sentence: _ | None = None) -> Outcome:
    return Outcome(
        criterion=criterion,
        state=MISSING,
        limit=wanted,
        sentence=sentence or _("%(name)s: no reading yet.", name=_name(criterion)),
    )


def _outcome(
    criterion: Criterion,
    met: bool,
    figure: str,
    wanted: str,
    *,
    share: float | None = None,
    close: bool = False,
) -> Outcome:
    sentence = _(
        "%(criterion)s: %(figure)s, wanted %(wanted)s.",
        criterion=_name(criterion),
        figure=figure,
        wanted=wanted,
    )
    if close:
        sentence = _.join([sentence, _("This is within the gauge's step of the limit.")])
    return Outcome(
        criterion=criterion,
        state=MET if met else NOT,
        close=close,
        share=float(met) if share is None else share,
        figure=figure,
        limit=wanted,
        sentence=sentence,
    )


def _name(criterion: Criterion) -> str:
    return criterion.name[:1].upper() + criterion.name[1:]


def _yes_or_no(criterion: Criterion, reading: Reading | None, thickness: float | None) -> Outcome:
    limit = limit_for(criterion, thickness)
    wanted = show_limit(criterion, limit)
    if reading is None:
        return _missing(criterion, wanted)
    sides = [reading.detail.get("reaches"), reading.detail.get("within")]
    passed = reading.passed
    if passed is None and reading.value is not None:
        if reading.value not in (0, 1):
            raise ValueError(f"{criterion.name} is 1 or 0, got {reading.value:g}")
        passed = reading.value == 1
    figure = _("goes") if criterion.kind == "gauge" else _("yes")
    if False in sides:
        passed = False
        figure = _("too small") if sides[0] is False else _("too large")
    elif passed is None and sides == [True, True]:
        passed = True
    elif passed is False:
        figure = _("does not go") if criterion.kind == "gauge" else _("no")
    if passed is None:
        return _missing(criterion, wanted)
    return _outcome(criterion, passed, figure, wanted)


def _bend(criterion: Criterion, reading: Reading | None, limits: BendLimits | None) -> Outcome:
    limits = limits or BendLimits.published("mm" if criterion.unit == "mm" else "in")
    if criterion.max is not None:
        limits = replace(limits, largest=criterion.max.value)
    written = {
        name: show_figure(criterion, getattr(limits, name))
        for name in ("largest", "sum", "corner", "counted_from")
    }
    wanted = _(
        "no opening over %(largest)s, those over %(counted_from)s together at most %(sum)s, "
        "corner at most %(corner)s",
        largest=written["largest"],
        counted_from=written["counted_from"],
        sum=written["sum"],
        corner=written["corner"],
    )
    bend = Bend.from_detail(reading.detail, limits) if reading else None
    if reading and bend is None and reading.value is not None:
        bend = Bend.from_detail({"largest": reading.value}, limits)
    if bend is None:
        if reading and reading.passed is not None:
            return _outcome(
                criterion, reading.passed, _("yes") if reading.passed else _("no"), wanted
            )
        return _missing(criterion, wanted)
    result = judge_bend(bend, limits)
    if result.replace:
        sentence = _(
            "%(criterion)s: corner crack of %(corner)s without slag or fusion flaw; "
            "bend a replacement specimen.",
            criterion=_name(criterion),
            corner=show_figure(criterion, bend.corner),
        )
        return _missing(criterion, wanted, sentence)
    told = {one.name: show_figure(criterion, one.figure) for one in result.exceeded}
    told = told or {"largest": show_figure(criterion, bend.largest)}
    words = {
        "largest": _("largest opening %(figure)s", figure=told.get("largest")),
        "sum": _("openings together %(figure)s", figure=told.get("sum")),
        "corner": _("corner crack %(figure)s", figure=told.get("corner")),
    }
    figure = _.join((words[name] for name in told), ", ")
    step = criterion.step.value if criterion.step else 0.0
    close = step > 0 and abs(bend.largest - limits.largest) < step + SLACK
    return _outcome(criterion, not result.exceeded, figure, wanted, close=close)
