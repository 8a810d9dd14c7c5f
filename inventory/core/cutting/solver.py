"""From a problem to a plan that is checked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from .alike import limited_first
from .check import check_plan
from .clock import Clock
from .plan import Plan
from .problem import Problem

if TYPE_CHECKING:
    from .search import Half

SECONDS = 1.6
SILENCE = 1.0  # s; between two reports of the same plan
Report = Callable[[Plan], object]


def solve(
    problem: Problem,
    *,
    seconds: float = SECONDS,
    progress: Report | None = None,
    start: Plan | None = None,
) -> Plan:
    """Return the best plan that is found in about `seconds`.

    As much is cut as the stock gives; of such plans the cheapest is wanted, then the one with the
    fewest gauge settings, then the one with the largest remnant. Of stock that is alike in size,
    price and trim, what is limited goes first. The search ends early where no plan can be cheaper.

    Parameters
    ----------
    problem : Problem
        Sheets and bars may stand in one problem; they are planned one after the other.
    seconds : float
        Time of the search; above 0. Without an end in sight it stops there, give or take the
        step it is in (some tenths of a second on a shop's problem).
    progress : callable
        Gets the best plan so far, checked and fit for use, when there is a better one and every
        few seconds; a true answer ends the search.
    start : Plan
        A plan of the same problem, of an earlier search: nothing worse is returned, and what is
        as dear is not looked for again.

    Raises
    ------
    ValueError
        If `seconds` is not above 0, or `start` is no plan of this problem.
    PlanError
        If the plan breaks the problem's rules: a fault of the solver, never shown as a plan.
    """
    from .search import Half  # loads the solvers: not for those who only read plans

    if not seconds > 0:
        raise ValueError(f"seconds must be above 0, got {seconds}")
    if start is not None:
        check_plan(problem, start)
    halves = [Half(half) for half in problem.halves()]
    best = _together(problem, halves)
    check_plan(problem, best)
    if start is not None and _key(problem, start) <= _key(problem, best):
        best = start

    clock, silence = Clock(seconds), Clock(0)

    def better() -> bool:
        """Take what the halves have by now; a true answer ends them."""
        nonlocal best, silence
        before = best
        plan = _together(problem, halves)
        if _key(problem, plan) < _key(problem, best):
            check_plan(problem, plan)
            plan, best = best, plan
        if plan.unplaceable == best.unplaceable:  # bounds of the same pieces
            best = replace(best, bound=min(max(plan.bound, best.bound), best.cost))
        if progress and (best != before or silence.late()):
            silence = Clock(SILENCE)
            if progress(best):
                clock.stop()
        return clock.late()

    for place, half in enumerate(halves):
        half.run(clock.part(1 / (len(halves) - place)), better)
    better()
    return best


def _key(problem: Problem, plan: Plan) -> tuple[float, Decimal, int, float]:
    """Return what makes one plan better than another: the lower the better."""
    sizes = {row.id: row.length * (row.width or 1.0) for row in problem.pieces}
    missing = sum(row.count * sizes[row.piece] for row in plan.unplaceable)
    return missing, plan.cost, plan.setups, -plan.largest_remnant


def _together(problem: Problem, halves: Sequence[Half]) -> Plan:
    layouts = limited_first(problem, [one for half in halves for one in half.layouts()])
    prices = {row.id: row.price for row in problem.stock}
    cost = sum((prices[one.stock] * one.count for one in layouts), Decimal(0))
    bound = sum((half.bound for half in halves), Decimal(0))
    return Plan(
        layouts=layouts,
        unplaceable=tuple(row for half in halves for row in half.left_out),
        cost=cost,
        bound=min(bound, cost),
    )
