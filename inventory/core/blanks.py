"""Blanks that classes will ask for in some days, from the simulation of the forecast. Pure."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date

import numpy as np

from inventory.core.case import Case
from inventory.core.forecast import RUNS, SEED, rank
from inventory.core.simulate import BLOCK, Draws, Floats, sessions_ahead, simulate

NOISE = 1e-9  # of a piece: shares of blanks that serve several attempts add up to whole ones


@dataclass(frozen=True, slots=True)
class PiecesNeeded:
    """Whole blanks of one size asked for from the first day to the last, and in the days before."""

    within: int
    before: int


def pieces_needed(
    case: Case,
    first: date,
    last: date,
    *,
    as_of: date | None = None,
    quantile: float,
    runs: int = RUNS,
    seed: int = SEED,
) -> dict[str, PiecesNeeded]:
    """Return what attempts and practice begun from `first` to `last` take of each item.

    Parameters
    ----------
    case : Case
        Its uses name sizes of blank, in pieces: those of an attempt over the attempts they serve,
        practice pieces beside them. No factor and no scatter: plate is cut to size.
    first, last : date
        Sessions of both days count. Those after `as_of` and before `first` are simulated too:
        what is begun there is not begun again.
    quantile : float
        0 to 1; 0.5 is the likely figure, the case's `service` the ample one.
    runs, seed : int
        As for `forecast`, whose very terms are simulated.

    Raises
    ------
    ValueError
        If `last` lies before `first`, or the quantile is outside 0 to 1.
    """
    if last < first:
        raise ValueError(f"last must not lie before first, got {first} to {last}")
    if not 0 <= quantile <= 1:
        raise ValueError(f"quantile must be 0 to 1, got {quantile}")
    sessions = [session for session in sessions_ahead(case, as_of) if session.day <= last]
    earlier = sum(session.day < first for session in sessions)
    within: dict[str, Floats] = defaultdict(lambda: np.zeros(runs))
    before: dict[str, Floats] = defaultdict(lambda: np.zeros(runs))
    draws = Draws(seed)
    for begin in range(0, runs, BLOCK):
        end = min(begin + BLOCK, runs)
        terms = simulate(case, sessions, draws, end - begin)
        for j, task in enumerate(case.tasks):
            for use in task.uses:
                taken = terms.booked[j] * use.quantity
                if use.practice:
                    taken = taken + terms.begun[j] * use.practice
                then = taken[earlier - 1] if earlier else 0.0
                total = taken[-1] if len(sessions) else 0.0
                before[use.item][begin:end] += then
                within[use.item][begin:end] += total - then
    return {
        item: PiecesNeeded(_whole(within[item], quantile), _whole(before[item], quantile))
        for item in within
    }


def _whole(values: Floats, quantile: float) -> int:
    place = rank(quantile, len(values))
    return math.ceil(float(np.partition(values, place)[place]) - NOISE)
