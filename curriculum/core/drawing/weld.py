"""Passes in a section: pictures of their order and place, sharing the true outline of the weld."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from .canvas import Canvas, Point, bulge

NUMBER_LARGEST, NUMBER_LEAST = 30.0, 12.0


def lay(canvas: Canvas, beads: Sequence[list[Point]], pass_no: int | None) -> None:
    """Draw passes in `beads` (welding order), each under the one before it.

    With `pass_no` that pass is solid, earlier ones are open, later ones dashed.
    """
    for number in range(len(beads), 0, -1):
        look = "f-weld"
        if pass_no is not None and number != pass_no:
            look = "f-done" if number < pass_no else "f-next"
        canvas.weld(beads[number - 1], cls=look)


def number(
    canvas: Canvas, count: int, places: Sequence[tuple[Point, float]], pass_no: int | None
) -> None:
    """Number the passes, each at its place in the room there is; one pass alone has no number."""
    if count < 2:
        return
    for index, ((x, y), room) in enumerate(places, start=1):
        size = min(NUMBER_LARGEST, room)
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


def corner_beads(
    corner: Point, first: Point, second: Point, count: int, rise: float | None
) -> tuple[list[list[Point]], list[tuple[Point, float]]]:
    """Split the triangle between two legs into passes of equal area, and say where numbers go.

    `first` and `second` are the legs as vectors from `corner`; passes run from the first to the
    second in each layer. `rise` is how far the face stands out of the chord (negative: hollow);
    None lets beads of several passes stand out a little.
    """
    beads, places = [], []
    laid = 0
    rows = layers(count)
    for row, width in enumerate(rows):
        inner, outer = math.sqrt(laid / count), math.sqrt((laid + width) / count)
        last = row == len(rows) - 1
        for place in range(width):
            low, high = place / width, (place + 1) / width

            def at(reach: float, along: float) -> Point:
                return (
                    corner[0] + reach * ((1 - along) * first[0] + along * second[0]),
                    corner[1] + reach * ((1 - along) * first[1] + along * second[1]),
                )

            start, end = at(outer, low), at(outer, high)
            chord = math.hypot(end[0] - start[0], end[1] - start[1])
            out = 0.1 * chord if count > 1 else 0.0
            if last and rise is not None:
                out = rise / width
            beads.append([at(inner, high), at(inner, low), *bulge(start, end, -out)])
            span = math.hypot(*(a - b for a, b in zip(at(inner, low), start, strict=True)))
            # Outward of the middle: the pass before lies over the inner part.
            reach = inner + 0.7 * (outer - inner) if inner else 0.65 * outer
            middle = at(reach, (low + high) / 2)
            places.append((middle, 0.75 * min(chord, span if inner else 0.6 * span)))
        laid += width
    return beads, places


def groove_beads(
    left: Sequence[Point],
    right: Sequence[Point],
    count: int,
    face: tuple[float, float],
    root: tuple[float, float],
) -> tuple[list[list[Point]], list[tuple[Point, float]]]:
    """Split a groove into layers of equal height from the root up.

    `left` and `right` are the edges of the plates from the root up. `face` and `root` each give
    how far the weld laps onto the plate and how far it stands out of it.
    """
    bottom, top = left[0][1], left[-1][1]
    beads, places = [], []
    for index in range(count):
        low = bottom + (top - bottom) * index / count
        high = bottom + (top - bottom) * (index + 1) / count
        dish = 0.12 * (low - high)
        (lx, _), (rx, _) = _at(left, low), _at(right, low)
        lower = bulge((lx, low), (rx, low), -dish)
        if index == 0:
            lower = bulge((lx - root[0], low), (rx + root[0], low), -root[1])
            lower = [(lx, low), *lower, (rx, low)]
        (tlx, _), (trx, _) = _at(left, high), _at(right, high)
        upper = bulge((tlx, high), (trx, high), -dish)
        if index == count - 1:
            crown = bulge((tlx - face[0], high), (trx + face[0], high), face[1])
            upper = [(tlx, high), *crown, (trx, high)]
        knees_right = [p for p in right if high < p[1] < low]
        knees_left = [p for p in left if high < p[1] < low]
        beads.append([*lower, *knees_right, *reversed(upper), *reversed(knees_left)])
        places.append((((lx + rx) / 2, (low + high) / 2 + dish / 2), 0.8 * (low - high)))
    return beads, places


def _at(edge: Sequence[Point], y: float) -> Point:
    """The point of an edge that runs upward, at height `y`."""
    for (x1, y1), (x2, y2) in itertools.pairwise(edge):
        if y2 <= y <= y1:
            share = (y1 - y) / (y1 - y2) if y1 != y2 else 0.0
            return (x1 + (x2 - x1) * share, y)
    return edge[-1]
