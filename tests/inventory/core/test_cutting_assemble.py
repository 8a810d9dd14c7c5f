"""Strips laid on given sheets anew, by hand; a search over sheets of many prices ends in time."""

import random
import time
from decimal import Decimal

import pytest

from inventory.core.cutting import Machine, Piece, Problem, Stock, check_plan, solve
from inventory.core.cutting.assemble import assemble
from inventory.core.cutting.dive import cutting_of
from inventory.core.cutting.model import Pattern, Strip, task_of

INCH = 0.0254


# Worked by hand: strips 6, 4, 5 and 5 high lie on two sheets 10 high, 6 on 4 and 5 on 5; a kerf
# of 0.1 between two of them leaves each pair too high.
@pytest.mark.parametrize(("kerf", "fits"), [(0.0, True), (0.1, False)])
def test_strips_of_three_patterns_fill_two_sheets(kerf, fits):
    sheet = Stock(id="sheet", length=10, width=10)
    pieces = [
        Piece(id=str(high), length=10, width=high, count=count, rotate=False)
        for high, count in ((6, 1), (4, 1), (5, 2))
    ]
    task, _ = task_of(Problem(pieces=tuple(pieces), stock=(sheet,), machine=Machine(kerf=kerf)))
    way = next(way for way in task.sheets[0].ways if not way.upright)
    patterns = [
        Pattern(0, way, (Strip(task.high(one), (one.cell(task.kerf),)),))
        for one in task.lying(upright=False)
    ]
    uses = assemble(task, patterns, [2], seconds=60)
    assert (uses is not None) == fits
    if uses:
        assert not cutting_of(task, uses).short.any()
        assert uses.total() == 2
    assert assemble(task, patterns, [1], seconds=60) is None


def test_a_search_ends_in_time_where_a_great_many_costs_lie_between():
    rng = random.Random(0)  # prices in ten-thousandths: thousands of sums between bound and plan
    stock = tuple(
        Stock(
            id=f"s{n}",
            length=rng.randint(20, 60) * INCH,
            width=rng.randint(15, 40) * INCH,
            price=Decimal(rng.randint(100000, 400000)) / 10000,
            count=rng.choice([None, 60]),
        )
        for n in range(4)
    )
    pieces = tuple(
        Piece(
            id=f"p{n}",
            length=rng.randint(24, 112) / 8 * INCH,
            width=rng.randint(24, 90) / 8 * INCH,
            count=rng.randint(100, 300),
        )
        for n in range(5)
    )
    problem = Problem(pieces=pieces, stock=stock, machine=Machine(kerf=INCH / 8))
    begin = time.process_time()
    plan = solve(problem, seconds=0.5)
    assert time.process_time() - begin < 5  # of the processor: other work does not count
    check_plan(problem, plan)
    assert plan.unplaceable == ()
    assert not plan.proven  # or the problem is no longer one whose search needs an end
