"""Learning from results, against scipy and published examples of kappa."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta

from grading.core.learning import Rate, agreement, defect_pareto, pass_rate


def pairs_of(table):
    return [
        (str(row), str(column))
        for row, counts in enumerate(table)
        for column, count in enumerate(counts)
        for _ in range(count)
    ]


@pytest.mark.parametrize(
    ("passes", "fails", "prior", "a", "b"),
    [(12, 6, 0.5, 16, 10), (0, 0, 0.5, 4, 4), (3, 1, None, 4, 2), (0, 9, 0.25, 2, 15)],
)
def test_pass_rate_is_the_beta_posterior(passes, fails, prior, a, b):
    rate = pass_rate(passes, fails, prior=prior)
    # scipy.stats.beta, another implementation than the one used
    assert rate.mean == pytest.approx(beta(a, b).mean())
    assert (rate.low, rate.high) == pytest.approx(beta(a, b).interval(0.9))
    assert rate.count == passes + fails


def test_a_certain_pass_stays_certain():
    assert pass_rate(5, 0, prior=1.0) == Rate(1.0, 1.0, 1.0, 5)
    assert pass_rate(5, 1, prior=1.0).mean < 1


@given(st.integers(0, 50), st.integers(0, 50))
def test_one_more_pass_never_lowers_the_rate(passes, fails):
    before, after = pass_rate(passes, fails), pass_rate(passes + 1, fails)
    assert before.mean < after.mean
    assert before.low <= after.low
    assert before.high <= after.high


@pytest.mark.parametrize(
    ("arguments", "options"),
    [((-1, 0), {}), ((0, 0), {"level": 1.0}), ((0, 0), {"prior": 0.0}), ((0, 0), {"weight": -1.0})],
)
def test_figures_that_are_no_results_are_refused(arguments, options):
    with pytest.raises(ValueError, match=r"passes|level|prior"):
        pass_rate(*arguments, **options)


def test_defects_by_number():
    rows = defect_pareto(["undercut", "porosity", "undercut", "overlap"])
    assert [(row.name, row.count) for row in rows] == [
        ("undercut", 2), ("overlap", 1), ("porosity", 1),
    ]  # fmt: skip
    assert [row.cumulative for row in rows] == [0.5, 0.75, 1.0]
    assert defect_pareto([]) == []


def test_kappa_of_the_two_by_two_textbook_example():
    # 50 proposals, both yes 20, both no 15, apart 5 and 10: po = 0.70, pe = 0.50, kappa = 0.40;
    # the common textbook example, from memory
    found = agreement(pairs_of([[20, 5], [10, 15]]))
    assert found.observed == pytest.approx(0.70)
    assert found.kappa == pytest.approx(0.40)


def test_kappa_and_its_error_of_a_published_four_by_four_table():
    # two dermatologists on 88 patients, four grades: the example of a statistics package's manual
    # (tests and measures of agreement), from memory: kappa 0.3449, asymptotic error 0.0724
    found = agreement(pairs_of([[10, 4, 1, 0], [5, 10, 12, 2], [2, 4, 12, 5], [0, 2, 6, 13]]))
    assert found.count == 88
    assert found.kappa == pytest.approx(0.3449, abs=5e-5)
    assert found.error == pytest.approx(0.0724, abs=5e-5)


def test_graders_who_always_say_the_same_have_no_kappa():
    found = agreement([("pass", "pass")] * 5)
    assert (found.kappa, found.error, found.observed) == (None, None, 1.0)


def test_no_coupon_in_common_is_refused():
    with pytest.raises(ValueError, match="no coupon"):
        agreement([])


@given(st.lists(st.tuples(st.sampled_from("ab"), st.sampled_from("ab")), min_size=1, max_size=40))
def test_kappa_does_not_depend_on_who_is_named_first(pairs):
    one, other = agreement(pairs), agreement([(b, a) for a, b in pairs])
    assert one.kappa == (None if other.kappa is None else pytest.approx(other.kappa))
