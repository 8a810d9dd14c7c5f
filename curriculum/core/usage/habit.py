"""Figures that hands grow out of: one for the first weeks of a term, another after them."""

from __future__ import annotations

from curriculum.core.defaults import Defaults
from curriculum.core.steps import Input, Step, Worksheet

_WEEK_S = 604800.0


def habit(
    work: Worksheet, label: str, name: str, defaults: Defaults, week: int | None
) -> Input | Step:
    """Return the figure `name` of the first weeks, or `name`_late after them.

    `week` counts from 1; None takes the mean over the weeks of a term, as a step called `label`.
    """
    early, late = defaults.input(name), defaults.input(f"{name}_late")
    if week is not None:
        return early if week * _WEEK_S <= defaults["first_weeks"].value else late
    return work.add(
        label,
        "(early * first_weeks + late * (term_weeks - first_weeks)) / term_weeks",
        early.unit,
        early=early,
        late=late,
        first_weeks=defaults.input("first_weeks"),
        term_weeks=defaults.input("term_weeks"),
    )
