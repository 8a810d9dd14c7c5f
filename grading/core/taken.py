"""Readings as they are typed at the bench: text of one criterion in, text of a reading out.

A bare number stands in the gauge's own unit, which is the criterion's and is shown at its field.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Criterion
from grading.core.verdict import Reading
from shared.units import Measure, parse_measure, show

DIMENSION = {"in": "length", "mm": "length", "deg": "angle", "s": "time"}
FALLBACK_STEP = {"in": Fraction(1, 64), "mm": Fraction(1, 10), "deg": Fraction(1), "s": Fraction(1)}
SI = {"in": Fraction(254, 10_000), "mm": Fraction(1, 1000), "%": Fraction(1, 100)}
YES, NO, SMALL, LARGE = "yes", "no", "small", "large"
YES_WORDS = frozenset({"y", "yes", "s", "sí", "si", "ok", "go", "1", "+"})
NO_WORDS = frozenset({"n", "no", "no go", "no-go", "nogo", "0"})
COUNT_MAX = 10_000


class ReadingRefused(ValueError):
    """Text that is no reading of its criterion; `sentence` says what would be one."""

    def __init__(self, sentence: _) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def unit_of(criterion: Criterion) -> str:
    """Return the unit a bare number stands in: in, mm, deg, s, %, or nothing."""
    if criterion.kind == "share":
        return "%"
    if criterion.kind in ("measured", "bend"):
        return criterion.unit if criterion.unit in DIMENSION else "in"
    return ""


def step_of(criterion: Criterion) -> Fraction:
    """Return the least step of the tool in `unit_of`: 1/32 for a gauge in 32nds of an inch."""
    unit = unit_of(criterion)
    if criterion.kind == "share":
        return Fraction(5)
    if criterion.kind in ("counted", "judged"):
        return Fraction(1)
    if criterion.step is None or criterion.step.value <= 0:
        return FALLBACK_STEP[unit]
    step = Fraction(criterion.step.value) / SI.get(unit, Fraction(1))
    return step.limit_denominator(128 if unit == "in" else 1000)


def choices(criterion: Criterion) -> tuple[str, ...]:
    """Return the answers a criterion is tapped with, none where it is measured."""
    if criterion.kind == "gauge":
        sized = criterion.min is not None and criterion.max is not None
        return (YES, SMALL, LARGE) if sized else (YES, NO)
    if criterion.kind == "judged":
        return (YES, NO) if criterion.unit == "yes/no" else ("0", "1", "2", "3", "4")
    return ()


def read(criterion: Criterion, text: str) -> Reading:
    """Read what was typed for a criterion.

    Lengths, angles and times as `parse_measure` takes them, shares in percent, counts and
    judgements as whole numbers, gauges and yes/no as a word or its first letter, a bend as its
    openings ("1/16, 3/32"; "0" for none). Raises `ReadingRefused`, or the `UnitError` of the unit
    reader, whose sentences say what is accepted.
    """
    text = " ".join(text.split())
    match criterion.kind:
        case "gauge":
            return _pick(criterion, text)
        case "judged" if criterion.unit == "yes/no":
            return _pick(criterion, text)
        case "judged":
            return Reading(value=_whole(criterion, text, 4))
        case "counted":
            return Reading(value=_whole(criterion, text, COUNT_MAX))
        case "bend":
            return Reading(detail={"openings": openings(criterion, text)})
    return Reading(value=_measured(criterion, text))


def _measured(criterion: Criterion, text: str) -> float:
    unit = unit_of(criterion)
    if criterion.kind == "share":
        # As in the library: 90 is a percentage, 0.9 is a share.
        bare = None if re.fullmatch(r"0?[.,]\d+|1[.,]0*", text) else "%"
        value = parse_measure(text, "fraction", bare_unit=bare).value
        if value > 1:
            raise ReadingRefused(
                _("“%(got)s” is more than the whole; write 0 to 100 %%.", got=text)
            )
        return value
    return parse_measure(text, DIMENSION[unit], bare_unit=unit).value


def openings(criterion: Criterion, text: str) -> list[float]:
    """Return the openings of a bend in metres, written behind each other with commas."""
    unit = unit_of(criterion)
    if text.casefold() in ("", "0", "-", "none", *NO_WORDS):
        return []
    parts = [one.strip() for one in re.split(r"[;,]", text) if one.strip()]
    return [parse_measure(one, "length", bare_unit=unit).value for one in parts]


def _whole(criterion: Criterion, text: str, most: int) -> float:
    if not text.isascii() or not text.isdigit() or int(text) > most:
        raise ReadingRefused(
            _(
                "“%(got)s” cannot stand for “%(name)s”; write a whole number, 0 to %(most)s.",
                got=text,
                name=criterion.name,
                most=most,
            )
        )
    return float(text)


def _pick(criterion: Criterion, text: str) -> Reading:
    word = text.casefold()
    if word in YES_WORDS:
        return Reading(passed=True)
    if word in NO_WORDS:
        return Reading(passed=False)
    if criterion.kind == "gauge" and word in (SMALL, "small", "-1", "<"):
        return Reading(passed=False, detail={"reaches": False})
    if criterion.kind == "gauge" and word in (LARGE, "large", ">"):
        return Reading(passed=False, detail={"within": False})
    raise ReadingRefused(
        _("“%(got)s” cannot stand for “%(name)s”; write y or n.", got=text, name=criterion.name)
    )


def write(
    criterion: Criterion,
    value: float | None,
    passed: bool | None,
    detail: Mapping[str, Any] | None = None,
) -> str:
    """Return the text a field shows for a stored reading, without its unit; empty for none."""
    detail = detail or {}
    if criterion.kind == "bend":
        if detail.get("openings") is not None:
            found = [figure(criterion, float(one)) for one in detail["openings"]]
            return ", ".join(found) or "0"
        largest = detail.get("largest", value)
        return "" if largest is None else figure(criterion, float(largest))
    if choices(criterion)[:1] == (YES,):
        if detail.get("reaches") is False:
            return SMALL if SMALL in choices(criterion) else NO
        if detail.get("within") is False:
            return LARGE if LARGE in choices(criterion) else NO
        passed = bool(value) if passed is None and value is not None else passed
        return "" if passed is None else YES if passed else NO
    return "" if value is None else figure(criterion, value)


def figure(criterion: Criterion, value: float) -> str:
    """Return a value in the criterion's unit as a bare figure: 11/32, 27.5, 90."""
    unit = unit_of(criterion)
    if unit in ("in", "mm"):
        shown = show(Measure.of(value, "m"), system="us" if unit == "in" else "metric")
        if shown.unit == unit:
            return shown.figure
    return f"{value / float(SI.get(unit, Fraction(1))):.6g}"
