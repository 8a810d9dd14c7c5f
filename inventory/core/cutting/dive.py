"""Whole numbers of patterns, quickly: diving through the linear program, filling what is left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from .clock import Clock
from .master import Master
from .model import Cell, Floats, Ints, Lying, Pattern, Strip, Task, Way
from .patterns import TwoStage

NO_LIMIT = 2**31
ROUNDS = 12  # of new patterns after each fixing


@dataclass(frozen=True, slots=True)
class Cutting:
    """Patterns and how often each is cut, what that costs and what is short of the demand."""

    uses: Mapping[Pattern, int]
    cost: int
    short: Ints

    def key(self, task: Task) -> tuple[float, int]:
        """Return what makes one cutting better than another: less missing, then cheaper."""
        return float(self.short @ task.areas), self.cost


def limits_of(task: Task) -> dict[int, int]:
    """Return how many there are of each sheet."""
    return {
        place: NO_LIMIT if sheet.limit is None else sheet.limit
        for place, sheet in enumerate(task.sheets)
    }


def cutting_of(task: Task, uses: Mapping[Pattern, int]) -> Cutting:
    made = np.zeros(len(task.kinds), np.int64)
    for pattern, times in uses.items():
        made += pattern.counts(len(task.kinds)) * times
    cost = sum(task.sheets[pattern.sheet].price * times for pattern, times in uses.items())
    return Cutting(dict(uses), cost, np.maximum(task.demand - made, 0))


def fill_up(task: Task, costs: Floats, left: Ints, limits: dict[int, int]) -> Counter[Pattern]:
    """Cut one sheet after another, the cheapest for their size first, each strip by strip.

    The highest blank that fits begins a strip, what is as high or lower fills it: a cutting in no
    time, to begin with and where all time is spent. `left` and `limits` are used up.
    """
    uses: Counter[Pattern] = Counter()
    rates = [cost / sheet.size for cost, sheet in zip(costs, task.sheets, strict=True)]
    lying = {upright: task.lying(upright)[::-1] for upright in (False, True)}
    for place in np.argsort(rates).tolist():
        while limits[place] > 0 and left.any():
            patterns = [
                Pattern(place, way, tuple(_shelves(task, lying[way.upright], way, left.tolist())))
                for way in task.sheets[place].ways
            ]
            filled = [(pattern, pattern.counts(len(task.kinds))) for pattern in patterns]
            pattern, counts = max(filled, key=lambda one: float(one[1] @ task.areas))
            held = np.flatnonzero(counts)
            if not len(held):
                break
            times = min(int((left[held] // counts[held]).min()), limits[place])
            uses[pattern] += times
            left -= counts * times
            limits[place] -= times
    return uses


def _shelves(task: Task, lying: Sequence[Lying], way: Way, left: list[int]) -> Iterator[Strip]:
    """Yield strips for one sheet, lower and lower; `lying` goes from high to low."""
    room = way.across
    while True:
        cells: list[Cell] = []
        end, high = way.along + task.kerf, 0
        for one in lying:
            most = high if cells else min(room, task.longest)
            if task.high(one) > most:
                continue
            count = min(left[one.kind] // one.times, end // (one.long + task.kerf))
            if count > 0:
                high = max(high, task.high(one))
                cells += [one.cell(task.kerf)] * count
                left[one.kind] -= count * one.times
                end -= count * (one.long + task.kerf)
        if not cells:
            return
        yield Strip(high, tuple(sorted(cells, reverse=True)))
        room -= high + task.kerf
        if task.bars:
            return


class Diver:
    """Fixes patterns one after another and prices anew what is left."""

    def __init__(self, task: Task, pricer: TwoStage, master: Master, costs: Floats) -> None:
        self.task, self.pricer, self.master, self.costs = task, pricer, master, costs

    def dive(
        self,
        clock: Clock,
        *,
        limits: dict[int, int],
        most: float = np.inf,
        rng: np.random.Generator | None = None,
    ) -> Cutting | None:
        """Return a cutting, or None where it would cost `most` (as `costs` count) or more."""
        left, limits = self.task.demand.copy(), dict(limits)
        uses: Counter[Pattern] = Counter()
        spent = 0.0
        while left.any():
            if clock.late():
                uses += fill_up(self.task, self.costs, left, limits)
                break
            self.master.ask(left, limits)
            cost, used, values, _ = self.master.generate(self.pricer, left, clock.late, ROUNDS)
            if spent + cost > most - 1e-6:
                return None
            chosen = self._chosen(used, rng)
            before = uses.total()
            for place, times in chosen:
                pattern, counts = self.master.patterns[place], self.master.columns[place]
                times = min(times, limits[pattern.sheet])
                if (counts * times > left).any():
                    pattern, times = self._refit(pattern, values, left), 1
                    counts = pattern.counts(len(self.task.kinds))
                if not counts.any() or times <= 0:
                    continue
                uses[pattern] += times
                self.master.add(pattern)
                spent += float(self.costs[pattern.sheet]) * times
                left -= np.minimum(counts * times, left)
                limits[pattern.sheet] -= times
            if uses.total() == before:
                break
        return cutting_of(self.task, uses)

    def _chosen(self, used: Floats, rng: np.random.Generator | None) -> list[tuple[int, int]]:
        """Return the patterns to fix: all that are used whole times, else the fullest fraction."""
        wholes = np.floor(used + 1e-6).astype(int)
        if wholes.any():
            return [(int(place), int(wholes[place])) for place in np.flatnonzero(wholes)]
        weights = used if rng is None else used * rng.uniform(0.5, 1.0, len(used))
        place = int(np.argmax(weights)) if len(used) else 0
        return [(place, 1)] if len(used) and used[place] > 1e-6 else []

    def _refit(self, pattern: Pattern, values: Floats, left: Ints) -> Pattern:
        """Return the same sheet with what is still wanted, filled up anew."""
        worth = values + 1e-6 * self.task.areas / self.task.areas.max()
        kept = self.pricer.refit(pattern, worth, left)
        fresh = self.pricer.pack(pattern.sheet, pattern.way, worth, left)
        count = len(self.task.kinds)
        return max((kept, fresh), key=lambda one: float(one.counts(count) @ worth))
