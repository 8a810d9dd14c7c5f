"""What no plan can undercut.

At any values of the blanks, a sheet yields at most the value of its best pattern, so the sheets of
a plan must together be worth the demand: a knapsack over how many of each size are cut. Values are
added until those counts satisfy the linear program (J. F. Benders, Numerische Mathematik 4 (1962)
238-252); with one size that is the linear program rounded up to whole sheets.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np
from ortools.sat.python import cp_model

from .master import Master
from .model import Floats, Pattern, Task
from .patterns import TwoStage

SCALE = 10**9
SAFETY = 1e-9  # relative; the values are floats
ROUNDS = 6  # of new patterns at one choice of counts


class Bound:
    """The best bound so far, in ten-thousandths, and the counts of sheets that cost so much."""

    def __init__(self, task: Task, pricer: TwoStage) -> None:
        self.task = task
        self.pricer = pricer if pricer.exact else pricer.generous()
        self.rows: list[tuple[list[int], int]] = []
        self.cost = 0
        self.counts: list[int] = []
        self._add_room()
        if not task.third:
            self.add(task.areas)

    def _add_room(self) -> None:
        """Demand that the sheets have room for the blanks, a kerf at the end of each."""
        task, kerf = self.task, self.task.kerf

        def room(length: int, width: int) -> int:
            return (length + kerf) * (1 if task.bars else width + kerf)

        wanted = sum(room(kind.length, kind.width) * kind.count for kind in task.kinds)
        row = [-(-room(sheet.length, sheet.width) * SCALE // wanted) for sheet in task.sheets]
        self.rows.append((row, SCALE))
        self._solve()

    def add(self, values: Floats) -> None:
        """Demand that the sheets be worth the demand at these values.

        Not with a third stage, where the pricer knows only some of the patterns.
        """
        if self.task.third:
            return
        total = float(values @ self.task.demand)
        if total <= 0:
            return
        scale = SCALE / total
        tops = self.pricer.ceilings(values, self.task.demand)
        row = [int(np.ceil(top * scale * (1 + SAFETY))) for top in tops]
        self.rows.append((row, int(SCALE * (1 - SAFETY))))
        self._solve()

    def _solve(self) -> None:
        if (found := self.cheapest()) is not None:
            self.counts = found
            self.cost = max(self.cost, self.price(found))

    def price(self, counts: Sequence[int]) -> int:
        return sum(one.price * count for one, count in zip(self.task.sheets, counts, strict=True))

    def cheapest(self, at_least: int = 0) -> list[int] | None:
        """Return the cheapest counts that may do and cost `at_least`; None where none are found.

        Free stock is all in them.
        """
        sheets = self.task.sheets
        if len(sheets) == 1:
            count = max(-(-wanted // max(row[0], 1)) for row, wanted in self.rows)
            limit = sheets[0].limit
            return None if limit is not None and count > limit else [count]
        model = cp_model.CpModel()
        uses = []
        for n, one in enumerate(sheets):
            most = max(-(-wanted // row[n]) if row[n] else 0 for row, wanted in self.rows)
            top = most if one.limit is None else min(most, one.limit)
            uses.append(model.new_int_var(0, top, ""))
        for row, wanted in self.rows:
            model.add(cp_model.LinearExpr.weighted_sum(uses, row) >= wanted)
        cost = cp_model.LinearExpr.weighted_sum(uses, [one.price for one in sheets])
        model.add(cost >= at_least)
        model.minimize(cost)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = 1.0
        if solver.solve(model) != cp_model.OPTIMAL:
            return None
        return [
            one.limit if not one.price and one.limit is not None else solver.value(use)
            for one, use in zip(sheets, uses, strict=True)
        ]

    def raise_it(self, patterns: Iterable[Pattern], late: Callable[[], bool]) -> Master:
        """Add values until the cheapest counts satisfy the linear program, or it is late.

        Returns the program, with all its patterns.
        """
        task = self.task
        master = Master(task, np.zeros(len(task.sheets)), task.areas / task.areas.max())
        for pattern in patterns:
            master.add(pattern)
        while not late():
            master.ask(task.demand, dict(enumerate(self.counts)))
            short, _, values, _ = master.generate(self.pricer, task.demand, late, ROUNDS)
            if short < 1e-6:
                break
            before = self.counts
            self.add(values)
            if self.counts == before:  # the values were not final: more patterns are wanted
                _, _, values, _ = master.generate(self.pricer, task.demand, late)
                self.add(values)
                if self.counts == before:
                    break
        return master
