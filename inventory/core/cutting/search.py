"""The search for the cheapest cutting of sheets or of bars, and for what none can undercut."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

import numpy as np

from .arrange import layouts_of
from .assemble import MOST_SHEETS, assemble
from .bound import Bound
from .choose import choose, near_best
from .clock import Clock
from .dive import Cutting, Diver, cutting_of, fill_up, limits_of
from .master import Master
from .model import PRICE, Floats, Pattern, Task, task_of
from .patterns import TwoStage
from .plan import Layout, Unplaceable
from .problem import Problem
from .settle import settle

SEED = 20260907
NOMINAL = 1e-3  # what free stock costs the search, as a share of the usual price of its size
SETTLING = 0.2  # share of the time for gauge settings and remnants
CHOOSING = 0.5  # share of the time left for one choice among all patterns
BOUNDING = 0.4  # share of the time for the bound of several sizes
LAYING = 0.15  # share of the time left for one attempt to lay strips on given sheets
AT_ONCE = 10.0  # s; no step takes longer, so that a search can be called off
MOST_LEVELS = 6  # costs between bound and best plan that are tried in one round
DIVES = 4  # at random, between two choices among all patterns
CLOSE = 1e-6

Better = Callable[[], bool]


class Search:
    """The search on one task; a cutting is there from the start."""

    def __init__(self, task: Task, uses: Mapping[Pattern, int] | None = None) -> None:
        self.task, self.costs, self.pricer = task, search_costs(task), TwoStage(task)
        if uses is None:
            left, limits = task.demand.copy(), limits_of(task)
            uses = fill_up(task, self.costs, left, limits)
        self.best = cutting_of(task, uses)
        self.low = 0  # the bound, ten-thousandths
        self.counts: list[int] = []  # of the sheets, at the bound
        self.bound: Bound | None = None
        self.rng = np.random.default_rng(SEED)
        self.master = Master(task, self.costs)
        for pattern in uses:
            self.master.add(pattern)

    @property
    def done(self) -> bool:
        return not self.best.short.any() and self.best.cost <= self.low

    def run(self, clock: Clock, better: Better) -> None:
        """Search until nothing can be cheaper, the time is over or `better` ends it."""
        task, master, limits = self.task, self.master, limits_of(self.task)
        diver = Diver(task, self.pricer, master, self.costs)
        values = master.generate(self.pricer, task.demand, clock.late)[2]
        enough = master.short_used < CLOSE
        if enough:
            self._raise_bound(values, clock)
            if better() or self.done:
                return
        if enough and self._accept(self._given(self.counts, diver, clock), better):
            return
        few = enough and not task.bars and 0 < sum(self.counts) <= MOST_SHEETS
        if few and self._halve(diver, clock, better):  # ahead of a dive, which takes longer
            return
        if self._accept(diver.dive(clock, limits=limits), better):
            return
        if enough and task.bars and len(task.sheets) == 1:
            cutting = self._of_all_near(values, clock)
            if self._accept(cutting, better):
                return
        if len(task.sheets) > 1 and enough and not few and self._halve(diver, clock, better):
            return
        while not clock.late() and not better():
            levels = list(self._between(clock))
            for counts in levels:
                if self._accept(self._laid(counts, clock), better):
                    return
                at_most, most = _at_most(counts), self._spent()
                found = diver.dive(clock, limits=at_most, most=most, rng=self.rng)
                if self._accept(found, better):
                    return
            if few and levels:
                continue
            if not self.best.short.any() and self._accept(self._chosen(clock), better):
                return
            for _ in range(DIVES):
                most = np.inf if self.best.short.any() else self._spent()
                found = diver.dive(clock, limits=limits, most=most, rng=self.rng)
                if self._accept(found, better):
                    return

    def settle(self, clock: Clock) -> None:
        """At the same cost, look for fewer settings and a larger remnant."""
        if self.best.short.any() or clock.late():
            return
        uses = settle(
            self.task,
            self.master.patterns,
            self.master.columns,
            self.best.uses,
            cost=self.best.cost,
            seconds=min(clock.left(), AT_ONCE),
        )
        self.best = cutting_of(self.task, uses)

    def _accept(self, found: Cutting | None, better: Better) -> bool:
        """Keep a better cutting; whether the search is over."""
        if found is not None and found.key(self.task) < self.best.key(self.task):
            self.best = found
            return better() or self.done
        return self.done

    def _spent(self) -> float:
        return sum(self.costs[one.sheet] * times for one, times in self.best.uses.items())

    def _raise_bound(self, values: Floats, clock: Clock) -> None:
        self.bound = bound = Bound(self.task, self.pricer)
        bound.add(values)
        if len(self.task.sheets) > 1 and bound.counts:
            until = clock.part(BOUNDING)
            for pattern in bound.raise_it(self.master.patterns, until.late).patterns:
                self.master.add(pattern)
        self.low, self.counts = bound.cost, bound.counts

    def _halve(self, diver: Diver, clock: Clock, better: Better) -> bool:
        """Try counts of sheets whose cost lies between bound and best plan, halving the way."""
        low = self.low
        while self.bound and not clock.late():
            middle = (low + self.best.cost + 1) // 2
            counts = self._cheaper(middle) or self._cheaper(low + 1)
            if counts is None:
                break
            price = self.bound.price(counts)
            if self._accept(self._given(counts, diver, clock), better):
                return True
            if self.best.cost > price:
                low = price
        return self.done

    def _cheaper(self, at_least: int) -> list[int] | None:
        """Return the cheapest counts that may do, cost so much and less than the best plan."""
        if self.bound is None or self.best.short.any():
            return None
        counts = self.bound.cheapest(at_least)
        dear = counts is None or self.bound.price(counts) >= self.best.cost
        return None if dear else counts

    def _between(self, clock: Clock) -> Iterator[list[int]]:
        """Yield counts that are cheaper than the best plan, one of each cost, cheapest first."""
        at_least = 0
        for _ in range(MOST_LEVELS):
            if clock.late() or not self.bound or not (counts := self._cheaper(at_least)):
                return
            yield counts
            at_least = self.bound.price(counts) + 1

    def _given(self, counts: Sequence[int], diver: Diver, clock: Clock) -> Cutting | None:
        """Look for a cutting of just these sheets."""
        if not counts:
            return None
        if self.task.bars or sum(counts) > MOST_SHEETS:
            return diver.dive(clock, limits=_at_most(counts))
        return self._laid(counts, clock)

    def _laid(self, counts: Sequence[int], clock: Clock) -> Cutting | None:
        """Lay strips on just these sheets: of patterns that would do if fractions were cut."""
        task = self.task
        if not self.bound or sum(counts) > MOST_SHEETS:
            return None
        worth = task.areas * self.rng.uniform(0.7, 1.0, len(task.kinds))
        master = Master(task, np.zeros(len(task.sheets)), worth / worth.max())
        master.ask(task.demand, dict(enumerate(counts)))
        short, _, values, _ = master.generate(self.pricer, task.demand, clock.late)
        if short > CLOSE:
            if not clock.late():
                self.bound.add(values)
                self.low, self.counts = self.bound.cost, self.bound.counts
            return None
        seconds = min(LAYING * clock.left(), AT_ONCE)
        uses = assemble(task, master.patterns, counts, seconds)
        return cutting_of(task, uses) if uses else None

    def _chosen(self, clock: Clock) -> Cutting | None:
        uses, _ = choose(
            self.task,
            self.master.patterns,
            self.master.columns,
            seconds=min(CHOOSING * clock.left(), AT_ONCE),
            floor=self.low,
        )
        return cutting_of(self.task, uses) if uses else None

    def _of_all_near(self, values: Floats, clock: Clock) -> Cutting | None:
        """Decide whether the bound can be had, by all patterns that such a plan could use."""
        price = self.task.sheets[0].price
        if not price or not self.pricer.exact:
            return None
        spare = self.low / price - float(values @ self.task.demand)
        near = near_best(self.task, self.pricer, values, 1.0 - spare - CLOSE)
        if not near:
            return None
        columns = [one.counts(len(self.task.kinds)) for one in near]
        uses, decided = choose(
            self.task,
            near,
            columns,
            seconds=min(clock.left(), AT_ONCE),
            floor=self.low,
            exactly=True,
        )
        dearer = uses is None or price * sum(uses.values()) > self.low
        if decided and dearer:
            self.low += price
        return cutting_of(self.task, uses) if uses else None


def _at_most(counts: Sequence[int]) -> dict[int, int]:
    return dict(enumerate(counts))


class Half:
    """Either the sheets or the bars of a problem, with what of it is impossible."""

    def __init__(self, problem: Problem) -> None:
        self.machine = problem.machine
        task, self.impossible = task_of(problem)
        self.search = None if task is None else Search(task)

    @property
    def bound(self) -> Decimal:
        return Decimal(self.search.low if self.search else 0) / PRICE

    @property
    def left_out(self) -> list[Unplaceable]:
        """Return what no stock can give, and what the stock does not do for."""
        if self.search is None:
            return self.impossible
        return self.impossible + shortened(self.search.task, self.search.best)[1]

    def layouts(self) -> list[Layout]:
        """Return the best cutting so far as layouts."""
        if self.search is None:
            return []
        task, _ = shortened(self.search.task, self.search.best)
        return layouts_of(task, self.machine, self.search.best.uses)

    def run(self, clock: Clock, better: Better) -> None:
        """Use up the time; a true answer of `better` ends the search."""
        if self.search is None:
            return
        self.search.run(clock.part(1 - SETTLING), better)
        best = self.search.best
        if best.short.any() and best.uses:
            # The bound is that of what is cut: nobody can say what the rest would have cost.
            task, short = shortened(self.search.task, best)
            self.impossible = self.impossible + short
            self.search = Search(task, best.uses)
            self.search.run(clock.part(1 - SETTLING), better)
        self.search.settle(clock)


def search_costs(task: Task) -> Floats:
    """Return what a sheet of each size costs the search, of the dearest as 1.

    Free stock is given a little, by its size, so that no more of it is cut up than need be.
    """
    prices = np.array([float(sheet.price) for sheet in task.sheets])
    sizes = np.array([float(sheet.size) for sheet in task.sheets])
    paid = prices > 0
    rate = float((prices[paid] / sizes[paid]).min()) * NOMINAL if paid.any() else 1.0
    costs = np.where(paid, prices, sizes * rate)
    return np.asarray(costs / costs.max())


def shortened(task: Task, cutting: Cutting) -> tuple[Task, list[Unplaceable]]:
    """Return the task without what is short, and that by the pieces it was for."""
    kinds, left_out = [], []
    for kind, short in zip(task.kinds, cutting.short.tolist(), strict=True):
        rows = []
        for row in reversed(kind.rows):
            gone = min(short, row.count)
            short -= gone
            if gone:
                left_out.append(Unplaceable(piece=row.id, count=gone, reason="stock"))
            rows.append(replace(row, count=row.count - gone))
        kinds.append(replace(kind, rows=tuple(reversed(rows))))
    return replace(task, kinds=tuple(kinds)), left_out
