"""A cutting of just a few given sheets: two or three of them cut anew at a time.

A large neighbourhood search (P. Shaw, CP98, LNCS 1520 (1998) 417-431): what the other sheets do
not give is priced anew for those two or three, and their strips are laid as gives most of it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from .assemble import assemble
from .clock import Clock
from .dive import Cutting, Diver, cutting_of
from .master import Master
from .model import Floats, Ints, Pattern, Task
from .patterns import TwoStage

MOST_SHEETS = 14
FREED = 2  # sheets cut anew, now and then one more
MORE = 0.1  # how often
ROUNDS = 4  # of new patterns for them
EFFORT = 0.01  # of CP-SAT, in its own measure; some hundredths of a second
CLOSE = 1e-6
EVEN = 0.5  # of the mean waste; counted for each sheet beside its own when they are chosen
PATIENCE = 24  # steps without a gain before a fresh start


class Few:
    """The search on so many of each sheet; it may be gone on with."""

    def __init__(
        self, task: Task, pricer: TwoStage, counts: Sequence[int], rng: np.random.Generator
    ) -> None:
        self.task, self.pricer, self.rng = task, pricer, rng
        self.places = [place for place, count in enumerate(counts) for _ in range(count)]
        self.counts = dict(enumerate(counts))
        self.cut: list[Pattern | None] = []  # one a sheet
        self.counted: dict[Pattern | None, Ints] = {}
        self.idle = PATIENCE
        self.master = self._master()

    def why_not(self, clock: Clock) -> Floats | None:
        """Return values of the blanks at which these sheets are worth less than the demand."""
        self.master.ask(self.task.demand, self.counts)
        short, _, values, _ = self.master.generate(self.pricer, self.task.demand, clock.late)
        return values if short > CLOSE and not clock.late() else None

    def run(self, clock: Clock) -> Cutting | None:
        """Return a cutting that gives the whole demand, or None where the time was not enough."""
        while not clock.late():
            if self.idle >= PATIENCE:
                self._begin(clock)
            elif self._short(self.cut) > 0:
                self._cut_anew(clock)
            if self._short(self.cut) == 0:
                return cutting_of(self.task, Counter(one for one in self.cut if one))
        return None

    def _begin(self, clock: Clock) -> None:
        diver = Diver(self.task, self.pricer, self.master, self.master.costs)
        found = diver.dive(clock, limits=self.counts)
        by_place: dict[int, list[Pattern]] = {}
        for pattern in Counter(found.uses if found else ()).elements():
            by_place.setdefault(pattern.sheet, []).append(pattern)
        self.cut = [mine.pop() if (mine := by_place.get(place)) else None for place in self.places]
        self.idle, self.master = 0, self._master()

    def _cut_anew(self, clock: Clock) -> None:
        freed = min(FREED + (self.rng.random() < MORE), len(self.places))
        chosen = sorted(
            self.rng.choice(len(self.places), freed, replace=False, p=self._share()).tolist()
        )
        kept = [None if n in chosen else one for n, one in enumerate(self.cut)]
        left = self._left(kept)
        places = [self.places[n] for n in chosen]
        master, wanted = self._master(), Counter(places)
        master.ask(left, {place: wanted[place] for place in self.counts})
        for n in chosen:
            if one := self.cut[n]:
                master.add(one)
        master.generate(self.pricer, left, clock.late, ROUNDS)
        known, seconds = master.patterns, clock.left()
        found = assemble(self.task, known, places, left, effort=EFFORT, seconds=seconds)
        for n, one in zip(chosen, found, strict=True):
            kept[n] = one
        before, after = self._short(self.cut), self._short(kept)
        self.idle = 0 if after < before else self.idle + 1
        if after <= before:
            self.cut = kept

    def _share(self) -> Floats:
        """Return how likely each sheet is chosen: by what it wastes, and all a little."""
        sizes = np.array([float(self.task.sheets[place].size) for place in self.places]) * 1e-18
        used = np.array([float(self._counts(one) @ self.task.areas) for one in self.cut])
        waste = np.maximum(sizes - used, 0.0)
        share = waste + EVEN * max(waste.mean(), CLOSE * sizes.mean())
        return np.asarray(share / share.sum())

    def _master(self) -> Master:
        """Return a program that wants the blanks, each by its area give or take."""
        worth = self.task.areas * self.rng.uniform(0.7, 1.0, len(self.task.kinds))
        free: Floats = np.zeros(len(self.task.sheets))
        return Master(self.task, free, worth / worth.max())

    def _counts(self, pattern: Pattern | None) -> Ints:
        """Return the blanks of a pattern by kind, counted once."""
        if pattern not in self.counted:
            kinds = len(self.task.kinds)
            self.counted[pattern] = (
                np.zeros(kinds, np.int64) if pattern is None else pattern.counts(kinds)
            )
        return self.counted[pattern]

    def _left(self, cut: Sequence[Pattern | None]) -> Ints:
        return np.maximum(self.task.demand - sum(self._counts(one) for one in cut), 0)

    def _short(self, cut: Sequence[Pattern | None]) -> float:
        return float(self._left(cut) @ self.task.areas)
