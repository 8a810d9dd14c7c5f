"""Cutting plans of sheets and bars: the public names."""

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

__all__ = [
    "REASONS",
    "Cut",
    "Layout",
    "Machine",
    "Part",
    "Piece",
    "Plan",
    "Problem",
    "Stock",
    "Unplaceable",
    "plan_as_json",
    "plan_of_json",
]
