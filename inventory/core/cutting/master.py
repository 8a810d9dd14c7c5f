"""The linear program over patterns, and the patterns that make it optimal."""

from __future__ import annotations

from collections.abc import Callable

import highspy
import numpy as np

from .model import Floats, Ints, Pattern, Task
from .patterns import TwoStage

EPSILON = 1e-7


class Quiet(highspy.Highs):
    """A solver that does not print its name to stdout, where a command's answer goes."""

    def enableCallbacks(self) -> None:
        pass


class Master:
    """Least cost of patterns, fractions allowed, that give the demand within the stock.

    What is short costs more than any plan, so that there is always a solution.
    """

    def __init__(self, task: Task, costs: Floats, short: Floats | None = None) -> None:
        self.task, self.costs, self.kinds = task, costs, len(task.kinds)
        self.patterns: list[Pattern] = []
        self.columns: list[Ints] = []
        self._known: set[Pattern] = set()
        self.gone = np.zeros(len(task.sheets), bool)  # sheets of which none are left
        self.short_used = 0.0  # blanks that the last solution goes without
        dear = 10.0 * float(costs.max()) * (1.0 + task.areas / task.areas.max())
        self.short = dear if short is None else short
        self.lp = Quiet()
        self.lp.setOptionValue("output_flag", False)
        self.lp.setOptionValue("threads", 1)
        for count in task.demand:
            self.lp.addRow(float(count), highspy.kHighsInf, 0, [], [])
        for sheet in task.sheets:
            most = highspy.kHighsInf if sheet.limit is None else float(sheet.limit)
            self.lp.addRow(-highspy.kHighsInf, most, 0, [], [])
        for kind in range(self.kinds):
            self.lp.addCol(float(self.short[kind]), 0.0, highspy.kHighsInf, 1, [kind], [1.0])

    def add(self, pattern: Pattern) -> bool:
        """Add a column; False where it is there already."""
        if pattern in self._known:
            return False
        self._known.add(pattern)
        counts = pattern.counts(self.kinds)
        rows = np.flatnonzero(counts)
        index, values = rows.tolist(), counts[rows].astype(float).tolist()
        index.append(self.kinds + pattern.sheet)
        values.append(1.0)
        cost = float(self.costs[pattern.sheet])
        self.lp.addCol(cost, 0.0, highspy.kHighsInf, len(index), index, values)
        self.patterns.append(pattern)
        self.columns.append(counts)
        return True

    def ask(self, demand: Ints, limits: dict[int, int]) -> None:
        """Set what is wanted and what stock is left."""
        for kind in range(self.kinds):
            self.lp.changeRowBounds(kind, float(demand[kind]), highspy.kHighsInf)
        for place, most in limits.items():
            self.lp.changeRowBounds(self.kinds + place, -highspy.kHighsInf, float(most))
            self.gone[place] = most <= 0

    def solve(self) -> tuple[float, Floats, Floats, Floats]:
        """Return cost, patterns used, and the values of blanks and of limited stock (≤ 0)."""
        self.lp.run()
        solution = self.lp.getSolution()
        used = np.array(solution.col_value)
        self.short_used = float(used[: self.kinds].sum())
        duals = np.array(solution.row_dual)
        cost = float(self.lp.getInfo().objective_function_value)
        stock = np.minimum(duals[self.kinds :], 0.0)
        return cost, used[self.kinds :], np.maximum(duals[: self.kinds], 0.0), stock

    def generate(
        self, pricer: TwoStage, left: Ints, late: Callable[[], bool], rounds: int = 10_000
    ) -> tuple[float, Floats, Floats, Floats]:
        """Add patterns until none makes the program cheaper; return its solution."""
        for _ in range(rounds):
            cost, used, values, stock = self.solve()
            prices = self.costs - stock
            prices += EPSILON * np.maximum(prices, 1.0)
            prices[self.gone] = np.inf
            found = [self.add(one) for one in pricer.offers(values, left, prices.tolist())]
            new = any(found)
            if not new or late():
                break
        return cost, used, values, stock
