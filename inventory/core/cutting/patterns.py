"""The pattern of a sheet that is worth most at given values of the blanks: exact, in two stages.

A strip is as high as the widest blank in it, so the best strips of all heights come of one
knapsack that takes the blanks by rising height; a second one puts strips side by side
(P. C. Gilmore and R. E. Gomory, Operations Research 13 (1965) 94-120).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from .knapsack import Fill, Raster, best_fill
from .model import Cell, Floats, Ints, Pattern, Strip, Task, Way
from .problem import MOST_PIECES

OFFERS = 12  # patterns of a bar at a time


class Rows:
    """Strips of all heights that run one way."""

    def __init__(self, task: Task, upright: bool, generous: bool) -> None:
        ways = [way for sheet in task.sheets for way in sheet.ways if way.upright == upright]
        self.task = task
        self.lying = tuple(
            one for one in task.lying(upright) if any(task.fits(one, way) for way in ways)
        )
        self.highs: list[int] = []  # the heights of strips, rising
        self.ends: list[int] = []  # how many of `lying` go into a strip of that height
        for place, one in enumerate(self.lying):
            if not self.highs or self.highs[-1] != task.high(one):
                self.highs.append(task.high(one))
                self.ends.append(0)
            self.ends[-1] = place + 1
        kerf = task.kerf
        self.along = Raster(
            [(one.long + kerf, int(task.demand[one.kind]) // one.times) for one in self.lying],
            max(way.along for way in ways) + kerf,
            generous,
        )
        across = max(way.across for way in ways) + kerf
        self.across = Raster(
            [(high + kerf, across // (high + kerf)) for high in self.highs if high],
            across,
            generous,
        )

    def fill(self, values: Floats, left: Ints) -> Fill:
        """Return the best strips at these values, none with more of a kind than is `left`."""
        kerf = self.task.kerf
        return best_fill(
            self.along,
            (
                (
                    one.long + kerf,
                    int(left[one.kind]) // one.times,
                    values[one.kind : one.kind + 1] * one.times,
                )
                for one in self.lying
            ),
        )

    def usable(self, way: Way) -> int:
        """Return how many of `highs` a sheet that lies this way can have."""
        most = min(way.across, self.task.longest)
        return int(np.searchsorted(self.highs, most, side="right"))

    def worth(self, fill: Fill, ways: Sequence[Way]) -> Floats:
        """Return the value of the best strip, height by way, 0 where a lower one is as good."""
        places = [self.along.place(way.along + self.task.kerf) for way in ways]
        found = np.array([fill.tables[end - 1][0, places] for end in self.ends])
        found = found.reshape(len(self.ends), len(places))  # also where no blank fits
        for column, way in enumerate(ways):
            found[self.usable(way) :, column] = 0.0
        below = np.maximum.accumulate(found, axis=0)[:-1]
        found[1:][found[1:] <= below + 1e-12] = 0.0
        return found

    def stack(self, worth: Floats) -> Fill:
        """Return the best strips side by side, one row a way; `worth` as above."""
        kerf, capacity = self.task.kerf, int(self.across.points[-1])
        return best_fill(
            self.across,
            ((high + kerf, capacity, value) for high, value in zip(self.highs, worth, strict=True)),
            worth.shape[1],
        )

    def shorter(self, fill: Fill, way: Way) -> Iterator[tuple[float, Strip]]:
        """Yield good fills of a bar that do without its longest pieces, each with its value."""
        place, most = self.along.place(way.along + self.task.kerf), len(self.lying)
        for items in range(most, 0, -max(most // OFFERS, 1)):
            cells: list[Cell] = []
            for item, count in fill.counts(items, place):
                cells += [self.lying[item].cell(0)] * count
            yield fill.value(items, place), Strip(0, tuple(sorted(cells, reverse=True)))

    def strip(self, fill: Fill, height: int, along: int) -> Strip:
        """Return the best strip of the height with this place in `highs`."""
        cells: list[Cell] = []
        for item, count in fill.counts(self.ends[height], self.along.place(along + self.task.kerf)):
            cells += [self.lying[item].cell(self.task.kerf)] * count
        return Strip(self.highs[height], tuple(sorted(cells, reverse=True)))


class TwoStage:
    """Prices patterns of strips whose cells are single blanks; bars are one strip each."""

    def __init__(self, task: Task, *, generous: bool = False) -> None:
        self.task = task
        uprights = sorted({way.upright for sheet in task.sheets for way in sheet.ways})
        alike = all(kind.rotate or kind.length == kind.width for kind in task.kinds)
        rows = {upright: Rows(task, upright, generous) for upright in uprights}
        if alike and len(rows) == 2 and self._longest(False) >= self._longest(True):
            rows[True] = rows[False] if self._covers(rows[False], True) else rows[True]
        self.rows = rows

    def _longest(self, upright: bool) -> int:
        return max(way.along for s in self.task.sheets for way in s.ways if way.upright == upright)

    def _covers(self, rows: Rows, upright: bool) -> bool:
        """Whether rows that run one way hold all blanks that fit the other way too."""
        ways = [way for s in self.task.sheets for way in s.ways if way.upright == upright]
        across = max(way.across for way in ways) + self.task.kerf
        return int(rows.across.points[-1]) >= across and all(
            one in rows.lying
            for one in self.task.lying(upright)
            if any(self.task.fits(one, way) for way in ways)
        )

    @property
    def exact(self) -> bool:
        """Whether no fill was missed for want of positions."""
        return all(rows.along.exact and rows.across.exact for rows in self.rows.values())

    def generous(self) -> TwoStage:
        """Return the pricer whose ceilings hold where positions were left out."""
        return TwoStage(self.task, generous=True)

    def fills(self, values: Floats, left: Ints) -> dict[int, Fill]:
        found: dict[int, Fill] = {}
        for rows in self.rows.values():
            if id(rows) not in found:
                found[id(rows)] = rows.fill(values, left)
        return found

    def offers(self, values: Floats, left: Ints, prices: Sequence[float]) -> Iterator[Pattern]:
        """Yield the best pattern of each sheet each way it can lie, if worth more than its price.

        Of bars some more, which cost nothing to find.
        """
        wanted = [place for place, price in enumerate(prices) if price < np.inf]
        for rows, ways in self._ways(wanted):
            fill = rows.fill(values, left)
            if self.task.bars:
                for place, way in ways:
                    for value, strip in rows.shorter(fill, way):
                        if value > prices[place]:
                            yield Pattern(place, way, (strip,))
                continue
            stacked, tops = self._stacked(rows, ways, fill)
            for row, ((place, way), top) in enumerate(zip(ways, tops, strict=True)):
                if top > prices[place]:
                    yield self._pattern(place, way, rows, fill, stacked, row)

    def ceilings(self, values: Floats, left: Ints) -> Floats:
        """Return what no pattern of each sheet is worth more than."""
        found = np.zeros(len(self.task.sheets))
        for rows, ways in self._ways(range(len(self.task.sheets))):
            fill = rows.fill(values, left)
            if self.task.bars:
                tops = rows.worth(fill, [way for _, way in ways])[-1].tolist()
            else:
                _, tops = self._stacked(rows, ways, fill)
            for (place, _), top in zip(ways, tops, strict=True):
                found[place] = max(found[place], top)
        return found

    def _ways(self, sheets: Iterable[int]) -> Iterator[tuple[Rows, list[tuple[int, Way]]]]:
        """Yield the strips with the sheets, and how they lie, that are cut to them."""
        found: dict[Rows, list[tuple[int, Way]]] = {}
        for place in sheets:
            for way in self.task.sheets[place].ways:
                found.setdefault(self.rows[way.upright], []).append((place, way))
        yield from found.items()

    def _stacked(
        self, rows: Rows, ways: Sequence[tuple[int, Way]], fill: Fill
    ) -> tuple[Fill, list[float]]:
        """Return the best patterns, one row a way, and what they are worth."""
        stacked = rows.stack(rows.worth(fill, [way for _, way in ways]))
        places = [rows.across.place(way.across + self.task.kerf) for _, way in ways]
        most = len(rows.highs)
        return stacked, [stacked.value(most, place, row) for row, place in enumerate(places)]

    def _pattern(
        self, sheet: int, way: Way, rows: Rows, fill: Fill, stacked: Fill, row: int
    ) -> Pattern:
        place = rows.across.place(way.across + self.task.kerf)
        strips: list[Strip] = []
        room = MOST_PIECES  # more are never wanted, however many a sheet of dust could hold
        for height, count in stacked.counts(rows.usable(way), place, row):
            strip = rows.strip(fill, height, way.along)
            count = min(count, max(-(-room // len(strip.cells)), 0))
            room -= count * len(strip.cells)
            strips += [strip] * count
        return Pattern(sheet, way, tuple(sorted(strips, reverse=True)))

    def pack(self, sheet: int, way: Way, values: Floats, left: Ints) -> Pattern:
        """Fill one sheet strip by strip, never with more of a kind than is left."""
        return Pattern(sheet, way, self._packed(way, way.across, values, left.copy()))

    def refit(self, pattern: Pattern, values: Floats, left: Ints) -> Pattern:
        """Return `pattern` without what is no longer wanted, its strips filled up anew."""
        rows, left = self.rows[pattern.way.upright], left.copy()
        room, strips = pattern.way.across, []
        for strip in pattern.strips:
            cells = _take(strip.cells, left)
            if not cells:
                continue
            high = self.task.strip_high(cells)
            used = sum(cell.long + self.task.kerf for cell in cells)
            more = Way(pattern.way.upright, pattern.way.along - used, high)
            if len(cells) < len(strip.cells) and more.along > 0 and (ends := rows.usable(more)):
                fill = rows.fill(values, left)
                cells += _take(rows.strip(fill, ends - 1, more.along).cells, left)
            strips.append(Strip(high, tuple(sorted(cells, reverse=True))))
            room -= high + self.task.kerf
        rest = self._packed(pattern.way, room, values, left) if room > 0 else ()
        return replace(pattern, strips=tuple(sorted((*strips, *rest), reverse=True)))

    def _packed(self, way: Way, room: int, values: Floats, left: Ints) -> tuple[Strip, ...]:
        """Take from `left` strips that fill `room` across the sheet."""
        rows, strips = self.rows[way.upright], []
        while room > 0 or self.task.bars:
            fill = rows.fill(values, left)
            worth = rows.worth(fill, [Way(way.upright, way.along, room)])
            if not worth.any():
                break
            height, most = 0, 1
            if not self.task.bars:
                place = rows.across.place(room + self.task.kerf)
                height, most = max(rows.stack(worth).counts(len(worth), place))
            for _ in range(most):
                cells = _take(rows.strip(fill, height, way.along).cells, left)
                if not cells:
                    break
                high = self.task.strip_high(cells)
                strips.append(Strip(high, tuple(cells)))
                room -= high + self.task.kerf
            if not most or self.task.bars:
                break
        return tuple(sorted(strips, reverse=True))


def _take(cells: Sequence[Cell], left: Ints) -> list[Cell]:
    """Take from `left` the blanks of those cells that are still wanted."""
    found = []
    for cell in cells:
        wanted = Counter(blank.kind for blank in cell.blanks)
        if all(left[kind] >= count for kind, count in wanted.items()):
            found.append(cell)
            for kind, count in wanted.items():
                left[kind] -= count
    return found
