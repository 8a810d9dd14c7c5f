"""What a rule says, and what every rule reads it from."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, Literal

from curriculum.core.spec import Exercise, Setup
from shared.units import Range

Level = Literal["ok", "look", "outside"]

TABLES = Path(__file__).resolve().parents[2] / "tables"
SAME_SIZE = 0.03  # nominal inch and millimetre sizes differ by up to 1.6 %: 1/16 in is 1.6 mm
AMPS, METRES, FLOW, SECONDS, SHARE = "A", "m", "m3/s", "s", "1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What one rule says of one setting: figure and limit in SI units, in English for the reader.

    `value` and `limit` are None where the rule compares words (a gas, a polarity).
    `place` is empty for the setup's own setting, else "pass 2".
    """

    rule: str
    level: Level
    value: float | None
    limit: float | None
    unit: str
    source: str
    message: str
    place: str = ""


@cache
def table(name: str) -> dict[str, Any]:
    """Return a table of `curriculum/tables/` by its name without the ending."""
    return tomllib.loads((TABLES / f"{name}.toml").read_text(encoding="utf-8"))


def most(range_: Range) -> float:
    return range_.working if range_.high is None else range_.high


def least(range_: Range) -> float:
    return range_.working if range_.low is None else range_.low


def size(metres: float) -> str:
    """A diameter as it is said, inch and millimetres."""
    part = Fraction(round(metres / 0.0254 * 64), 64)
    named = abs(float(part) * 0.0254 - metres) < 1e-6 and part
    inch = f"{part} in" if named else f"{metres / 0.0254:.3f} in"
    return f"{inch} ({metres * 1000:.3g} mm)"


Rule = Callable[[Exercise, Setup], Iterator[Finding]]
