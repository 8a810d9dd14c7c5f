"""The shapes of weld signs, in pixels: x along the reference line, y away from it.

An upright stands at x 0 and its slope or curve to the right of it, on either side of the line
(AWS A2.4:2020, 6.3; ISO 2553:2019 the same); an apex stands at x 0. The proportions are our own:
a groove is as wide as the figure inside it asks for. The edge weld's three strokes are from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from ..canvas import Point, bulge
from .face import HEIGHT, PAD

LEG = 54.0
STROKE = 58.0  # height of upright strokes
STEM = 22.0
DEEP = 62.0  # least depth of a groove's sign
DEEPEST = 92.0
ROOT = 10.0  # between a flat and a round where they touch


@dataclass(frozen=True, slots=True)
class Shape:
    """Strokes of a sign, what it takes, and where a figure stands inside it."""

    strokes: tuple[tuple[Point, ...], ...]
    left: float
    right: float
    deep: float
    inside: Point | None = None  # middle of the figure and its near edge; None: no room

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2


def _arc(centre: Point, radii: tuple[float, float], start: float, end: float) -> tuple[Point, ...]:
    """An elliptic arc between angles in degrees, 0 along the line and 90 away from it."""
    steps = 16
    angles = (math.radians(start + (end - start) * i / steps) for i in range(steps + 1))
    return tuple(
        (centre[0] + radii[0] * math.cos(a), centre[1] + radii[1] * math.sin(a)) for a in angles
    )


def dome(radius: float, middle: float = 0.0) -> tuple[Point, ...]:
    """A half circle on the line."""
    return _arc((middle, 0.0), (radius, radius), 180, 0)


def fillet(inner: float, partial: bool) -> Shape:
    return Shape((((0.0, 0.0), (0.0, LEG), (LEG, 0.0)),), 0.0, LEG, LEG)


def square(inner: float, partial: bool) -> Shape:
    half = max(10.0, inner / 2 + 8)
    strokes = tuple(((x, 0.0), (x, STROKE)) for x in (-half, half))
    return Shape(strokes, -half, half, STROKE, (0.0, 14.0))


def edge(inner: float, partial: bool) -> Shape:
    strokes = tuple(((x, 0.0), (x, STROKE)) for x in (-14.0, 0.0, 14.0))
    return Shape(strokes, -14.0, 14.0, STROKE)


def _opened(inner: float) -> tuple[float, float]:
    """Depth of a groove's sign and where the figure inside it begins."""
    deep = DEEP if not inner else min(DEEPEST, max(DEEP + 14, inner / 2 + 36))
    return deep, deep - HEIGHT


def vee(inner: float, partial: bool) -> Shape:
    """A V; on a stem (`partial`) where the plate is prepared through a part of its depth only."""
    deep, near = _opened(inner)
    stem = STEM if partial else 0.0
    half = (inner / 2 + PAD) * deep / near if inner else deep * 0.8
    strokes = [((-half, stem + deep), (0.0, stem), (half, stem + deep))]
    if stem:
        strokes.append(((0.0, 0.0), (0.0, stem)))  # type: ignore[arg-type]
    return Shape(tuple(strokes), -half, half, stem + deep, (0.0, stem + near))


def bevel(inner: float, partial: bool) -> Shape:
    deep, near = _opened(inner)
    stem = STEM if partial else 0.0
    slope = (inner + 2 * PAD) * deep / near if inner else deep * 0.9
    strokes = (((0.0, 0.0), (0.0, stem + deep)), ((0.0, stem), (slope, stem + deep)))
    room = slope * near / deep  # where the figure begins
    return Shape(strokes, 0.0, slope, stem + deep, (room / 2, stem + near))


def _curved(inner: float) -> tuple[float, float, float]:
    """Half width and depth of a curve, and where a figure begins that stands out of it a little."""
    depth, into = 44.0, 16.0
    width = math.sqrt(1 - (1 - into / depth) ** 2)
    return max(38.0, (inner / 2 + PAD) / width), depth, STEM + into


def u_groove(inner: float, partial: bool) -> Shape:
    half, depth, near = _curved(inner)
    curve = _arc((0.0, STEM + depth), (half, depth), 180, 360)
    deep = max(STEM + depth, near + HEIGHT if inner else 0.0)
    return Shape((((0.0, 0.0), (0.0, STEM)), curve), -half, half, deep, (0.0, near))


def j_groove(inner: float, partial: bool) -> Shape:
    half, depth, near = _curved(2 * inner)
    curve = _arc((0.0, STEM + depth), (half, depth), 270, 360)
    deep = max(STEM + depth, near + HEIGHT if inner else 0.0)
    return Shape((((0.0, 0.0), (0.0, deep)), curve), 0.0, half, deep, (PAD + inner / 2, near))


def flare(inner: float, partial: bool) -> Shape:
    curve = _arc((ROOT + 46.0, 0.0), (46.0, STROKE), 180, 90)
    return Shape((((0.0, 0.0), (0.0, STROKE)), curve), 0.0, ROOT + 46.0, STROKE)


def surfacing(inner: float, partial: bool) -> Shape:
    return Shape((dome(22.0, -22.0), dome(22.0, 22.0)), -44.0, 44.0, 22.0)


SHAPES: dict[str, Callable[[float, bool], Shape]] = {
    "square": square,
    "V": vee,
    "bevel": bevel,
    "U": u_groove,
    "J": j_groove,
    "flare bevel": flare,
    "fillet": fillet,
    "edge": edge,
    "surfacing": surfacing,
}
"""Strokes of a sign by its name; each takes the width of the figure inside and `partial`."""


def contour(kind: str, start: Point, end: Point) -> tuple[Point, ...]:
    """A contour sign from `start` to `end`, rightward: flat, or bulging away from or to the line.

    "blended" is the bulge with its toes turned outward.
    """
    if kind == "flush":
        return start, end
    # `bulge` bends to the left of the way with y downward, which is toward the line here.
    if kind in ("convex", "concave"):
        return tuple(bulge(start, end, -9.0 if kind == "convex" else 9.0))
    (x1, y1), (x2, y2) = start, end

    def at(share: float) -> Point:
        return (x1 + (x2 - x1) * share, y1 + (y2 - y1) * share)

    toes = bulge(at(0.0), at(0.22), 4.0), bulge(at(0.78), at(1.0), 4.0)
    return (*toes[0], *bulge(at(0.22), at(0.78), -9.0), *toes[1])
