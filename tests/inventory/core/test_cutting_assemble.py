"""Strips laid on given sheets anew, by hand; a search over sheets of many prices ends in time."""

import random
import time
from collections import Counter
from decimal import Decimal

import numpy as np
import pytest

from inventory.core.cutting import Machine, Piece, Problem, Stock, check_plan, solve
from inventory.core.cutting.assemble import assemble
from inventory.core.cutting.clock import Clock
from inventory.core.cutting.dive import cutting_of
from inventory.core.cutting.few import Few
from inventory.core.cutting.model import Pattern, Strip, task_of
from inventory.core.cutting.patterns import TwoStage

INCH = 0.0254


# Worked by hand: strips 6, 4, 5 and 5 high lie on two sheets 10 high, 6 on 4 and 5 on 5; a kerf
# of 0.1 between two of them leaves each pair too high.
def stacked(kerf):
    sheet = Stock(id="sheet", length=10, width=10)
    pieces = [
        Piece(id=str(high), length=10, width=high, count=count, rotate=False)
        for high, count in ((6, 1), (4, 1), (5, 2))
    ]
    task, _ = task_of(Problem(pieces=tuple(pieces), stock=(sheet,), machine=Machine(kerf=kerf)))
    return task


@pytest.mark.parametrize(("kerf", "fits"), [(0.0, True), (0.1, False)])
def test_strips_of_three_patterns_fill_two_sheets(kerf, fits):
    task = stacked(kerf)
    way = next(way for way in task.sheets[0].ways if not way.upright)
    patterns = [
        Pattern(0, way, (Strip(task.high(one), (one.cell(task.kerf),)),))
        for one in task.lying(upright=False)
    ]
    effort = {"effort": 60.0, "seconds": 60.0}  # far more than these need
    found = assemble(task, patterns, [0, 0], task.demand, **effort)
    assert None not in found
    short = cutting_of(task, Counter(found)).short
    assert not short.any() if fits else short.sum() == 1  # the lowest is left out: 4 high


@pytest.mark.parametrize(("kerf", "fits"), [(0.0, True), (0.1, False)])
def test_a_few_sheets_are_cut_anew_till_they_give_all_or_the_time_is_over(kerf, fits):
    task = stacked(kerf)
    few = Few(task, TwoStage(task), [2], np.random.default_rng(1))
    assert (few.why_not(Clock(60)) is None) == fits
    found = few.run(Clock(60 if fits else 0.5))
    assert (found is not None) == fits
    if found:
        assert not found.short.any()
        assert sum(found.uses.values()) == 2


def test_sheets_that_are_too_few_say_what_the_blanks_are_worth_beside_them():
    task = stacked(0.0)
    values = Few(task, TwoStage(task), [1], np.random.default_rng(1)).why_not(Clock(60))
    assert values is not None
    best = TwoStage(task).ceilings(values, task.demand)[0]
    assert best < values @ task.demand  # one sheet is worth less than what is wanted


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
