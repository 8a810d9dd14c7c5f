"""What a criterion allows on one thickness, for sheets and paper."""

from __future__ import annotations

import math
from dataclasses import dataclass

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Criterion
from shared.units import Measure, Range

GRADES = 4  # judged from 0 to 4
HUNDREDTH_MM = 5  # digits of a length in metres: no weld gauge reads finer


@dataclass(frozen=True, slots=True)
class Allowed:
    """A limit as it is shown: a `range` of lengths, angles or times, one `bound`, or words.

    `word` stands before the bound ("at most"), or is all there is ("none"); `note` explains.
    """

    word: str = ""
    bound: Measure | None = None
    range: Range | None = None
    note: str = ""


def highest(criterion: Criterion, thickness: float | None) -> float | None:
    """Return the upper limit of `criterion`, in its SI unit, on metal of `thickness` in metres.

    One that grows with the plate is the smaller of max + per_thickness × thickness and cap, as in
    the formulas of ISO 5817; a max that is not stated is then 0. None is no upper limit. Raises
    `ValueError` where the limit grows with the thickness and none above 0 is given.
    """
    high = criterion.max.value if criterion.max else None
    if criterion.per_thickness is None:
        return high
    if thickness is None or not 0 < thickness < math.inf:
        raise ValueError(f"{criterion.name} needs a thickness above 0, got {thickness}")
    grown = (high or 0.0) + criterion.per_thickness * thickness
    return grown if criterion.cap is None else min(grown, criterion.cap.value)


def allowed(criterion: Criterion, thickness: Measure) -> Allowed:
    """Return the limit of `criterion` on metal of `thickness`; raises as `highest` does."""
    low, high, note = criterion.min, criterion.max, ""
    if criterion.per_thickness is not None:
        grown = highest(criterion, thickness.value)
        if criterion.cap is not None and grown == criterion.cap.value:
            high = criterion.cap
        elif grown is not None:
            high = Measure.of(round(grown, HUNDREDTH_MM) or grown, "m")
        note = _("grows with the thickness")
    if criterion.kind in ("share", "counted", "judged"):
        return _counted(criterion, low, high)
    if low is not None and high is not None:
        if low.value == high.value:
            return Allowed(bound=high, note=note)
        return Allowed(range=_joined(low, high), note=note)
    if low is not None:
        return Allowed(_("at least"), low, note=note)
    if high is not None:
        if high.value == 0:
            return Allowed(_("none"))
        each = _("each opening at most") if criterion.kind == "bend" else _("at most")
        return Allowed(each, high, note=note)
    if criterion.kind == "bend":
        return Allowed(_("openings by the bend rule"))
    return Allowed(_("fits the gauge"))


def _joined(low: Measure, high: Measure) -> Range:
    """Return a range that remembers what was typed, where it reads as one."""
    typed = f"{low.typed} to {high.typed}" if low.typed and high.typed else ""
    return Range(low.value, high.value, None, low.unit, typed)


def _counted(criterion: Criterion, low: Measure | None, high: Measure | None) -> Allowed:
    if criterion.unit == "yes/no":
        return Allowed(_("yes"))

    def said(measure: Measure) -> str:
        if criterion.kind == "share":
            return f"{measure.value * 100:.4g} %"
        if criterion.kind == "judged":
            return _("%(grade)s of %(best)s", grade=f"{measure.value:g}", best=GRADES)
        return f"{measure.value:g}"

    if criterion.kind == "judged" and high is not None and high.value >= GRADES:
        high = None
    if low is not None and high is not None:
        if low.value == high.value:
            return Allowed(said(high) if high.value else _("none"))
        return Allowed(_("%(low)s to %(high)s", low=said(low), high=said(high)))
    if low is not None:
        return Allowed(_("at least %(low)s", low=said(low)))
    if high is not None:
        return Allowed(_("at most %(high)s", high=said(high)) if high.value else _("none"))
    return Allowed(_("4 of 4") if criterion.kind == "judged" else _("yes"))
