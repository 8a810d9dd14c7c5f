"""What the shop's own counts say about an item's factor: real use over computed use."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LearnedFactor:
    """Mean and coefficient of variation of the factor: `factor` and `bias_cv` of an `Item`."""

    factor: float
    bias_cv: float


def learn_factor(
    factor: float, bias_cv: float, *, counted: float, computed: float, grain: float
) -> LearnedFactor:
    """Return the Gamma posterior of an item's factor after shelf counts.

    Parameters
    ----------
    factor, bias_cv : float
        The belief before: mean and coefficient of variation, both > 0.
    counted, computed : float
        Use by the counts and use computed from the attempts over the same time, item's unit,
        >= 0; several periods are added up first.
    grain : float
        Lump in which real use scatters (its variance over its mean), item's unit, > 0. A bigger
        lump lets a count teach less. One attempt's use is the least that makes sense.

    Raises
    ------
    ValueError
        If an argument is outside its range, or is NaN.

    Notes
    -----
    Prior Gamma(a, a / factor) with a = 1 / bias_cv^2; counted / grain is taken as Poisson with
    mean factor * computed / grain, which gives Gamma(a + counted / grain, a / factor + computed /
    grain): the conjugate pair of any textbook of Bayesian statistics. A habit that changes during
    the time counted breaks the assumption, and bias_cv is then too small.
    """
    for name, value in (("factor", factor), ("bias_cv", bias_cv), ("grain", grain)):
        if not 0 < value < math.inf:
            raise ValueError(f"{name} must be above 0 and finite, got {value}")
    for name, value in (("counted", counted), ("computed", computed)):
        if not 0 <= value < math.inf:
            raise ValueError(f"{name} must be 0 or more and finite, got {value}")
    belief = bias_cv**-2
    shape = belief + counted / grain
    rate = belief / factor + computed / grain
    return LearnedFactor(factor=shape / rate, bias_cv=1 / math.sqrt(shape))
