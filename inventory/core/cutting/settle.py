"""Among plans of one cost: fewest gauge settings, then the largest single remnant."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np
from ortools.sat.python import cp_model

from .assemble import FOUND, SEED, Laying, Upright, lowest, solver_for, strips_of
from .model import Ints, Pattern, Strip, Task

MOST = 600  # patterns
MOST_STRIPS = 250
EFFORT = 0.15  # of CP-SAT, in its own measure; some tenths of a second
REST = 1000  # steps of the largest remnant


def settings_of(pattern: Pattern) -> set[tuple[int, int]]:
    """Return stage and size, nm, of what is cut off; a last cut that is not needed counts too."""
    return {one for strip in pattern.strips for one in _settings(strip)}


def _settings(strip: Strip) -> Iterator[tuple[int, int]]:
    yield 1, strip.high
    for cell in strip.cells:
        yield 2, cell.long
        yield from ((3, blank.high) for blank in cell.blanks if blank.high < strip.high)


def largest_rest(task: Task, pattern: Pattern) -> int:
    """Return the size of the largest remnant of a pattern, nm2 (of a bar: nm); 0 without one."""
    rests = []
    for strip in pattern.strips:
        end = pattern.way.along - sum(cell.long + task.kerf for cell in strip.cells)
        rests.append((end, strip.high))
    across = pattern.way.across - sum(strip.high + task.kerf for strip in pattern.strips)
    if task.bars:
        return max((end for end, _ in rests if end >= task.least_remnant), default=0)
    rests.append((pattern.way.along, across))
    return max((a * b for a, b in rests if min(a, b) >= task.least_remnant), default=0)


def settle(
    task: Task,
    patterns: Sequence[Pattern],
    columns: Sequence[Ints],
    uses: Mapping[Pattern, int],
    *,
    cost: int,
    seconds: float,
) -> dict[Pattern, int]:
    """Return whole numbers of these patterns that cost no more, with fewer settings.

    `uses` is where the search starts and what it returns where it finds nothing better.
    """
    pool = list(dict.fromkeys([*uses, *patterns]))[:MOST]
    known = dict(zip(patterns, columns, strict=True))
    table = np.array([known.get(one, one.counts(len(task.kinds))) for one in pool])
    model = cp_model.CpModel()
    settings: dict[tuple[int, int], cp_model.IntVar] = {}
    counts, chosen, rests = [], [], []
    for place, pattern in enumerate(pool):
        held = np.flatnonzero(table[place])
        most = int((-(-task.demand[held] // table[place, held])).max())
        count, is_used = model.new_int_var(0, most, ""), model.new_bool_var("")
        model.add(count <= most * is_used)
        for key in settings_of(pattern):
            if key not in settings:
                settings[key] = model.new_bool_var("")
                model.add_hint(settings[key], 0)
            model.add_implication(is_used, settings[key])
        keeps = model.new_bool_var("")
        model.add(count >= keeps)
        model.add_hint(count, uses.get(pattern, 0))
        model.add_hint(is_used, pattern in uses)
        counts.append(count)
        chosen.append(keeps)
        rests.append(largest_rest(task, pattern))
    for key in {key for pattern in uses for key in settings_of(pattern)}:
        model.add_hint(settings[key], 1)
    for kind, wanted in enumerate(task.demand.tolist()):
        held = np.flatnonzero(table[:, kind])
        terms = [counts[place] for place in held]
        model.add(cp_model.LinearExpr.weighted_sum(terms, table[held, kind].tolist()) >= wanted)
    for sheet, row in enumerate(task.sheets):
        mine = [counts[n] for n, one in enumerate(pool) if one.sheet == sheet]
        if row.limit is not None and mine:
            model.add(sum(mine) <= row.limit)
    prices = [task.sheets[pattern.sheet].price for pattern in pool]
    model.add(cp_model.LinearExpr.weighted_sum(counts, prices) <= cost)
    model.add_at_most_one(chosen)
    scale = max(*rests, 1)
    sizes = [-(1000 * rest // scale) for rest in rests]
    model.minimize(1001 * sum(settings.values()) + cp_model.LinearExpr.weighted_sum(chosen, sizes))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    if solver.solve(model) not in FOUND:
        return dict(uses)
    found = zip(pool, counts, strict=True)
    return {one: solver.value(count) for one, count in found if solver.value(count)}


def settle_few(
    task: Task, patterns: Iterable[Pattern], uses: Mapping[Pattern, int], *, seconds: float
) -> dict[Pattern, int]:
    """Return another cutting of the same few sheets with fewer settings, else a larger remnant.

    Strips of these patterns, and strips of one blank side by side, are laid anew.
    """
    sheets = list(Counter(uses).elements())
    strips = list(dict.fromkeys([*strips_of(task, uses), *_of_one_kind(task)]))
    strips = list(dict.fromkeys([*strips, *strips_of(task, patterns)]))[:MOST_STRIPS]
    laying = Laying(task, strips, [one.sheet for one in sheets], task.demand)
    model = laying.model
    for kind, wanted in enumerate(task.demand.tolist()):
        model.add(laying.got(kind) >= wanted)
    now = {key for pattern in uses for key in settings_of(pattern)}
    settings: dict[tuple[int, int], cp_model.IntVar] = {}
    is_cut: dict[Strip, cp_model.IntVar] = {}
    for strip in laying.columns:
        is_cut[strip] = model.new_bool_var("")
        for key in _settings(strip):
            if key not in settings:
                settings[key] = model.new_bool_var("")
                model.add_hint(settings[key], key in now)
            model.add_implication(is_cut[strip], settings[key])
    cuts = [Counter(lowest(task, strip) for strip in one.strips) for one in sheets]
    for strip, cut in is_cut.items():
        model.add_hint(cut, any(strip in one for one in cuts))
    rest, keeps = model.new_int_var(0, REST, ""), []
    largest = max(task.sheets[one.sheet].size for one in sheets)
    for n, way, lies, laid in laying.choices:
        is_now = sheets[n].way == way
        model.add_hint(lies, is_now)
        for strip, times in laid:
            model.add(times <= laying.room(way) // laying.high(strip) * is_cut[strip])
            model.add_hint(times, cuts[n][strip] if is_now else 0)
        keeps.append(model.new_bool_var(""))
        model.add_implication(keeps[-1], lies)
        each = way.along * laying.common * REST // largest
        left = each * (laying.room(way) - laying.used(laid))
        model.add(rest <= left).only_enforce_if(keeps[-1])
    model.add_exactly_one(keeps)
    count = cp_model.LinearExpr.sum(list(settings.values()))
    model.minimize(count)
    solver = solver_for(EFFORT, seconds / 2)
    if solver.solve(model) not in FOUND:
        return dict(uses)
    found = laying.patterns(solver)
    model.add(count <= round(solver.objective_value))
    model.clear_hints()
    for _, _, lies, laid in laying.choices:
        for one in (lies, *(times for _, times in laid)):
            model.add_hint(one, solver.value(one))
    model.maximize(rest)
    solver = solver_for(EFFORT / 3, seconds / 2)
    if solver.solve(model) in FOUND:
        found = laying.patterns(solver)
    return dict(Counter(one for one in found if one))


def _of_one_kind(task: Task) -> Iterator[Upright]:
    """Yield strips full of one blank: two settings each."""
    for sheet in task.sheets:
        for way in sheet.ways:
            for one in task.lying(way.upright):
                if task.fits(one, way) and task.demand[one.kind]:
                    count = (way.along + task.kerf) // (one.long + task.kerf)
                    count = min(count, int(task.demand[one.kind]))
                    yield way.upright, Strip(task.high(one), (one.cell(task.kerf),) * count)
