"""Known strips laid side by side on given sheets, anew: what comes of few sheets, nearly full.

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

MOST_SHEETS = 14
SEED = 20260907

Choice = tuple[int, Way, list[tuple[Strip, cp_model.IntVar]]]  # sheet, way and strips of it


def assemble(
    task: Task, patterns: Iterable[Pattern], counts: Sequence[int], seconds: float
) -> Counter[Pattern] | None:
    """Meet the demand with the strips of `patterns` on so many of each sheet, at most.

    None where no such cutting was found within `seconds`: that is no proof that there is none.
    """
    if task.bars or sum(counts) > MOST_SHEETS:
        return None
    strips = _strips(task, patterns)
    columns = {strip: _held(task, strip) for _, strip in strips}
    common = gcd(*(strip.high + task.kerf for strip in columns)) or 1
    model = cp_model.CpModel()
    made: list[list[cp_model.IntVar]] = [[] for _ in task.kinds]
    held: list[list[int]] = [[] for _ in task.kinds]
    choices: list[Choice] = []
    for place, count in enumerate(counts):
        for _ in range(count):
            ways = []
            for way in task.sheets[place].ways:
                lies, laid = model.new_bool_var(""), []
                room = (way.across + task.kerf) // common
                for strip in (one for upright, one in strips if upright == way.upright):
                    high = (strip.high + task.kerf) // common
                    if high > room or _length(task, strip) > way.along + task.kerf:
                        continue
                    kinds = np.flatnonzero(columns[strip])
                    wanted = -(-task.demand[kinds] // columns[strip][kinds])
                    times = model.new_int_var(0, min(room // high, int(wanted.max())), "")
                    laid.append((strip, times))
                    for kind in kinds.tolist():
                        made[kind].append(times)
                        held[kind].append(int(columns[strip][kind]))
                highs = [(strip.high + task.kerf) // common for strip, _ in laid]
                times_each = [times for _, times in laid]
                model.add(cp_model.LinearExpr.weighted_sum(times_each, highs) <= room * lies)
                ways.append(lies)
                choices.append((place, way, laid))
            model.add_at_most_one(ways)
    for kind, wanted in enumerate(task.demand.tolist()):
        model.add(cp_model.LinearExpr.weighted_sum(made[kind], held[kind]) >= wanted)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(seconds, 0.01)
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.random_seed = SEED
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    found: Counter[Pattern] = Counter()
    for place, way, laid in choices:
        used = [strip for strip, times in laid for _ in range(solver.value(times))]
        if used:
            found[Pattern(place, way, tuple(sorted(used, reverse=True)))] += 1
    return found


def _strips(task: Task, patterns: Iterable[Pattern]) -> list[tuple[bool, Strip]]:
    """Return the strips, each no higher than it must be, with whether it runs upright."""
    found = {
        (pattern.way.upright, Strip(task.strip_high(strip.cells), strip.cells)): None
        for pattern in patterns
        for strip in pattern.strips
    }
    return list(found)


def _length(task: Task, strip: Strip) -> int:
    return sum(cell.long + task.kerf for cell in strip.cells)


def _held(task: Task, strip: Strip) -> Ints:
    counts = np.zeros(len(task.kinds), np.int64)
    for cell in strip.cells:
        for blank in cell.blanks:
            counts[blank.kind] += 1
    return counts
