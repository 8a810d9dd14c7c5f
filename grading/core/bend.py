"""The guided bend test: mandrel, outer fibre elongation, and what may open. Lengths in metres."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

TABLE = Path(__file__).resolve().parent.parent / "tables" / "bend.toml"
INCH, MM = 0.0254, 0.001
SLACK = 1e-9  # relative; an opening typed as the limit is within it


@cache
def _table() -> dict[str, Any]:
    with TABLE.open("rb") as file:
        return tomllib.load(file)


def _above_zero(**figures: float) -> None:
    for name, value in figures.items():
        if not 0 < value < math.inf:
            raise ValueError(f"{name} must be above 0 and finite, got {value}")


def outer_fibre_elongation(thickness: float, mandrel: float) -> float:
    """Return the elongation of the outer fibre, dimensionless: t / (D + t).

    `thickness` of the specimen and diameter of the `mandrel` in the same unit, above 0; else
    `ValueError`. Source: ASME IX 2010 QW-466.1.
    """
    _above_zero(thickness=thickness, mandrel=mandrel)
    return thickness / (mandrel + thickness)


def mandrel_diameter(thickness: float, elongation: float) -> float:
    """Return the mandrel diameter that stretches the outer fibre by `elongation` (0 to 1, open).

    The inverse of `outer_fibre_elongation`: D = t (1 / e - 1), in the unit of `thickness`.
    """
    _above_zero(thickness=thickness, elongation=elongation)
    if elongation >= 1:
        raise ValueError(f"elongation must be below 1, got {elongation}")
    return thickness * (1 / elongation - 1)


def plunger_diameter(yield_strength_pa: float) -> float:
    """Return the plunger diameter for a 3/8 in specimen, in metres, by yield strength in Pa.

    Source: AWS D1.1:2015 figure 4.11, from memory. Thinner specimens: `mandrel_diameter`.
    """
    _above_zero(yield_strength_pa=yield_strength_pa)
    rows = _table()["plunger"]
    # "345 and below" is the first band, "over 345 to 620" the second
    row = next(
        one for one in rows if yield_strength_pa <= one.get("yield_below_mpa", math.inf) * 1e6
    )
    return float(row["diameter"]["in"]) * INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class BendLimits:
    """What may open on one specimen, in metres."""

    largest: float
    sum: float
    counted_from: float  # openings up to this do not count in the sum
    corner: float
    corner_flaw: float
    source: str = ""

    @classmethod
    def published(cls, unit: str = "in") -> BendLimits:
        """Return the limits of AWS D1.1:2015 4.9.3.3 in its inch or its millimetre figures."""
        if unit not in ("in", "mm"):
            raise ValueError(f"unit must be in or mm, got {unit!r}")
        row, scale = _table()["acceptance"], INCH if unit == "in" else MM
        names = ("largest", "sum", "counted_from", "corner", "corner_flaw")
        return cls(**{name: row[name][unit] * scale for name in names}, source=row["code"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """What was seen on one specimen: openings (or their largest and sum) and the corner crack."""

    largest: float = 0.0
    sum: float = 0.0
    corner: float = 0.0
    corner_flaw: bool = False  # slag or a fusion flaw is seen in the corner crack

    @classmethod
    def of(cls, openings: Sequence[float], limits: BendLimits, **corner: Any) -> Bend:
        """Return the bend of single openings, each its greatest length."""
        if any(not 0 <= one < math.inf for one in openings):
            raise ValueError("an opening is 0 or more")
        counted = (
            one
            for one in openings
            if limits.counted_from * (1 + SLACK) < one <= limits.largest * (1 + SLACK)
        )
        return cls(largest=max(openings, default=0.0), sum=math.fsum(counted), **corner)

    @classmethod
    def from_detail(cls, detail: Mapping[str, Any], limits: BendLimits) -> Bend | None:
        """Return the bend of a stored reading, or None where it holds no figure.

        Keys: `openings` (list) or `largest` and `sum`, and `corner`, `corner_flaw`; metres.
        """
        corner: dict[str, Any] = {
            "corner": float(detail.get("corner") or 0.0),
            "corner_flaw": bool(detail.get("corner_flaw")),
        }
        openings = detail.get("openings")
        if openings is not None:
            return cls.of([float(one) for one in openings], limits, **corner)
        if detail.get("largest") is None and detail.get("corner") is None:
            return None
        largest = float(detail.get("largest") or 0.0)
        # One opening that is as large as counts is at least the sum.
        counted = largest if limits.counted_from < largest <= limits.largest else 0.0
        return cls(largest=largest, sum=max(float(detail.get("sum") or 0.0), counted), **corner)


@dataclass(frozen=True, slots=True)
class Exceeded:
    """One limit that was passed: its name (largest, sum, corner), the figure, the limit."""

    name: str
    figure: float
    limit: float


@dataclass(frozen=True, slots=True)
class BendResult:
    """What was exceeded; `replace` asks for another specimen instead of a verdict."""

    exceeded: tuple[Exceeded, ...]
    replace: bool = False


def judge_bend(bend: Bend, limits: BendLimits) -> BendResult:
    """Hold one bent specimen against the limits.

    A corner crack over the corner limit that shows no slag or fusion flaw is disregarded and a
    replacement specimen is tested (AWS D1.1:2015 4.9.3.3), unless something else fails already.
    """
    exceeded = [
        Exceeded(name, figure, limit)
        for name, figure, limit in (
            ("largest", bend.largest, limits.largest),
            ("sum", bend.sum, limits.sum),
        )
        if figure > limit * (1 + SLACK)
    ]
    over = bend.corner > (limits.corner_flaw if bend.corner_flaw else limits.corner) * (1 + SLACK)
    if over and bend.corner_flaw:
        exceeded.append(Exceeded("corner", bend.corner, limits.corner_flaw))
    return BendResult(tuple(exceeded), replace=over and not bend.corner_flaw and not exceeded)
