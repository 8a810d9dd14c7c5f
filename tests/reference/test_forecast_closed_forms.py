"""The forecast against distributions known in closed form.

Source of each check value: scipy.stats of scipy 1.17 (the call stands beside it), or the algebra
in the comment. Sampling error is allowed for as the forecast states it.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from inventory.core.case import read_case
from inventory.core.forecast import forecast, quantile_ranks, rank
from inventory.core.simulate import Draws, first_pass_rate
from tests.inventory.core.cases import one_task, sessions

RUNS = 20_000


def total(case, runs=RUNS, seed=1):
    return forecast(read_case(case), runs=runs, seed=seed).item("plate").total


def agrees(figures, distribution, mean, likely, ample):
    """Mean within 4 standard errors, quantiles within the stated intervals, law by chi-square."""
    assert distribution.mean() == pytest.approx(mean)
    assert (distribution.ppf(0.5), distribution.ppf(0.9)) == (likely, ample)
    assert abs(figures.mean - mean) < 4 * figures.se_mean
    assert figures.likely_ci[0] <= likely <= figures.likely_ci[1]
    assert figures.ample_ci[0] <= ample <= figures.ample_ci[1]


def test_certain_passes_need_exactly_the_plan():
    case = one_task(first_pass=1)
    case["tasks"][0]["uses"] = [{"item": "plate", "quantity": 0.1, "cv": 0}]
    figures = total(case, runs=500)
    plan = pytest.approx(18 * 0.1, abs=1e-12)
    assert (figures.mean, figures.likely, figures.ample) == (plan, plan, plan)
    assert figures.se_mean == 0
    assert figures.likely_ci == (figures.likely, figures.likely)


def test_redos_of_a_class_follow_the_beta_negative_binomial():
    # stats.betanbinom(18, 4, 4, loc=18): mean 42, median 36, 90 % 66
    agrees(total(one_task()), stats.betanbinom(18, 4, 4, loc=18), 42, 36, 66)


def test_judged_first_coupons_narrow_the_doubt():
    # prior 8 coupons at 0.5, then 12 passes and 6 fails: Beta(16, 10)
    # stats.betanbinom(6, 16, 10, loc=6): mean 10, median 9, 90 % 14
    agrees(
        total(one_task(students=6, passes=12, fails=6)),
        stats.betanbinom(6, 16, 10, loc=6),
        10,
        9,
        14,
    )


def test_the_whole_distribution_of_the_total_is_the_closed_one():
    distribution = stats.betanbinom(18, 4, 4, loc=18)
    for service in (0.1, 0.25, 0.75, 0.95, 0.99):
        figures = forecast(read_case({**one_task(), "service": service}), runs=RUNS, seed=2)
        low, high = figures.item("plate").total.ample_ci
        assert low <= distribution.ppf(service) <= high


@pytest.mark.parametrize(
    ("theta", "mean"),
    [(0.35, 2.24536), (0.2, 3.04528), (0.5, 1.77792)],
    # E[A] = sum over k < cap of the product of (1 - p_1) ... (1 - p_k), p_k from the odds
)
def test_redos_help_and_the_cap_ends_them(theta, mean):
    survive, expected = 1.0, 0.0
    for k in range(6):
        expected += survive
        odds = theta / (1 - theta) * 1.5**k
        survive *= 1 / (1 + odds)
    assert expected == pytest.approx(mean, abs=5e-6)
    figures = total(one_task(pass_probability=theta, redo_odds=1.5, cap=6))
    assert abs(figures.mean / 18 - mean) < 4 * figures.se_mean / 18


def test_twelve_places_for_five_tasks_at_even_odds():
    # attempts to 5 passes are 5 + nbinom(5, 0.5); P(<= 12) = stats.nbinom.cdf(7, 5, 0.5) = 0.80615
    # E[min(attempts, 12)] = 9.4209, from the same law
    law = stats.nbinom(5, 0.5, loc=5)
    assert law.cdf(12) == pytest.approx(0.80615, abs=1e-5)
    started = sum(min(n, 12) * law.pmf(n) for n in range(5, 400))
    assert started == pytest.approx(9.4209, abs=1e-4)
    case = one_task(students=1, pass_probability=0.5)
    task = case["tasks"][0]
    case["tasks"] = [{**task, "id": f"t{n}", "minutes": 100} for n in range(5)]
    case["sessions"] = sessions(3, minutes=400)
    answer = forecast(read_case(case), runs=RUNS, seed=3)
    p = answer.finish[0].p
    assert abs(p - 0.80615) < 4 * math.sqrt(0.80615 * 0.19385 / RUNS)
    figures = answer.item("plate").total
    assert abs(figures.mean - 9.4209) < 4 * figures.se_mean


@pytest.mark.parametrize(("cv", "bias"), [(0.15, 0.0), (0.0, 0.1), (0.6, 0.25)])
def test_the_compound_variance(cv, bias):
    # Var = (1 + g2) (E[N] u2 c2 + u2 Var N) + g2 u2 E[N]2; N = stats.betanbinom(18, 8, 4, loc=18)
    count = stats.betanbinom(18, 16, 8, loc=18)
    u = 0.3
    case = one_task(first_pass=2 / 3, weight=24)
    case["tasks"][0]["uses"] = [{"item": "plate", "quantity": u, "cv": cv}]
    case["items"][0]["bias_cv"] = bias
    figures = total(case, runs=40_000)
    mean, variance = count.mean(), count.var()
    expected = (1 + bias**2) * (mean * u**2 * cv**2 + u**2 * variance) + bias**2 * u**2 * mean**2
    simulated = figures.se_mean**2 * 40_000
    assert abs(figures.mean - mean * u) < 4 * figures.se_mean
    assert simulated == pytest.approx(expected, rel=0.06)


def test_the_use_of_a_fixed_number_of_attempts_is_gamma():
    # 18 sure attempts of Gamma(mean 2, cv 0.4): stats.gamma(18 / 0.16, scale=2 * 0.16)
    case = one_task(first_pass=1)
    case["tasks"][0]["uses"] = [{"item": "plate", "quantity": 2, "cv": 0.4}]
    law = stats.gamma(18 / 0.16, scale=2 * 0.16)
    figures = total(case)
    assert figures.likely_ci[0] <= law.ppf(0.5) <= figures.likely_ci[1]
    assert figures.ample_ci[0] <= law.ppf(0.9) <= figures.ample_ci[1]


def test_the_two_uses_of_one_item_in_a_task_scatter_apart():
    # Var of the sum of two independent uses is the sum, not four times one
    case = one_task(first_pass=1)
    case["tasks"][0]["uses"] = [{"item": "plate", "quantity": 1, "cv": 0.4}] * 2
    figures = total(case)
    assert figures.se_mean**2 * RUNS == pytest.approx(2 * 18 * 0.16, rel=0.05)


def test_a_class_path_too_long_to_draw_one_by_one_has_the_same_law():
    # 3000 sure attempts: stats.gamma(3000 / 0.25, scale=0.25)
    case = one_task(students=3000, first_pass=1)
    case["sessions"] = sessions(2)
    case["tasks"][0]["uses"] = [{"item": "plate", "quantity": 1, "cv": 0.5}]
    figures = total(case, runs=400)
    law = stats.gamma(3000 / 0.25, scale=0.25)
    assert abs(figures.mean - 3000) < 4 * figures.se_mean
    assert figures.se_mean * 20 == pytest.approx(law.std(), rel=0.15)


def test_first_coupon_passes_of_a_class_are_beta_binomial():
    # stats.betabinom(18, 4, 4): 18 first coupons share one pass rate a run
    task = read_case(one_task()).tasks[0]
    rates = first_pass_rate(task, Draws(5), RUNS)
    rng = np.random.default_rng(5)
    passes = rng.binomial(18, rates)
    seen = np.bincount(passes, minlength=19)
    expected = stats.betabinom(18, 4, 4).pmf(range(19)) * RUNS
    assert stats.chisquare(seen, expected * RUNS / expected.sum()).pvalue > 0.001


def test_the_first_coupons_of_the_simulated_class_are_beta_binomial_too():
    # with a cap of 2 a task takes 18 + fails attempts; fails = stats.betabinom(18, 4, 4)
    answer = forecast(read_case(one_task(cap=2)), runs=RUNS, seed=6)
    figures = answer.item("plate").total
    law = stats.betabinom(18, 4, 4, loc=18)
    assert abs(figures.mean - 27) < 4 * figures.se_mean
    assert figures.se_mean**2 * RUNS == pytest.approx(law.var(), rel=0.05)
    assert figures.ample_ci[0] <= law.ppf(0.9) <= figures.ample_ci[1]


@pytest.mark.parametrize(("q", "runs"), [(0.5, 2000), (0.9, 2000), (0.9, 100), (0.99, 300)])
def test_quantiles_and_their_intervals_by_order_statistics(q, runs):
    # numpy "inverted_cdf"; the interval from stats.binom(runs, q).ppf
    values = np.arange(runs, dtype=float)
    assert values[rank(q, runs)] == np.quantile(values, q, method="inverted_cdf")
    low, high = quantile_ranks(q, runs)
    law = stats.binom(runs, q)
    assert low == max(law.ppf(0.025), 1) - 1
    assert high == min(law.ppf(0.975) + 1, runs) - 1
    inside = law.cdf(high) - law.cdf(low)  # P(low + 1 <= number below the quantile <= high)
    assert inside >= 0.95 or high == runs - 1


def test_the_interval_of_a_quantile_covers_it_as_often_as_it_says():
    law = stats.betanbinom(18, 4, 4, loc=18)
    covered = 0
    for seed in range(60):
        low, high = total(one_task(), runs=300, seed=seed).ample_ci
        covered += low <= law.ppf(0.9) <= high
    assert covered >= stats.binom(60, 0.95).ppf(0.001)


def test_more_attempts_are_rarer_in_the_closed_law_and_in_ours():
    case = one_task(students=1, pass_probability=0.4)
    shares = []
    for service in (0.5, 0.75, 0.9, 0.97):
        figures = forecast(read_case({**case, "service": service}), runs=RUNS, seed=8)
        shares.append(figures.item("plate").total.ample)
    assert shares == [stats.geom(0.4).ppf(q) for q in (0.5, 0.75, 0.9, 0.97)]
    assert all(a <= b for a, b in pairwise(shares))
