"""The search for the cheapest cutting of sheets or of bars, and for what none can undercut."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

import numpy as np

from .arrange import layouts_of
from .assemble import SEED
from .bound import Bound
from .choose import choose, near_best
from .clock import Clock
from .dive import Cutting, Diver, cutting_of, fill_up, limits_of
from .few import MOST_SHEETS, Few
from .master import Master
from .model import PRICE, Floats, Pattern, Task, task_of
from .patterns import TwoStage
from .plan import Layout, Unplaceable
from .problem import Problem
from .settle import settle, settle_few

NOMINAL = 1e-3  # what free stock costs the search, as a share of the usual price of its size
SETTLING = 0.1  # share of the time for gauge settings and remnants
BOUNDING = 0.4  # share of the time left for the bound of several sizes
FIRST = 0.3  # share of the time left for the cheapest counts of a few sheets
NEXT = 0.12  # and for each of the next
SLICE = 0.15  # s; for each of some counts in turn, then twice as long, and so on
WIDEN = 0.6  # s; where slices become so long, all other ways are tried too
AT_ONCE = 3.0  # s; no step takes longer, so that a search can be called off,
DECIDING = 30.0  # but for the one that decides about bars
MOST_LEVELS = 4  # costs between bound and best plan that are tried in turn
DIVES = 4  # at random, between two choices among all patterns
CLOSE = 1e-6

Better = Callable[[], bool]
Given = Callable[[Sequence[int]], Cutting | None]


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
        self.few: dict[tuple[int, ...], Few] = {}  # by counts of sheets

    @property
    def done(self) -> bool:
        return not self.best.short.any() and self.best.cost <= self.low

    def run(self, clock: Clock, better: Better) -> None:
        """Search until nothing can be cheaper, the time is over or `better` ends it."""
        self._raise_bound(clock)
        if better() or self.done:
            return
        several = len(self.task.sheets) > 1  # whose linear program of costs takes longer
        if several and self._are_few(self.counts) and self._of_few(clock, better):
            return
        self._of_many(clock, better)

    def _of_few(self, clock: Clock, better: Better) -> bool:
        """Try counts of a few sheets, the cheapest first, then halving the way from there."""
        if self._accept(self._laid(self.counts, clock.part(FIRST)), better):
            return True
        if self._halve(clock, better, lambda counts: self._laid(counts, clock.part(NEXT))):
            return True
        seconds = SLICE
        while seconds <= WIDEN and not clock.late():
            if self._in_turn(clock, seconds, better):
                return True
            seconds *= 2
        return self.done

    def _of_many(self, clock: Clock, better: Better) -> None:
        """Dive through the linear program of costs, and choose among its patterns."""
        task, master, limits = self.task, self.master, limits_of(self.task)
        diver = Diver(task, self.pricer, master, self.costs)
        values = master.generate(self.pricer, task.demand, clock.late)[2]
        enough = master.short_used < CLOSE
        if enough:
            self._raise_bound(clock, values)
            if better() or self.done:
                return
            at_bound = dict(enumerate(self.counts))
            if not task.bars and self._accept(diver.dive(clock, limits=at_bound), better):
                return
        if self._accept(diver.dive(clock, limits=limits), better):
            return
        if enough and len(task.sheets) > 1 and not self._are_few(self.counts):

            def given(counts: Sequence[int]) -> Cutting | None:
                return diver.dive(clock, limits=dict(enumerate(counts)))

            if self._halve(clock, better, given):
                return
        decide = enough and task.bars and len(task.sheets) == 1
        if decide and self._accept(self._of_all_near(values, clock), better):
            return
        seconds = WIDEN
        while not clock.late():
            if not self.best.short.any() and self._accept(self._chosen(clock, seconds), better):
                return
            for _ in range(DIVES):
                most = np.inf if self.best.short.any() else self._spent()
                found = diver.dive(clock, limits=limits, most=most, rng=self.rng)
                if self._accept(found, better):
                    return
            if self._in_turn(clock, seconds, better):
                return
            for counts in self._between(clock):
                most, these = self._spent(), dict(enumerate(counts))
                found = diver.dive(clock, limits=these, most=most, rng=self.rng)
                if self._accept(found, better):
                    return
            seconds = min(2 * seconds, AT_ONCE)

    def _in_turn(self, clock: Clock, seconds: float, better: Better) -> bool:
        """Try each of some counts cheaper than the best plan for so long."""
        for counts in self._between(clock):
            until = Clock(seconds, clock)
            if self._accept(self._laid(counts, until), better):
                return True
        return self.done

    def settle(self, clock: Clock) -> None:
        """At the same cost, look for fewer settings and a larger remnant."""
        if self.best.short.any() or clock.late():
            return
        seconds, patterns = min(clock.left(), AT_ONCE), self.master.patterns
        uses, columns, cost = self.best.uses, self.master.columns, self.best.cost
        if self._are_few([sum(uses.values())]):
            found = settle_few(self.task, patterns, uses, seconds=seconds)
        else:
            found = settle(self.task, patterns, columns, uses, cost=cost, seconds=seconds)
        self.best = cutting_of(self.task, found)

    def _accept(self, found: Cutting | None, better: Better) -> bool:
        """Keep a better cutting; whether the search is over."""
        if found is not None and found.key(self.task) < self.best.key(self.task):
            self.best = found
        return better() or self.done

    def _spent(self) -> float:
        return sum(self.costs[one.sheet] * times for one, times in self.best.uses.items())

    def _raise_bound(self, clock: Clock, values: Floats | None = None) -> None:
        """Make out what cannot be undercut, also by these values of the blanks."""
        if self.bound is None:
            self.bound = Bound(self.task, self.pricer)
        if values is not None:
            self.bound.add(values)
        if len(self.task.sheets) > 1 and self.bound.counts:
            until = clock.part(BOUNDING)
            for pattern in self.bound.raise_it(self.master.patterns, until.late).patterns:
                self.master.add(pattern)
        self.low, self.counts = self.bound.cost, self.bound.counts

    def _halve(self, clock: Clock, better: Better, given: Given) -> bool:
        """Try counts of sheets whose cost lies between bound and best plan, halving the way."""
        low = self.low
        while self.bound and not clock.late():
            middle = (low + self.best.cost + 1) // 2
            counts = self._cheaper(middle) or self._cheaper(low + 1)
            if counts is None:
                break
            price = self.bound.price(counts)
            if self._accept(given(counts), better):
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

    def _are_few(self, counts: Sequence[int]) -> bool:
        return not self.task.bars and 0 < sum(counts) <= MOST_SHEETS

    def _laid(self, counts: Sequence[int], clock: Clock) -> Cutting | None:
        """Look for a cutting of just these few sheets, from where the last look ended."""
        if not self.bound or not self._are_few(counts):
            return None
        if (few := self.few.get(tuple(counts))) is None:
            few = Few(self.task, self.pricer, counts, self.rng)
            values = few.why_not(clock)
            if values is not None:
                self.bound.add(values)
                self.low, self.counts = self.bound.cost, self.bound.counts
                return None
            self.few[tuple(counts)] = few
        return few.run(clock)

    def _chosen(self, clock: Clock, seconds: float) -> Cutting | None:
        uses, _ = choose(
            self.task,
            self.master.patterns,
            self.master.columns,
            seconds=min(clock.left(), seconds),
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
            seconds=min(clock.left(), DECIDING),
            floor=self.low,
            exactly=True,
        )
        dearer = uses is None or price * sum(uses.values()) > self.low
        if decided and dearer:
            self.low += price
        return cutting_of(self.task, uses) if uses else None


class Half:
    """Either the sheets or the bars of a problem, with what of it is impossible."""

    def __init__(self, problem: Problem) -> None:
        self.machine = problem.machine
        task, self.impossible = task_of(problem)
        self.search = None if task is None else Search(task)
        self._laid_out: tuple[Cutting, list[Layout]] | None = None

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
        best = self.search.best
        if self._laid_out is None or self._laid_out[0] is not best:
            task, _ = shortened(self.search.task, best)
            self._laid_out = best, layouts_of(task, self.machine, best.uses)
        return self._laid_out[1]

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
