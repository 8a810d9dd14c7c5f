"""Passes in a section: pictures of their order and place, together the true section of the weld."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from .canvas import Canvas, Point, bulge

NUMBER_LARGEST, NUMBER_LEAST = 30.0, 12.0
WIDEST_DIGIT = 0.6  # of its size

Beads = tuple[list[list[Point]], list[tuple[Point, float]]]
"""The outlines of the passes, and for each the middle and the room of its number."""


def lay(canvas: Canvas, beads: Sequence[list[Point]], pass_no: int | None) -> None:
    """Draw passes in `beads` (welding order), each under the one before it.

    With `pass_no` that pass is solid, earlier ones are open, later ones dashed.
    """
    for number in range(len(beads), 0, -1):
        if len(beads[number - 1]) > 2:
            canvas.weld(beads[number - 1], cls=look_of(number, pass_no))


def look_of(number: int, pass_no: int | None) -> str:
    """Return the class of a pass while `pass_no` is laid; None for the finished weld."""
    if pass_no in (None, number):
        return "f-weld"
    return "f-done" if number < (pass_no or 0) else "f-next"


def number(canvas: Canvas, places: Sequence[tuple[Point, float]], pass_no: int | None) -> None:
    """Number the passes, each at its place in the room there is; one pass alone has no number."""
    if len(places) < 2:
        return
    for index, ((x, y), room) in enumerate(places, start=1):
        size = min(NUMBER_LARGEST, room / (1 + 0.2 * (index > 9)))
        if size >= NUMBER_LEAST:
            cls = "on-weld" if pass_no in (None, index) else "strong"
            canvas.text((x, y + 0.36 * size), str(index), size=size, anchor="middle", cls=cls)


def layers(count: int) -> list[int]:
    """Split passes into layers of one, two, three … beads from the root outward.

    >>> layers(3), layers(6), layers(5)
    ([1, 2], [1, 2, 3], [1, 2, 2])
    """
    out: list[int] = []
    while sum(out) < count:
        out.append(min(len(out) + 1, count - sum(out)))
    return out


def fan_beads(
    root: Sequence[Point],
    face: Sequence[Point],
    count: int,
    *,
    crown: Sequence[Point] = (),
    under: Sequence[Point] = (),
) -> Beads:
    """Split what lies between a root (two points, or one twice) and a face into passes.

    `face` runs beside the root, first point by first point. The layers are copies of the face
    drawn in toward the root, each holding its share of the area as if its width grew evenly.
    `crown` is what stands out of the face, along it, and `under` of the root, the other way.
    """
    foot, wide = math.dist(root[0], root[-1]), math.dist(face[0], face[-1])
    beads: list[list[Point]] = []
    places: list[tuple[Point, float]] = []
    rows = layers(count)
    reach = [0.0, *(_reach(foot, wide, laid / count) for laid in itertools.accumulate(rows))]

    def at(high: float, along: float, line: Sequence[Point] = face) -> Point:
        (x1, y1), (x2, y2) = root
        (fx, fy), x, y = _along(line, along), x1 + (x2 - x1) * along, y1 + (y2 - y1) * along
        return (x + (fx - x) * high, y + (fy - y) * high)

    for row, width in enumerate(rows):
        inner, outer, last = reach[row], reach[row + 1], row + 1 == len(rows)
        # A bead stands out a little into what the next layer leaves.
        out = 0.0 if last else min(0.12, 0.6 * (reach[row + 2] - outer) / outer)
        outline = crown if last and crown else face
        for place in range(width):
            low, high = place / width, (place + 1) / width
            turns = _turns(len(outline), low, high)
            if out:
                turns = [low + (high - low) * k / 8 for k in range(9)]
            rim = [
                at(outer * (1 + out * 4 * (t - low) * (high - t) / (high - low) ** 2), t, outline)
                for t in turns
            ]
            sole = [at(inner, t) for t in _turns(len(face), low, high)]
            if not inner:
                sole = [root[0], *reversed(under), root[-1]]
            bead = [*rim, *reversed(sole)]
            beads.append(bead)
            # Outward of the middle: the pass before lies over the inner part.
            depth = inner + (0.6 if inner else 0.65 if foot < wide / 2 else 0.5) * (outer - inner)
            across = math.dist(at(depth, low), at(depth, high))
            middle = (low + high) / 2
            deep = math.dist(at(inner, middle), at(outer, middle, outline))
            room = min(0.75 * deep, 0.9 * across / WIDEST_DIGIT, 0.9 * math.sqrt(area(bead)))
            places.append((at(depth, middle, outline), room))
    return beads, places


def _along(line: Sequence[Point], along: float) -> Point:
    """The point of a polyline at a share of its number of stretches."""
    last = len(line) - 1
    k = min(int(along * last), last - 1)
    (ax, ay), (bx, by), rest = line[k], line[k + 1], along * last - k
    return (ax + (bx - ax) * rest, ay + (by - ay) * rest)


def _turns(points: int, low: float, high: float) -> list[float]:
    """Both ends of a stretch of a polyline and its points between, as shares."""
    shares = (k / (points - 1) for k in range(points))
    return [low, *(one for one in shares if low < one < high), high]


def area(ring: Sequence[Point]) -> float:
    """Area of a polygon, px²."""
    pairs = zip(ring, (*ring[1:], ring[0]), strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2


def _reach(foot: float, wide: float, share: float) -> float:
    """How far from root to face a share of the area reaches, where the width grows evenly."""
    if abs(wide - foot) < 1e-9:
        return share
    # foot * r + (wide - foot) * r^2 / 2 is the share of its value at r = 1.
    half = (wide - foot) / 2
    return (math.sqrt(foot**2 + 4 * half * share * (foot + half)) - foot) / (2 * half)


def groove_beads(
    left: Sequence[Point],
    right: Sequence[Point],
    count: int,
    face: Sequence[Point] = (),
    root: Sequence[Point] = (),
    *,
    even: bool = False,
) -> Beads:
    """Split a groove into layers of equal height from the root up, or `even`ly by area.

    `left` and `right` are the edges of the parts from the root up, in pixels. `face` and `root`
    run from left to right along what stands out there; nothing where it is flush.
    """
    low, high = left[0][1], left[-1][1]
    levels = [low + (high - low) * k / count for k in range(count + 1)]
    if even:
        levels = _even_levels(left, right, count)
    seams: list[list[Point]] = []
    for level in levels:
        (lx, _), (rx, _) = _at(left, level), _at(right, level)
        # A dish no steeper than the edges lean keeps clear of them.
        dish = 0.12 * min((low - high) / count, rx - lx)
        seams.append(bulge((lx, level), (rx, level), -dish) if rx > lx else [(lx, level)])
    seams[0] = [left[0], *root, right[0]]
    seams[-1] = [left[-1], *face, right[-1]]
    beads, places = [], []
    for lower, upper, (below, above) in zip(
        seams, seams[1:], itertools.pairwise(levels), strict=False
    ):
        up = [p for p in right if above < p[1] < below]
        down = [p for p in left if above < p[1] < below]
        beads.append([*lower, *up, *reversed(upper), *reversed(down)])
        middle = below + (0.65 if even else 0.5) * (above - below)
        (lx, _), (rx, _) = _at(left, middle), _at(right, middle)
        room = min((0.6 if even else 0.8) * (below - above), 0.9 * (rx - lx) / WIDEST_DIGIT)
        places.append((((lx + rx) / 2, middle), room))
    return beads, places


def _even_levels(left: Sequence[Point], right: Sequence[Point], count: int) -> list[float]:
    """Heights that split what lies between two edges into equal areas, from the root up."""
    steps = 64
    low, high = left[0][1], left[-1][1]
    heights = [low + (high - low) * k / steps for k in range(steps + 1)]
    widths = [_at(right, y)[0] - _at(left, y)[0] for y in heights]
    sums = [0.0, *itertools.accumulate(a + b for a, b in itertools.pairwise(widths))]
    levels, k = [low], 0
    for share in range(1, count):
        while sums[k + 1] < sums[-1] * share / count:
            k += 1
        rest = (sums[-1] * share / count - sums[k]) / (sums[k + 1] - sums[k])
        levels.append(heights[k] + (heights[k + 1] - heights[k]) * rest)
    return [*levels, high]


def _at(edge: Sequence[Point], y: float) -> Point:
    """The point of an edge that runs upward, at height `y`."""
    for (x1, y1), (x2, y2) in itertools.pairwise(edge):
        if y2 <= y <= y1:
            share = (y1 - y) / (y1 - y2) if y1 != y2 else 0.0
            return (x1 + (x2 - x1) * share, y)
    return edge[-1]
