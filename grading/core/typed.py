"""A reading as somebody typed it at the bench: "11/32", "0.35 in", "9 mm", "95", "3", "yes"."""

from __future__ import annotations

import math

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Criterion
from grading.core.verdict import Reading
from shared.units import UnitError, parse_measure

DIMENSION = {"in": "length", "mm": "length", "deg": "angle", "s": "time", "%": "fraction"}
HIGHEST = {"length": 10.0, "angle": 360.0, "time": 86_400.0, "fraction": 1.0}
COUNT_MAX = 10_000
GRADES = ("0", "1", "2", "3", "4")


def field_unit(criterion: Criterion) -> str:
    """Return the unit that stands beside the field and in which a bare number counts."""
    if criterion.kind == "share":
        return "%"
    if criterion.kind == "bend":
        return criterion.unit or "in"
    return criterion.unit if criterion.unit in DIMENSION else ""


def examples(criterion: Criterion) -> tuple[str, ...]:
    """Return what may be written for a criterion, as people write it."""
    if is_yes_or_no(criterion):
        return ("yes", "no")
    return {
        "share": ("95", "100 %"),
        "counted": ("0", "2"),
        "judged": ("0", "4"),
    }.get(
        criterion.kind,
        {
            "mm": ("8", "8.5 mm"),
            "deg": ("45", "42.5 deg"),
            "s": ("10", "10 s"),
        }.get(field_unit(criterion), ("11/32", "0.34 in", "9 mm")),
    )


def is_yes_or_no(criterion: Criterion) -> bool:
    """Return whether the reading is a gauge that goes, or a judgement of yes or no."""
    return criterion.kind == "gauge" or (criterion.kind == "judged" and criterion.unit != "0-4")


def read_typed(criterion: Criterion, text: str) -> Reading | None:
    """Return what was typed for a criterion in SI, or None for nothing but blanks.

    A bare number is in `field_unit`; a share is written in percent; of a bend the largest opening
    is written. Raises `UnitError`, which says what would be accepted.
    """
    text = text.strip()
    if not text:
        return None
    if is_yes_or_no(criterion):
        said = {"yes": True, "no": False}.get(text.casefold())
        if said is None:
            raise _refused(
                _("“%(got)s” is neither yes nor no. Write %(accepts)s."), criterion, text
            )
        return Reading(passed=said)
    if criterion.kind == "judged":
        if text not in GRADES:
            raise _refused(
                _("“%(got)s” is not a grade from 0 to 4. Write %(accepts)s."), criterion, text
            )
        return Reading(value=float(text))
    if criterion.kind == "counted":
        if not (text.isascii() and text.isdigit()) or int(text) > COUNT_MAX:
            raise _refused(_("“%(got)s” is no whole number. Write %(accepts)s."), criterion, text)
        return Reading(value=float(text))
    unit = field_unit(criterion) or "in"
    dimension = DIMENSION[unit]
    value = parse_measure(text, dimension, bare_unit=unit).value
    if not 0 <= value <= HIGHEST[dimension] or not math.isfinite(value):
        raise _refused(
            _("“%(got)s” lies outside what can be measured. Write %(accepts)s."), criterion, text
        )
    if criterion.kind == "bend":
        return Reading(detail={"openings": [value]})
    return Reading(value=value)


def _refused(template: str, criterion: Criterion, text: str) -> UnitError:
    return UnitError(template, got=text, accepts=examples(criterion))
