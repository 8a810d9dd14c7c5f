"""Known strips laid side by side on a few given sheets, anew.

Whole patterns seldom add up to the demand where a plan has a handful of sheets. The strips in them
do: which sheet is cut which way and to how many of which strips is left to CP-SAT.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from math import gcd

import numpy as np
from ortools.sat.python import cp_model

from .model import Ints, Pattern, Strip, Task, Way

SEED = 20260907
FOUND = (cp_model.OPTIMAL, cp_model.FEASIBLE)
FINE = 10  # steps that the smallest blank's area counts

Upright = tuple[bool, Strip]
Laid = list[tuple[Strip, cp_model.IntVar]]


class Laying:
    """Variables: how often each strip is cut of each sheet, which lies one of its ways."""

    def __init__(
        self, task: Task, strips: Sequence[Upright], places: Sequence[int], left: Ints
    ) -> None:
        self.task, self.places, self.model = task, places, cp_model.CpModel()
        self.columns = {strip: held_by(task, strip) for _, strip in strips}
        self.common = gcd(*(strip.high + task.kerf for _, strip in strips)) or 1
        self.choices: list[tuple[int, Way, cp_model.IntVar, Laid]] = []
        self.made: list[list[cp_model.IntVar]] = [[] for _ in task.kinds]
        self.held: list[list[int]] = [[] for _ in task.kinds]
        for n, place in enumerate(places):
            ways = [self._lie(n, way, strips, left) for way in task.sheets[place].ways]
            self.model.add_at_most_one(ways)

    def room(self, way: Way) -> int:
        """Return how many steps of `common` there are across a sheet, a kerf behind each strip."""
        return (way.across + self.task.kerf) // self.common

    def high(self, strip: Strip) -> int:
        return (strip.high + self.task.kerf) // self.common

    def used(self, laid: Laid) -> cp_model.LinearExpr:
        """Return how much of that room is used."""
        highs = [self.high(strip) for strip, _ in laid]
        return cp_model.LinearExpr.weighted_sum([times for _, times in laid], highs)

    def got(self, kind: int) -> cp_model.LinearExpr:
        """Return how many blanks of a kind come of it all."""
        return cp_model.LinearExpr.weighted_sum(self.made[kind], self.held[kind])

    def patterns(self, solver: cp_model.CpSolver) -> list[Pattern | None]:
        """Return how each sheet is cut; None where it is not."""
        found: list[Pattern | None] = [None] * len(self.places)
        for n, way, _, laid in self.choices:
            cut = Counter({strip: solver.value(times) for strip, times in laid})
            if cut.total():
                strips = tuple(sorted(cut.elements(), reverse=True))
                found[n] = Pattern(self.places[n], way, strips)
        return found

    def _lie(self, n: int, way: Way, strips: Sequence[Upright], left: Ints) -> cp_model.IntVar:
        lies, room, laid = self.model.new_bool_var(""), self.room(way), Laid()
        for strip in (one for upright, one in strips if upright == way.upright):
            if self.high(strip) > room or _length(self.task, strip) > way.along + self.task.kerf:
                continue
            kinds = np.flatnonzero(self.columns[strip])
            wanted = -(-left[kinds] // self.columns[strip][kinds])
            most = min(room // self.high(strip), int(wanted.max()))
            times = self.model.new_int_var(0, most, "")
            laid.append((strip, times))
            for kind in kinds.tolist():
                self.made[kind].append(times)
                self.held[kind].append(int(self.columns[strip][kind]))
        self.model.add(self.used(laid) <= room * lies)
        self.choices.append((n, way, lies, laid))
        return lies


def solver_for(effort: float, seconds: float) -> cp_model.CpSolver:
    """Return CP-SAT with a limit in its own measure of work, and one in seconds."""
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = effort
    solver.parameters.max_time_in_seconds = max(seconds, 0.01)
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.random_seed = SEED
    return solver


def assemble(
    task: Task,
    patterns: Iterable[Pattern],
    places: Sequence[int],
    left: Ints,
    *,
    effort: float,
    seconds: float,
) -> list[Pattern | None]:
    """Return how each sheet is cut, to strips of `patterns`, so that least is left out.

    `places` says which sheets, one by one; `left` what is wanted of them. What is left out counts
    by its area. The search ends after `effort`, as CP-SAT counts its work whatever the load of
    the machine, or after `seconds`. None stands for a sheet that is not cut.
    """
    strips = [one for one in strips_of(task, patterns) if left[held_by(task, one[1]) > 0].any()]
    laying = Laying(task, strips, places, left)
    shorts = []
    for kind, wanted in enumerate(left.tolist()):
        shorts.append(laying.model.new_int_var(0, wanted, ""))
        laying.model.add(laying.got(kind) + shorts[-1] >= wanted)
    sizes = np.rint(task.areas * FINE / task.areas.min()).astype(int).tolist()
    laying.model.minimize(cp_model.LinearExpr.weighted_sum(shorts, sizes))
    solver = solver_for(effort, seconds)
    if solver.solve(laying.model) not in FOUND:
        return [None] * len(places)
    return laying.patterns(solver)


def strips_of(task: Task, patterns: Iterable[Pattern]) -> list[Upright]:
    """Return the strips, each no higher than it must be, with whether it runs upright."""
    known = {(one.way.upright, strip): None for one in patterns for strip in one.strips}
    return list(dict.fromkeys((upright, lowest(task, strip)) for upright, strip in known))


def lowest(task: Task, strip: Strip) -> Strip:
    return Strip(task.strip_high(strip.cells), strip.cells)


def _length(task: Task, strip: Strip) -> int:
    return sum(cell.long + task.kerf for cell in strip.cells)


def held_by(task: Task, strip: Strip) -> Ints:
    counts = np.zeros(len(task.kinds), np.int64)
    for cell in strip.cells:
        for blank in cell.blanks:
            counts[blank.kind] += 1
    return counts
