"""Readings at the instructor's bench: what is tapped or typed, the gauge's step, and back to text.

Builds on `grading.core.typed`, which reads one figure in the unit beside its field.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from curriculum.core.spec import Criterion
from grading.core.typed import field_unit, is_yes_or_no, read_typed
from grading.core.verdict import Reading
from shared.units import Measure, show

SI = {"in": Fraction(254, 10_000), "mm": Fraction(1, 1000), "%": Fraction(1, 100)}
USUAL_STEP = {"in": Fraction(1, 64), "mm": Fraction(1, 10), "%": Fraction(5)}
FINEST = {"in": 128, "mm": 1000}  # largest denominator of a step
YES, NO, SMALL, LARGE = "yes", "no", "small", "large"
SHORT = {"y": YES, "n": NO, "s": YES, "sí": YES, "go": YES, "<": SMALL, ">": LARGE}
NONE = frozenset({"0", "-", "none", NO, "n"})


def step_of(criterion: Criterion) -> Fraction:
    """Return the least step of the tool in `field_unit`: 1/32 for a gauge in 32nds of an inch."""
    unit = field_unit(criterion)
    if criterion.step is None or criterion.step.value <= 0 or unit not in ("in", "mm", "deg", "s"):
        return USUAL_STEP.get(unit, Fraction(1))
    step = Fraction(criterion.step.value) / SI.get(unit, Fraction(1))
    return step.limit_denominator(FINEST.get(unit, 100))


def choices(criterion: Criterion) -> tuple[str, ...]:
    """Return the answers a criterion is tapped with; none where a figure is written."""
    if criterion.kind == "gauge" and criterion.min is not None and criterion.max is not None:
        return (YES, SMALL, LARGE)
    if is_yes_or_no(criterion):
        return (YES, NO)
    return ("0", "1", "2", "3", "4") if criterion.kind == "judged" else ()


def read(criterion: Criterion, text: str) -> Reading | None:
    """Return a reading as tapped, or as written with the bench's short words (y, n, <, >).

    A bend is written as its openings, "1/16, 3/32", or "0" for none. Else as `read_typed`, whose
    `UnitError` says what would be accepted.
    """
    text = " ".join(text.split())
    if criterion.kind == "bend" and text:
        return Reading(detail={"openings": openings(criterion, text)})
    if is_yes_or_no(criterion):
        text = SHORT.get(text.casefold(), text)
        if text in (SMALL, LARGE) and criterion.kind == "gauge":
            side = "reaches" if text == SMALL else "within"
            return Reading(passed=False, detail={side: False})
    return read_typed(criterion, text)


def openings(criterion: Criterion, text: str) -> list[float]:
    """Return the openings of a bend in metres, written behind each other with commas."""
    if text.strip().casefold() in NONE:
        return []
    found = []
    for part in re.split(r"[;,]", text):
        reading = read_typed(criterion, part)
        found += reading.detail["openings"] if reading else []
    return found


def write(
    criterion: Criterion,
    value: float | None,
    passed: bool | None,
    detail: Mapping[str, Any] | None = None,
) -> str:
    """Return the text that a field shows for a stored reading, without its unit; empty for none."""
    detail = detail or {}
    if criterion.kind == "bend":
        if detail.get("openings") is not None:
            found = [figure(criterion, float(one)) for one in detail["openings"]]
            return ", ".join(found) or "0"
        largest = detail.get("largest", value)
        return "" if largest is None else figure(criterion, float(largest))
    if is_yes_or_no(criterion):
        for side, word in (("reaches", SMALL), ("within", LARGE)):
            if detail.get(side) is False:
                return word if word in choices(criterion) else NO
        passed = value >= 1 if passed is None and value is not None else passed
        return "" if passed is None else YES if passed else NO
    return "" if value is None else figure(criterion, value)


def figure(criterion: Criterion, value: float) -> str:
    """Return an SI value in the criterion's unit as a bare figure: 11/32, 27.5, 90."""
    unit = field_unit(criterion)
    if unit in ("in", "mm"):
        shown = show(Measure.of(value, "m"), system="us" if unit == "in" else "metric")
        if shown.unit == unit:
            return shown.figure
    return f"{value / float(SI.get(unit, Fraction(1))):.6g}"
