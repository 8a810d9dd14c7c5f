"""What shelf counts teach about an item's factor."""

import numpy as np
import pytest
from scipy import stats

from inventory.core.learning import learn_factor


def test_without_counts_the_belief_stays():
    learned = learn_factor(1.8, 0.1, counted=0, computed=0, grain=0.1)
    assert (learned.factor, learned.bias_cv) == (pytest.approx(1.8), pytest.approx(0.1))


def test_counts_pull_the_factor_towards_counted_over_computed():
    # a = 100; (100 + 30) / (100 / 2 + 20) = 1.857; cv = 1 / sqrt(130)
    learned = learn_factor(2.0, 0.1, counted=30, computed=20, grain=1)
    assert learned.factor == pytest.approx(130 / 70)
    assert learned.bias_cv == pytest.approx(130**-0.5)
    much = learn_factor(2.0, 0.1, counted=3000, computed=2000, grain=0.1)
    assert much.factor == pytest.approx(1.5, abs=0.01)


def test_the_posterior_is_prior_times_likelihood():
    # on a grid: scipy stats.gamma.pdf times stats.poisson.pmf, normalised
    grid = np.linspace(0.2, 5, 20_001)
    weight = stats.gamma.pdf(grid, 25, scale=1.8 / 25) * stats.poisson.pmf(14, grid * 10)
    mean = np.sum(grid * weight) / np.sum(weight)
    spread = np.sqrt(np.sum((grid - mean) ** 2 * weight) / np.sum(weight))
    learned = learn_factor(1.8, 0.2, counted=7, computed=5, grain=0.5)
    assert learned.factor == pytest.approx(mean, rel=1e-6)
    assert learned.bias_cv == pytest.approx(spread / mean, rel=1e-6)


@pytest.mark.parametrize("name", ["counted", "computed", "grain"])
@pytest.mark.parametrize("value", [-1, float("nan"), float("inf")])
def test_values_outside_their_range_are_refused(name, value):
    given = {"counted": 1, "computed": 1, "grain": 1, name: value}
    with pytest.raises(ValueError, match=name):
        learn_factor(1.8, 0.1, **given)
