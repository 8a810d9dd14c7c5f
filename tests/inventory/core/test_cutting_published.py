"""Published cutting instances with known results; sources in `tests/reference/cutting/`.

Bars: BPPLIB (Delorme, Iori, Martello 2018), sets of Falkenauer; the optimum is known. Sheets:
class A of 2DPackLib (Macedo, Alves, Valério de Carvalho 2010), two stages with rotation and
trimming; the bounds are the lead's own computation (column generation, verified plans).
"""

import pytest

from inventory.core.cutting import check_plan, solve
from tests.inventory.core.cutting_cases import published

INSTANCES = {name: row for name, *row in published()}
SECONDS = 120.0  # at most; nearly all are reached in less than 3


@pytest.mark.parametrize("name", INSTANCES)
def test_the_known_result_is_reached(name):
    problem, low, best = INSTANCES[name]

    def reached(plan):
        return plan.cost <= best and plan.bound >= low

    plan = solve(problem, seconds=SECONDS, progress=reached)
    check_plan(problem, plan)
    assert plan.unplaceable == ()
    assert low <= plan.cost <= best
    assert plan.bound <= best
    assert plan.bound == low
