"""Cutting plans of sheets and bars: the public names."""

from .check import PlanError, check_plan
from .plan import (
    REASONS,
    Cut,
    Layout,
    Part,
    Plan,
    Unplaceable,
    plan_as_json,
    plan_of_json,
)
from .problem import Machine, Piece, Problem, Stock
from .solver import SECONDS, solve

__all__ = [
    "REASONS",
    "SECONDS",
    "Cut",
    "Layout",
    "Machine",
    "Part",
    "Piece",
    "Plan",
    "PlanError",
    "Problem",
    "Stock",
    "Unplaceable",
    "check_plan",
    "plan_as_json",
    "plan_of_json",
    "solve",
]
