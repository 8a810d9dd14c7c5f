"""What no plan can undercut.

At any values of the blanks, a sheet yields at most the value of its best pattern, so the sheets of
a plan must together be worth the demand: a knapsack over how many of each size are cut. Values are
added until those counts satisfy the linear program (J. F. Benders, Numerische Mathematik 4 (1962)
238-252); with one size that is the linear program rounded up to whole sheets.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

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
        self.tight = False  # the counts do for the linear program: no higher bound comes of it
        self.add(task.areas)

    def add(self, values: Floats) -> None:
        """Demand that the sheets be worth the demand at these values."""
        total = float(values @ self.task.demand)
        if total <= 0:
            return
        scale = SCALE / total
        tops = self.pricer.ceilings(values, self.task.demand)
        row = [int(np.ceil(top * scale * (1 + SAFETY))) for top in tops]
        self.rows.append((row, int(SCALE * (1 - SAFETY))))
        self._solve()

    def _solve(self) -> None:
        sheets = self.task.sheets
        if len(sheets) == 1:
            counts = [max(-(-wanted // max(row[0], 1)) for row, wanted in self.rows)]
            limit = sheets[0].limit
            if limit is not None and counts[0] > limit:
                return
        else:
            model = cp_model.CpModel()
            most = [
                max(-(-wanted // row[n]) if row[n] else 0 for row, wanted in self.rows)
                for n in range(len(sheets))
            ]
            uses = [
                model.new_int_var(0, top if one.limit is None else min(top, one.limit), "")
                for top, one in zip(most, sheets, strict=True)
            ]
            for row, wanted in self.rows:
                model.add(cp_model.LinearExpr.weighted_sum(uses, row) >= wanted)
            model.minimize(cp_model.LinearExpr.weighted_sum(uses, [one.price for one in sheets]))
            solver = cp_model.CpSolver()
            solver.parameters.num_workers = 1
            solver.parameters.max_time_in_seconds = 1.0
            if solver.solve(model) != cp_model.OPTIMAL:
                return
            counts = [solver.value(use) for use in uses]
        cost = sum(one.price * count for one, count in zip(sheets, counts, strict=True))
        self.cost, self.counts = max(self.cost, cost), counts

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
                self.tight = True
                break
            before = len(self.rows), self.counts
            self.add(values)
            if self.counts == before[1]:  # the values were not final: more patterns are wanted
                short, _, values, _ = master.generate(self.pricer, task.demand, late)
                self.add(values)
                if short < 1e-6 or self.counts == before[1]:
                    self.tight = short < 1e-6
                    break
        return master
