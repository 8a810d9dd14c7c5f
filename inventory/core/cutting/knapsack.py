"""What fills a length best: the knapsack under both stages of a pattern, in numpy.

A blank of length l takes l + kerf of a length L + kerf, so that n blanks take n - 1 kerfs.
Positions are the sums that the pieces can reach. Where these are too many, some are left out and
a position between two counts as the lower one: a fill stays possible, and may miss a better one;
`generous` counts it as the higher one, which no fill beats: that is for bounds.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .model import Floats, Ints

Bools = NDArray[np.bool_]
MOST_POINTS = 6_000
MOST_CELLS = 3_000_000  # of the tables of all multiples


def multiples(count: int) -> list[int]:
    """Return powers of two whose partial sums are exactly 0 to `count`."""
    found, step = [], 1
    while step <= count:
        found.append(step)
        count -= step
        step *= 2
    while count:
        step = 1 << (count.bit_length() - 1)
        found.append(step)
        count -= step
    return found


class Raster:
    """The positions up to `capacity`, nm, that pieces of these weights, nm, can reach."""

    def __init__(self, weights: Iterable[tuple[int, int]], capacity: int, generous: bool) -> None:
        pairs = sorted(
            ((w, min(n, capacity // w)) for w, n in weights if w <= capacity), reverse=True
        )
        steps = sum(len(multiples(count)) for _, count in pairs)
        most = max(min(MOST_POINTS, MOST_CELLS // max(steps, 1)), 200)
        self.points, self.exact = _reachable(pairs, capacity, most)
        self.generous = generous and not self.exact
        self._steps: dict[int, tuple[int, Ints]] = {}

    def step(self, weight: int) -> tuple[int, Ints]:
        """Return the first place that holds `weight` and, from there on, where taking it leads."""
        if weight not in self._steps:
            first = int(np.searchsorted(self.points, weight))
            rest = self.points[first:] - weight
            if self.generous:
                back = np.searchsorted(self.points, rest)
            else:
                back = np.searchsorted(self.points, rest, side="right") - 1
            self._steps[weight] = first, back
        return self._steps[weight]

    def place(self, position: int) -> int:
        """Return the place that stands for a capacity."""
        if self.generous:
            return min(int(np.searchsorted(self.points, position)), len(self.points) - 1)
        return int(np.searchsorted(self.points, position, side="right")) - 1


def _reachable(pairs: Sequence[tuple[int, int]], capacity: int, most: int) -> tuple[Ints, bool]:
    points = np.zeros(1, np.int64)
    for weight, count in pairs:
        for multiple in multiples(count):
            more = points + multiple * weight
            points = np.union1d(points, more[more <= capacity])
            if len(points) > most:
                even = np.linspace(0, capacity, most).astype(np.int64)
                return np.unique(np.append(even, [weight for weight, _ in pairs])), False
    return np.union1d(points, [capacity]), True


@dataclass(slots=True)
class Fill:
    """The best fills by the first so many items, at every position, for each row of values."""

    raster: Raster
    tables: list[Floats] = field(default_factory=list)  # after each item, row by position
    taken: list[list[tuple[int, int, Bools]]] = field(default_factory=list)

    def value(self, items: int, place: int, row: int = 0) -> float:
        """Return the value of the best fill by the first `items` items."""
        return float(self.tables[items - 1][row, place]) if items else 0.0

    def counts(self, items: int, place: int, row: int = 0) -> list[tuple[int, int]]:
        """Return the best fill: pairs of item and how many of it."""
        found = []
        for item in range(items - 1, -1, -1):
            count = 0
            for multiple, weight, better in reversed(self.taken[item]):
                first, back = self.raster.step(weight)
                if place >= first and better[row, place - first]:
                    count += multiple
                    place = int(back[place - first])
            if count:
                found.append((item, count))
        return found


def best_fill(raster: Raster, items: Iterable[tuple[int, int, Floats]], rows: int = 1) -> Fill:
    """Fill all positions of `raster`, item after item: weight, nm, count and value of one.

    The value is one for each of `rows` fills that are made at once.
    """
    fill = Fill(raster)
    table = np.zeros((rows, len(raster.points)))
    longest = int(raster.points[-1])
    for weight, count, values in items:
        taken: list[tuple[int, int, Bools]] = []
        count = min(count, longest // weight)
        if count > 0 and values.any():
            table = table.copy()
            each = values[:, None]
            for multiple in multiples(count):
                first, back = raster.step(multiple * weight)
                offered = table.take(back, axis=1)
                offered += multiple * each
                kept = table[:, first:]
                better = offered > kept
                np.maximum(kept, offered, out=kept)
                taken.append((multiple, multiple * weight, better))
        fill.tables.append(table)
        fill.taken.append(taken)
    return fill
