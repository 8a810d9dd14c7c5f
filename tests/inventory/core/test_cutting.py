"""Cutting plans: what every plan keeps to, whatever the stock and the machine."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from time import process_time

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from inventory.core.cutting import (
    Machine,
    Piece,
    Problem,
    Stock,
    check_plan,
    plan_as_json,
    plan_of_json,
    solve,
)
from inventory.core.cutting.dive import cutting_of
from inventory.core.cutting.model import task_of
from inventory.core.cutting.search import Search
from inventory.core.cutting.settle import settings_of, settle_few

INCH = 0.0254
SHEET = Stock(id="sheet", length=96 * INCH, width=48 * INCH)

eighths = st.integers(4, 200).map(lambda n: n / 8 * INCH)
kerfs = st.sampled_from([0.0, INCH / 16, 0.003, 0.0031])


@st.composite
def machines(draw):
    return Machine(
        kerf=draw(kerfs),
        trim=draw(st.sampled_from([0.0, 0.0, 0.001, INCH / 4])),
        narrowest=draw(st.sampled_from([0.0, 0.0, 2 * INCH])),
        longest=draw(st.sampled_from([None, None, 52 * INCH])),
        stages=draw(st.sampled_from([2, 3])),
    )


@st.composite
def problems(draw, flat=None):
    flat = draw(st.booleans()) if flat is None else flat
    sides = st.sampled_from([24, 36, 48, 60, 96, 100.5]).map(lambda n: n * INCH)
    stock = [
        Stock(
            id=f"s{n}",
            length=draw(sides),
            width=draw(sides) if flat else None,
            price=draw(st.sampled_from([Decimal(0), Decimal("12.5"), Decimal(40), Decimal(90)])),
            count=draw(st.sampled_from([None, None, 0, 1, 3])),
            trimmed=draw(st.booleans()),
        )
        for n in range(draw(st.integers(1, 3)))
    ]
    pieces = [
        Piece(
            id=f"p{n}",
            length=draw(eighths),
            width=draw(eighths) if flat else None,
            count=draw(st.integers(0, 30)),
            rotate=draw(st.booleans()),
        )
        for n in range(draw(st.integers(1, 5)))
    ]
    return Problem(pieces=tuple(pieces), stock=tuple(stock), machine=draw(machines()))


@settings(max_examples=40, deadline=None)
@given(problems())
def test_every_plan_can_be_cut_as_it_says(problem):
    plan = solve(problem, seconds=0.3)
    check_plan(problem, plan)
    assert plan_of_json(plan_as_json(plan)) == plan
    assert Problem.from_case(problem.as_case()) == problem


@settings(max_examples=20, deadline=None)
@given(problems(flat=True), kerfs)
def test_no_sheet_holds_more_than_its_area(problem, kerf):
    plan = solve(problem, seconds=0.2)
    area = {row.id: row.length * (row.width or 0) for row in problem.pieces}
    for layout in plan.layouts:
        whole = layout.parts[0].length * layout.parts[0].width
        assert sum(area[blank.piece] for blank in layout.blanks) <= whole * (1 + 1e-12)


# Worked by hand: 96 / 6 = 16 along, 48 / 2 = 24 across, so 384 blanks to the sheet without a kerf.
@pytest.mark.parametrize(("count", "sheets"), [(1, 1), (384, 1), (385, 2), (3840, 10)])
def test_blanks_that_fill_a_sheet_without_a_rest(count, sheets):
    piece = Piece(id="coupon", length=6 * INCH, width=2 * INCH, count=count)
    plan = solve(Problem(pieces=(piece,), stock=(SHEET,)))
    assert plan.cost == plan.bound == sheets


# Worked by hand: n blanks of 6 in with a kerf of 1/8 in take 6 n + (n - 1)/8 of 96 in: 15, not 16;
# across 2 n + (n - 1)/8 of 48 in: 22. 15 x 22 = 330; turned 45 x 7 = 315.
def test_a_kerf_is_lost_between_blanks_and_not_at_the_end():
    machine = Machine(kerf=INCH / 8)
    piece = Piece(id="coupon", length=6 * INCH, width=2 * INCH, count=330, rotate=False)
    assert solve(Problem(pieces=(piece,), stock=(SHEET,), machine=machine)).cost == 1
    more = replace(piece, count=331)
    assert solve(Problem(pieces=(more,), stock=(SHEET,), machine=machine)).cost == 2


# 240 in with 1/8 in at each end leaves 239-3/4 in; 7 of 34 in and 6 kerfs of 1/8 in are 238-3/4 in.
def test_bars_lose_trim_at_both_ends_and_a_kerf_a_cut():
    bar = Stock(id="bar", length=240 * INCH)
    machine = Machine(kerf=INCH / 8, trim=INCH / 8)
    piece = Piece(id="strap", length=34 * INCH, count=7)
    plan = solve(Problem(pieces=(piece,), stock=(bar,), machine=machine))
    assert (plan.cost, plan.proven) == (1, True)
    [layout] = plan.layouts
    assert layout.blanks[0].x == pytest.approx(INCH / 8)
    assert all(blank.width is None for blank in layout.blanks)


def test_a_remnant_goes_before_a_new_sheet():
    remnant = Stock(id="remnant", length=24 * INCH, width=12 * INCH, price=Decimal(0), count=1)
    new = replace(SHEET, price=Decimal("84.50"))
    few = Piece(id="coupon", length=6 * INCH, width=2 * INCH, count=24)
    plan = solve(Problem(pieces=(few,), stock=(new, remnant)))
    assert [layout.stock for layout in plan.layouts] == ["remnant"]
    assert (plan.cost, plan.proven) == (0, True)
    plan = solve(Problem(pieces=(replace(few, count=25),), stock=(new, remnant)))
    assert plan.cost == Decimal("84.50")


def test_the_cheaper_mix_of_sizes_is_found():
    # one blank of 40 x 40 in a sheet; the small sheet holds one too and costs less
    small = Stock(id="small", length=42 * INCH, width=42 * INCH, price=Decimal(30), count=2)
    new = replace(SHEET, price=Decimal(84))
    piece = Piece(id="plate", length=40 * INCH, width=40 * INCH, count=4)
    plan = solve(Problem(pieces=(piece,), stock=(new, small)))
    assert (plan.cost, plan.bound) == (Decimal(144), Decimal(144))  # 2 of 30 and 1 of 84


def test_grain_keeps_a_blank_from_being_turned():
    piece = Piece(id="long", length=40 * INCH, width=90 * INCH, rotate=False)
    plan = solve(Problem(pieces=(piece,), stock=(SHEET,)))
    assert [(row.piece, row.reason) for row in plan.unplaceable] == [("long", "size")]
    [layout] = solve(Problem(pieces=(replace(piece, rotate=True),), stock=(SHEET,))).layouts
    assert layout.blanks[0].rotated


@pytest.mark.parametrize(
    ("piece", "machine", "thickness", "stock", "reason"),
    [
        (Piece(id="p", length=100 * INCH, width=1 * INCH), Machine(), None, SHEET, "size"),
        (Piece(id="p", length=96 * INCH, width=1 * INCH), Machine(trim=0.001), None, SHEET, "size"),
        (Piece(id="p", length=1.0, width=0.1), Machine(kerf=0.1), None, SHEET, ""),
        (Piece(id="p", length=1.0), Machine(), None, SHEET, "stock"),  # a bar of no bar
        (Piece(id="p", length=1.0, width=0.1), Machine(narrowest=2.5), None, SHEET, "strip"),
        (Piece(id="p", length=1.0, width=0.1), Machine(longest=0.5), None, SHEET, "cut"),
        (Piece(id="p", length=1.0, width=0.1), Machine(thickest=0.003), 0.004, SHEET, "thickness"),
        (
            Piece(id="p", length=1.0, width=0.1),
            Machine(),
            None,
            replace(SHEET, count=0),
            "stock",
        ),
    ],
)
def test_what_cannot_be_had_is_named_with_why(piece, machine, thickness, stock, reason):
    other = Piece(id="q", length=0.2, width=0.2)
    problem = Problem(pieces=(piece, other), stock=(stock,), machine=machine, thickness=thickness)
    found = {row.piece: row.reason for row in solve(problem, seconds=0.3).unplaceable}
    assert found.get("p", "") == reason


def test_short_stock_is_used_up_and_the_rest_is_named():
    piece = Piece(id="coupon", length=6 * INCH, width=2 * INCH, count=500)
    plan = solve(Problem(pieces=(piece,), stock=(replace(SHEET, count=1),)), seconds=0.5)
    assert [(row.count, row.reason) for row in plan.unplaceable] == [(116, "stock")]
    assert (plan.cost, plan.proven) == (1, True)


def test_sheets_and_bars_stand_in_one_problem():
    bar = Stock(id="bar", length=6.0, price=Decimal(30))
    pieces = (Piece(id="p", length=0.3, width=0.2, count=9), Piece(id="b", length=0.5, count=12))
    plan = solve(Problem(pieces=pieces, stock=(SHEET, bar)))
    assert {layout.stock for layout in plan.layouts} == {"sheet", "bar"}
    assert (plan.cost, plan.unplaceable) == (Decimal(31), ())


def test_a_longer_search_starts_from_a_plan_and_is_called_off():
    pieces = tuple(
        Piece(id=f"p{n}", length=(0.3 + n * 0.037), width=(0.11 + n * 0.013), count=9 + n)
        for n in range(8)
    )
    problem = Problem(pieces=pieces, stock=(SHEET, replace(SHEET, id="half", length=48 * INCH)))
    first = solve(problem, seconds=0.3)
    seen = []
    plan = solve(problem, seconds=60, start=first, progress=lambda plan: seen.append(plan) or True)
    assert len(seen) <= 3
    assert plan.cost <= first.cost
    for one in (plan, *seen):
        check_plan(problem, one)


def test_a_plan_of_another_problem_is_no_start():
    piece = Piece(id="coupon", length=0.3, width=0.2, count=3)
    plan = solve(Problem(pieces=(piece,), stock=(SHEET,)))
    with pytest.raises(ValueError, match="accounted for"):
        solve(Problem(pieces=(replace(piece, count=4),), stock=(SHEET,)), start=plan)
    with pytest.raises(ValueError, match="seconds"):
        solve(Problem(pieces=(piece,), stock=(SHEET,)), seconds=0)


def test_no_piece_is_no_plan_and_no_cost():
    plan = solve(Problem(pieces=(), stock=(SHEET,)))
    assert (plan.layouts, plan.cost, plan.proven, plan.gap) == ((), 0, True, 0.0)


# By hand: the long strip of 0.1 m can only come off first; the 0.3 m that are left hold the
# plate and, beside it, three bars one above the other, which takes a third stage.
def test_a_third_stage_cuts_blanks_from_across_a_strip():
    pieces = (
        Piece(id="strip", length=1.0, width=0.1, rotate=False),
        Piece(id="plate", length=0.5, width=0.3, rotate=False),
        Piece(id="bar", length=0.5, width=0.1, count=3, rotate=False),
    )
    sheet = Stock(id="sheet", length=1.0, width=0.4)
    two = Problem(pieces=pieces, stock=(sheet,))
    three = replace(two, machine=Machine(stages=3))
    assert solve(two).cost == 2
    plan = solve(three)
    assert (plan.cost, plan.proven) == (1, True)
    with pytest.raises(ValueError, match="third stage"):
        check_plan(two, plan)


def test_equal_gauge_settings_are_wanted_where_the_cost_is_equal():
    # 12 blanks of one size: strips of one height and one length do, two settings
    piece = Piece(id="coupon", length=0.2, width=0.1, count=12)
    assert solve(Problem(pieces=(piece,), stock=(SHEET,))).setups == 2


def test_each_size_has_strips_of_its_own_where_there_is_room_for_them():
    # by hand: 3 × 6 and 4 × 8 share neither height nor length, so each takes two settings; one
    # in a strip of the other would be cut to its width by a third
    pieces = tuple(
        Piece(id=name, length=long * INCH, width=wide * INCH, count=count)
        for name, long, wide, count in (("small", 6, 3, 23), ("large", 8, 4, 17))
    )
    plan = solve(Problem(pieces=pieces, stock=(SHEET,)))
    assert (plan.cost, plan.setups) == (1, 4)
    # strips 96 in long hold 16 and 12, two of each leave 34 of 48 in; strips 48 in long hold 8
    # and 6, three of each leave 75 of 96 in, which is more
    assert plan.largest_remnant == pytest.approx(75 * 48 * INCH**2)


def sheets_of(uses):
    return Counter(pattern.sheet for pattern in Counter(uses).elements())


@settings(max_examples=25)
@given(problems(flat=True))
def test_settling_gives_the_same_blanks_of_the_same_sheets_by_no_more_settings(problem):
    task, _ = task_of(problem)
    assume(task is not None)
    before = Search(task).best
    assume(not before.short.any() and sum(before.uses.values()) <= 14)
    after = settle_few(task, [], before.uses, seconds=2)
    assert not cutting_of(task, after).short.any()
    assert sheets_of(after) <= sheets_of(before.uses)
    assert len(set().union(*map(settings_of, after))) <= len(
        set().union(*map(settings_of, before.uses))
    )


@pytest.mark.parametrize(
    ("values", "match"),
    [
        ({"length": float("nan")}, "sides"),
        ({"length": 0.0}, "sides"),
        ({"length": 1.0, "width": -1.0}, "sides"),
        ({"length": 1.0, "count": -1}, "count"),
    ],
)
def test_sizes_and_counts_out_of_range_are_refused(values, match):
    with pytest.raises(ValueError, match=match):
        Piece(id="p", **values)


def test_a_machine_has_sane_limits():
    with pytest.raises(ValueError, match="kerf"):
        Machine(kerf=-0.1)
    with pytest.raises(ValueError, match="stages"):
        Machine(stages=4)
    with pytest.raises(ValueError, match="longest"):
        Machine(longest=0)


@pytest.mark.parametrize("wanted", [1, 2, 3, 5, 40])
@pytest.mark.parametrize("order", [1, -1])
def test_of_stock_that_is_alike_what_is_limited_goes_first(wanted, order):
    # by hand: a sheet of 48 x 96 in holds one piece of 40 x 90 in
    there = [replace(SHEET, id="there", count=2), replace(SHEET, id="bought")]
    piece = Piece(id="p", length=90 * INCH, width=40 * INCH, count=wanted)
    plan = solve(Problem(pieces=(piece,), stock=tuple(there[::order])))
    used = {one.stock: one.count for one in plan.layouts}
    assert used == {"there": min(wanted, 2)} | ({"bought": wanted - 2} if wanted > 2 else {})
    assert (plan.cost, plan.proven) == (wanted, True)


@settings(max_examples=20, deadline=None)
@given(problems(), st.integers(1, 4))
def test_nothing_is_bought_while_its_like_lies_there(problem, count):
    like = replace(problem.stock[0], id="bought", count=None)
    problem = replace(problem, stock=(like, replace(like, id="there", count=count)))
    plan = solve(problem, seconds=0.3)
    used = {"there": 0, "bought": 0}
    for one in plan.layouts:
        used[one.stock] += one.count
    assert used["there"] == min(count, sum(used.values()))


def test_dust_of_which_a_sheet_holds_millions_is_planned_in_seconds():
    # by hand: 2000 squares of 0.1 mm lie in one strip of 200 mm, which a sheet has room for
    dust = Piece(id="dust", length=1e-4, width=1e-4, count=2000)
    begin = process_time()
    plan = solve(Problem(pieces=(dust,), stock=(SHEET,)))
    assert process_time() - begin < 10
    assert (plan.cost, plan.proven) == (1, True)
