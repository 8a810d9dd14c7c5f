"""The choice among known patterns: whole numbers of each, by a mixed-integer program."""

from __future__ import annotations

from collections.abc import Sequence

import highspy
import numpy as np

from .master import Quiet
from .model import Cell, Floats, Ints, Pattern, Strip, Task
from .patterns import TwoStage

MOST_NEAR = 8_000
INFEASIBLE = highspy.HighsModelStatus.kInfeasible


def choose(
    task: Task,
    patterns: Sequence[Pattern],
    columns: Sequence[Ints],
    *,
    seconds: float,
    floor: int,
    below: int | None = None,
    exactly: bool = False,
) -> tuple[dict[Pattern, int] | None, bool]:
    """Return cheap whole numbers of these patterns, and whether nothing cheaper comes of them.

    Prices, `floor` (a bound) and `below` are ten-thousandths; None where nothing cheaper than
    `below` was found in time. All of the demand is met, not more than that with `exactly`.
    """
    prices = np.array([task.sheets[pattern.sheet].price for pattern in patterns], float)
    unit = float(prices.max()) or 1.0
    lp = Quiet()
    for name, value in (
        ("output_flag", False),
        ("threads", 1),
        ("time_limit", max(seconds, 0.01)),
        ("objective_target", (floor + 0.5) / unit),
        ("mip_rel_gap", 0.0),
    ):
        lp.setOptionValue(name, value)
    for count in task.demand:
        lp.addRow(float(count), float(count) if exactly else highspy.kHighsInf, 0, [], [])
    limited = [place for place, sheet in enumerate(task.sheets) if sheet.limit is not None]
    for place in limited:
        lp.addRow(0.0, float(task.sheets[place].limit or 0), 0, [], [])
    if below is not None:
        lp.addRow(floor / unit, (below - 0.5) / unit, 0, [], [])
    for place, pattern in enumerate(patterns):
        rows = np.flatnonzero(columns[place])
        index, values = rows.tolist(), columns[place][rows].astype(float).tolist()
        if pattern.sheet in limited:
            index.append(len(task.kinds) + limited.index(pattern.sheet))
            values.append(1.0)
        cost = float(prices[place]) / unit
        if below is not None:
            index.append(len(task.kinds) + len(limited))
            values.append(cost)
        lp.addCol(cost, 0.0, highspy.kHighsInf, len(index), index, values)
        lp.changeColIntegrality(place, highspy.HighsVarType.kInteger)
    lp.run()
    status = lp.getModelStatus()
    solution = lp.getSolution()
    done = status in (highspy.HighsModelStatus.kOptimal, INFEASIBLE)
    if status == INFEASIBLE or not solution.value_valid:
        return None, done
    used = np.rint(np.array(solution.col_value)).astype(int)
    return {patterns[place]: int(used[place]) for place in np.flatnonzero(used).tolist()}, done


def near_best(task: Task, pricer: TwoStage, values: Floats, floor: float) -> list[Pattern] | None:
    """Return all patterns of the one bar that are worth at least `floor`; None where too many.

    A plan of K bars at LP cost z, cutting no more than the demand, uses none worth less than
    1 - (K - z).
    """
    rows, way = pricer.rows[False], task.sheets[0].ways[0]
    fill = rows.fill(values, task.demand)
    points, found = rows.along.points, []
    # what is still to be tried: items before this one, place, worth so far, cells
    todo: list[tuple[int, int, float, tuple[Cell, ...]]] = [
        (len(rows.lying), rows.along.place(way.along + task.kerf), 0.0, ())
    ]
    while todo:
        item, place, worth, cells = todo.pop()
        if worth + fill.value(item, place) < floor:
            continue
        if not item:
            found.append(Pattern(0, way, (Strip(0, cells),)))
            if len(found) > MOST_NEAR:
                return None
            continue
        one = rows.lying[item - 1]
        first, back = rows.along.step(one.long + task.kerf)
        for count in range(int(task.demand[one.kind]) + 1):
            todo.append((item - 1, place, worth, cells + (one.cell(0),) * count))
            if points[place] < one.long + task.kerf:
                break
            place, worth = int(back[place - first]), worth + float(values[one.kind])
    return found
