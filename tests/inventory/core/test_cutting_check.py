"""The check of plans on its own: a sound plan passes, each thing spoiled in it is found."""

import ast
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from inventory.core import cutting
from inventory.core.cutting import (
    Machine,
    Piece,
    PlanError,
    Problem,
    Stock,
    Unplaceable,
    check_plan,
    solve,
)
from inventory.core.cutting.check import faults_of

PROBLEM = Problem(
    pieces=(
        Piece(id="a", length=0.5, width=0.2, count=4, rotate=False),
        Piece(id="b", length=0.5, width=0.1, count=2, rotate=False),
    ),
    stock=(Stock(id="sheet", length=2.0, width=1.0, price=Decimal(40), count=2),),
    machine=Machine(kerf=0.003, trim=0.01, narrowest=0.05, longest=2.0, thickest=0.006),
    thickness=0.005,
)


@pytest.fixture(scope="module")
def plan():
    return solve(PROBLEM)


def spoiled(plan, place=None, cut=None, **changes):
    """Return the plan with one part or one cut changed."""
    [layout] = plan.layouts
    parts, cuts = list(layout.parts), list(layout.cuts)
    if place is not None:
        parts[place] = replace(parts[place], **changes)
    if cut is not None:
        cuts[cut] = replace(cuts[cut], **changes)
    return replace(plan, layouts=(replace(layout, parts=tuple(parts), cuts=tuple(cuts)),))


def place_of(plan, kind):
    return next(n for n, part in enumerate(plan.layouts[0].parts) if part.kind == kind)


def test_the_check_knows_nothing_of_the_solver():
    tree = ast.parse((Path(cutting.__file__).parent / "check.py").read_text())
    imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert imported & {"plan", "problem"} == {"plan", "problem"}
    assert imported <= {"__future__", "collections", "collections.abc", "dataclasses"} | {
        "decimal",
        "plan",
        "problem",
    }


def test_the_sound_plan_passes(plan):
    check_plan(PROBLEM, plan)
    assert len(plan.layouts) == 1


@pytest.mark.parametrize(
    ("kind", "changes", "match"),
    [
        ("blank", {"x": 0.0101}, "does not"),
        ("blank", {"length": 0.501}, "size of piece"),
        ("blank", {"piece": "c"}, "no piece is called"),
        ("blank", {"piece": "b"}, "accounted for"),
        ("blank", {"rotated": True}, "may not be turned"),
        ("blank", {"kind": "scrap"}, "accounted for"),
        ("scrap", {"kind": "remnant"}, "trim"),
        ("remnant", {"kind": "strip"}, "left over"),
        ("strip", {"kind": "scrap"}, "cut again"),
        ("stock", {"length": 2.1}, "whole stock"),
    ],
)
def test_a_spoiled_part_is_found(plan, kind, changes, match):
    with pytest.raises(PlanError, match=match):
        check_plan(PROBLEM, spoiled(plan, place_of(plan, kind), **changes))


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"number": 9}, "stands in place"),
        ({"part": 1}, "is not there"),
        ({"setting": 0.3}, "gauge edge"),
        ({"at": 0.3}, "gauge edge"),
        ({"runs": "length"}, "does not|gauge edge"),
        ({"runs": "slanting"}, "runs along"),
        ({"rest": None}, "in no list"),
        ({"off": None}, "in no list"),
        ({"off": 2}, "there already"),
        ({"stage": 7}, "no stage"),
    ],
)
def test_a_spoiled_cut_is_found(plan, changes, match):
    with pytest.raises(PlanError, match=match):
        check_plan(PROBLEM, spoiled(plan, cut=0, **changes))


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"cost": Decimal(39)}, "the stock costs"),
        ({"bound": Decimal(41)}, "bound"),
        ({"unplaceable": (Unplaceable(piece="a", count=1, reason="size"),)}, "accounted for"),
        ({"unplaceable": (Unplaceable(piece="a", count=0, reason="size"),)}, "named as impossible"),
        ({"layouts": ()}, "accounted for"),
    ],
)
def test_what_a_plan_says_of_itself_is_found_out(plan, changes, match):
    with pytest.raises(PlanError, match=match):
        check_plan(PROBLEM, replace(plan, **changes))


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"machine": replace(PROBLEM.machine, kerf=0.004)}, "beyond the kerf"),
        ({"machine": replace(PROBLEM.machine, trim=0.02)}, "trim"),
        ({"machine": replace(PROBLEM.machine, narrowest=0.3)}, "narrower"),
        ({"machine": replace(PROBLEM.machine, longest=0.4)}, "longer than the machine"),
        ({"thickness": 0.007}, "thickness"),
        ({"least_remnant": 5.0}, "too small for a remnant"),
        ({"stock": (replace(PROBLEM.stock[0], count=0),)}, "there are 0"),
        ({"stock": (replace(PROBLEM.stock[0], id="other"),)}, "no stock is called"),
        ({"stock": (replace(PROBLEM.stock[0], width=1.1),)}, "whole stock"),
        ({"pieces": PROBLEM.pieces[:1]}, "no piece is called"),
    ],
)
def test_a_plan_of_other_rules_is_found(plan, changes, match):
    with pytest.raises(PlanError, match=match):
        check_plan(replace(PROBLEM, **changes), plan)


def test_a_count_that_is_none_is_found(plan):
    [layout] = plan.layouts
    empty = replace(plan, layouts=(replace(layout, count=0),))
    assert any("its count is 0" in fault for fault in faults_of(PROBLEM, empty))
