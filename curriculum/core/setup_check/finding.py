"""What a rule says, and what every rule reads it from."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from curriculum.core.defaults import table
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup
from shared.units import Measure, Range

Level = Literal["ok", "look", "outside"]

SAME_SIZE = 0.03  # nominal inch and millimetre sizes differ by up to 1.6 %: 1/16 in is 1.6 mm
IN_PER_MIN = 0.0254 / 60  # m/s
AMPS, VOLTS, METRES, FLOW, SECONDS, SHARE = "A", "V", "m", "m3/s", "s", "1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What one rule says of one setting: figure and limit in SI units, in a sentence.

    `value` and `limit` are None where the rule compares words (a gas, a polarity).
    `place` is empty for the setup's own setting, else "pass 2".
    """

    rule: str
    level: Level
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str
    message: _
    place: str = ""


Rule = Callable[[Exercise, Setup], Iterator[Finding]]


@cache
def rule_of(name: str) -> dict[str, Any]:
    """Return the figures of a rule, a section of `tables/rules.toml`."""
    found: dict[str, Any] = table("rules")[name]
    return found


def most(range_: Range) -> float:
    """Return the largest value of a range: its bound, else what it starts with."""
    return range_.working if range_.high is None else range_.high


def least(range_: Range) -> float:
    """Return the smallest value of a range: its bound, else what it starts with."""
    return range_.working if range_.low is None else range_.low


def same_size(size: float, nominal: float) -> bool:
    """Say whether two sizes above 0, in one unit, are of one nominal size."""
    return abs(size - nominal) <= SAME_SIZE * nominal


def length(metres: float) -> Figure:
    """Return a length in metres as it is said."""
    return Figure.of(metres, METRES)


def thick_as_said(metres: float, setup: Setup) -> Figure:
    """Return a thickness in metres as it is said, by gauge where it is one."""
    return Figure(Measure.of(metres, METRES), setup.metal)


def sheet(setup: Setup) -> Figure:
    """Return the setup's thickness as it is said, by gauge where it is one."""
    return Figure(setup.thickness, setup.metal)


def usual(
    rule: str,
    what: str,
    stated: Range | Measure,
    source: str,
    *,
    low: float | None = None,
    high: float | None = None,
    outside_over: float | None = None,
    advice: str = "",
) -> Finding:
    """Compare a setting with what is usual: outside it is looked at again, never refused.

    Parameters
    ----------
    rule, what, source : str
        The rule's name, the setting in words, where the bounds are from.
    stated : Range or Measure
        The setting, in SI.
    low, high : float or None
        The usual bounds in the same unit, None where that side is open. A bound itself is usual,
        and so is a length of its nominal size.
    outside_over : float or None
        Only where a limit is published: more than that is outside.
    advice : str
        What to do about it, said where the setting is not usual.
    """
    if isinstance(stated, Range):
        bottom, top = least(stated), most(stated)
        one_sided = stated.low is None or stated.high is None
    else:
        bottom = top = stated.value
        one_sided = False
    unit = stated.unit
    same = SAME_SIZE if unit == METRES else 1e-9
    level: Level = "ok"
    value, limit = (top, high) if high is not None else (bottom, low)
    if outside_over is not None and top > outside_over * (1 + 1e-9):
        level, value, limit, high = "outside", top, outside_over, outside_over
    elif high is not None and top > high * (1 + same):
        level, value, limit = "look", top, high
    elif low is not None and bottom < low * (1 - same):
        level, value, limit = "look", bottom, low
    figure = Figure.of(value, unit) if one_sided else Figure(stated)
    parts = {"what": what, "figure": figure}
    if low is not None and high is not None:
        bounds: str = Figure(Range.of(low, high, unit))
    elif high is not None:
        bounds = _("at most %(limit)s", limit=Figure.of(high, unit))
    else:
        bounds = _("at least %(limit)s", limit=Figure.of(low or 0.0, unit))
    said = {
        "ok": _("%(what)s %(figure)s is usual: %(bounds)s.", bounds=bounds, **parts),
        "look": _("%(what)s %(figure)s, usual is %(bounds)s.", bounds=bounds, **parts),
        "outside": _("%(what)s %(figure)s, allowed is %(bounds)s.", bounds=bounds, **parts),
    }[level]
    return Finding(
        rule=rule,
        level=level,
        value=value,
        limit=limit,
        unit=unit,
        source=source,
        message=_.join([said, "" if level == "ok" else advice]),
    )


def words(rule: str, level: Level, message: _, source: str) -> Finding:
    """Return a finding that compares words, without a figure."""
    return Finding(rule=rule, level=level, message=message, source=source)
