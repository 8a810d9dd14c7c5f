"""The draw of acetylene over all lit torches of a manifold."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.core.gas import Manifold, acetylene_draw

FT3 = 0.028316846592
CFH = FT3 / 3600


def draw(torches, cylinders, content_ft3):
    manifold = Manifold(cylinders=cylinders, content_m3=content_ft3 * FT3)
    return acetylene_draw([flow * CFH for flow in torches], manifold)


def test_a_cylinder_of_210_ft3_gives_30_ft3_an_hour():
    # reference/safety.toml, example "acetylene one-seventh" (read): 210 ft3, 30 ft3/h
    found = draw([30], 1, 210)
    assert found.limit_m3_s / CFH == pytest.approx(30)
    assert found.steady_m3_s / CFH == pytest.approx(21)


@pytest.mark.parametrize(
    ("torches", "cylinders", "level"),
    [
        ([5, 5], 1, "ok"),  # 10 of 21
        ([7, 7, 7], 1, "ok"),  # 21: a limit itself is kept
        ([8, 8, 8], 1, "look"),  # 24, over a tenth an hour
        ([10, 10, 10], 1, "look"),  # 30, the seventh itself
        ([10, 10, 11], 1, "outside"),
        ([10, 10, 11], 2, "ok"),  # of 42
        ([], 1, "ok"),
    ],
)
def test_over_a_seventh_an_hour_is_outside_over_a_tenth_is_looked_at(torches, cylinders, level):
    assert draw(torches, cylinders, 210).finding.level == level


def test_a_finding_says_figure_limit_and_source():
    found = draw([20, 20], 1, 210).finding
    assert found.value == pytest.approx(40 * CFH)
    assert found.limit == pytest.approx(30 * CFH)
    assert "1910.102" in found.source
    assert "Light fewer torches" in found.message


@given(
    torches=st.lists(st.floats(0, 100), max_size=12),
    cylinders=st.integers(1, 20),
    content=st.floats(10, 400),
)
def test_one_torch_more_is_never_better_and_one_cylinder_more_never_worse(
    torches, cylinders, content
):
    rank = ("ok", "look", "outside").index
    here = rank(draw(torches, cylinders, content).finding.level)
    assert rank(draw([*torches, 10], cylinders, content).finding.level) >= here
    assert rank(draw(torches, cylinders + 1, content).finding.level) <= here


@pytest.mark.parametrize("flow", [-1.0, float("nan"), float("inf")])
def test_a_flow_that_is_none_is_refused(flow):
    with pytest.raises(ValueError, match="each flow"):
        draw([flow], 1, 210)


@pytest.mark.parametrize(("cylinders", "content"), [(0, 210), (101, 210), (1, 0), (1, 1e9)])
def test_a_manifold_has_cylinders_that_hold_something(cylinders, content):
    with pytest.raises(ValueError, match="must lie"):
        draw([5], cylinders, content)
