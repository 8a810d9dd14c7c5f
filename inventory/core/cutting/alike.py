"""Of stock that is alike, what lies there is used before what can be had without limit."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import replace

from .plan import Layout
from .problem import Problem, Stock


def limited_first(problem: Problem, layouts: Iterable[Layout]) -> tuple[Layout, ...]:
    """Return the layouts with stock of one size, price and trim given out anew, limited first.

    Neither cost nor cuts change; layouts that become equal stand as one.
    """
    alike: dict[tuple[object, ...], list[Stock]] = defaultdict(list)
    for row in sorted(problem.stock, key=lambda row: row.count is None):
        alike[_kind(row)].append(row)
    if len(alike) == len(problem.stock):
        return tuple(layouts)
    kinds = {row.id: _kind(row) for row in problem.stock}
    left = {row.id: row.count for row in problem.stock}
    found: Counter[Layout] = Counter()
    for layout in layouts:
        wanted = layout.count
        for row in alike[kinds[layout.stock]]:
            held = left[row.id]
            taken = wanted if held is None else min(wanted, held)
            if taken:
                found[replace(layout, stock=row.id, count=1)] += taken
                wanted -= taken
                left[row.id] = None if held is None else held - taken
    return tuple(replace(layout, count=count) for layout, count in found.items())


def _kind(row: Stock) -> tuple[object, ...]:
    return row.length, row.width, row.price, row.trimmed
