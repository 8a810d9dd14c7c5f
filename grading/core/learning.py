"""What the results teach: pass rates with their doubt, defects by number, agreement of graders."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rate:
    """A chance with its credible interval, all 0 to 1, and how many results stand behind it."""

    mean: float
    low: float
    high: float
    count: int


def pass_rate(
    passes: int,
    fails: int,
    *,
    prior: float | None = None,
    weight: float = 8.0,
    level: float = 0.9,
) -> Rate:
    """Return the pass rate's posterior mean and its central interval.

    Parameters
    ----------
    passes, fails : int
        Judged first coupons, each at least 0.
    prior : float, optional
        The library's chance of a pass, 0 < prior <= 1; it counts as `weight` coupons. Without it
        the prior is flat, Beta(1, 1).
    level : float
        Share of the posterior that the interval holds, 0 to 1, ends excluded.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Beta posterior: Beta(w p + passes, w (1 - p) + fails). Coupons are taken as independent.
    """
    if passes < 0 or fails < 0:
        raise ValueError(f"passes and fails must be at least 0, got {passes} and {fails}")
    if not 0 < level < 1 or not 0 < weight < math.inf:
        raise ValueError("level must be between 0 and 1, weight above 0")
    if prior is not None and not 0 < prior <= 1:
        raise ValueError(f"prior must be above 0 and at most 1, got {prior}")
    a = passes + (1.0 if prior is None else weight * prior)
    b = fails + (1.0 if prior is None else weight * (1 - prior))
    if b == 0:
        return Rate(1.0, 1.0, 1.0, passes)
    from scipy.special import betaincinv  # slow to import

    tail = (1 - level) / 2
    return Rate(
        a / (a + b),
        float(betaincinv(a, b, tail)),
        float(betaincinv(a, b, 1 - tail)),
        passes + fails,
    )


@dataclass(frozen=True, slots=True)
class Defect:
    """One kind of defect: how often, its share of all, and the share of it and all before it."""

    name: str
    count: int
    share: float
    cumulative: float


def defect_pareto(names: Iterable[str]) -> list[Defect]:
    """Count defects, the most frequent first, ties by name."""
    counts = sorted(Counter(names).items(), key=lambda item: (-item[1], item[0]))
    total, so_far, rows = sum(count for _, count in counts), 0, []
    for name, count in counts:
        so_far += count
        rows.append(Defect(name, count, count / total, so_far / total))
    return rows


@dataclass(frozen=True, slots=True)
class Agreement:
    """Cohen's kappa of two graders; None where chance alone makes them agree always.

    `observed` is the share of coupons judged alike, `error` the standard error of kappa.
    """

    kappa: float | None
    error: float | None
    observed: float
    count: int


def agreement(pairs: Sequence[tuple[str, str]]) -> Agreement:
    """Return Cohen's kappa for pairs of verdicts on the same coupons.

    kappa = (po - pe) / (1 - pe) with the observed agreement po and the agreement pe that the
    graders' own frequencies give by chance. Standard error for large samples after Fleiss, Cohen
    and Everitt (1969). Raises `ValueError` without pairs.
    """
    if not pairs:
        raise ValueError("there is no coupon that both have judged")
    n = len(pairs)
    cells = {pair: count / n for pair, count in Counter(pairs).items()}
    first = {name: count / n for name, count in Counter(one for one, _ in pairs).items()}
    second = {name: count / n for name, count in Counter(two for _, two in pairs).items()}
    names = first.keys() | second.keys()
    observed = math.fsum(cells.get((name, name), 0.0) for name in names)
    chance = math.fsum(first.get(name, 0.0) * second.get(name, 0.0) for name in names)
    if chance >= 1 - 1e-12:
        return Agreement(None, None, observed, n)
    kappa = (observed - chance) / (1 - chance)
    alike = math.fsum(
        cells.get((name, name), 0.0)
        * (1 - (first.get(name, 0.0) + second.get(name, 0.0)) * (1 - kappa)) ** 2
        for name in names
    )
    apart = (1 - kappa) ** 2 * math.fsum(
        share * (second.get(one, 0.0) + first.get(two, 0.0)) ** 2
        for (one, two), share in cells.items()
        if one != two
    )
    rest = (kappa - chance * (1 - kappa)) ** 2
    variance = max(alike + apart - rest, 0.0) / (n * (1 - chance) ** 2)
    return Agreement(kappa, math.sqrt(variance), observed, n)
