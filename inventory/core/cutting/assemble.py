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
FINE = 10  # steps that the smallest blank's area counts

Laid = list[tuple[Strip, cp_model.IntVar]]


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
    strips = _strips(task, patterns)
    columns = {strip: _held(task, strip) for _, strip in strips}
    strips = [(upright, strip) for upright, strip in strips if left[columns[strip] > 0].any()]
    common = gcd(*(strip.high + task.kerf for _, strip in strips)) or 1
    model = cp_model.CpModel()
    made: list[list[cp_model.IntVar]] = [[] for _ in task.kinds]
    held: list[list[int]] = [[] for _ in task.kinds]
    choices: list[tuple[int, Way, Laid]] = []
    for n, place in enumerate(places):
        ways = []
        for way in task.sheets[place].ways:
            lies, laid = model.new_bool_var(""), Laid()
            room = (way.across + task.kerf) // common
            highs = []
            for strip in (one for upright, one in strips if upright == way.upright):
                high = (strip.high + task.kerf) // common
                if high > room or _length(task, strip) > way.along + task.kerf:
                    continue
                kinds = np.flatnonzero(columns[strip])
                wanted = -(-left[kinds] // columns[strip][kinds])
                times = model.new_int_var(0, min(room // high, int(wanted.max())), "")
                laid.append((strip, times))
                highs.append(high)
                for kind in kinds.tolist():
                    made[kind].append(times)
                    held[kind].append(int(columns[strip][kind]))
            used = cp_model.LinearExpr.weighted_sum([times for _, times in laid], highs)
            model.add(used <= room * lies)
            ways.append(lies)
            choices.append((n, way, laid))
        model.add_at_most_one(ways)
    shorts = []
    for kind, wanted in enumerate(left.tolist()):
        shorts.append(model.new_int_var(0, wanted, ""))
        got = cp_model.LinearExpr.weighted_sum(made[kind], held[kind])
        model.add(got + shorts[-1] >= wanted)
    sizes = np.rint(task.areas * FINE / task.areas.min()).astype(int).tolist()
    model.minimize(cp_model.LinearExpr.weighted_sum(shorts, sizes))
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = effort
    solver.parameters.max_time_in_seconds = max(seconds, 0.01)
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.random_seed = SEED
    found: list[Pattern | None] = [None] * len(places)
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return found
    for n, way, laid in choices:
        cut = Counter({strip: solver.value(times) for strip, times in laid})
        if cut.total():
            found[n] = Pattern(places[n], way, tuple(sorted(cut.elements(), reverse=True)))
    return found


def _strips(task: Task, patterns: Iterable[Pattern]) -> list[tuple[bool, Strip]]:
    """Return the strips, each no higher than it must be, with whether it runs upright."""
    known = {(one.way.upright, strip): None for one in patterns for strip in one.strips}
    found = {
        (upright, Strip(task.strip_high(strip.cells), strip.cells)): None
        for upright, strip in known
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
