"""The guided bend test against ASME IX QW-466.1 and AWS D1.1 4.9.3.3."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.core.bend import (
    Bend,
    BendLimits,
    judge_bend,
    mandrel_diameter,
    outer_fibre_elongation,
    plunger_diameter,
)

INCH = 0.0254
D1_1 = BendLimits.published()


@pytest.mark.parametrize(
    ("thickness", "mandrel", "percent"),
    # e = 100 t / (A + t), ASME IX 2010 QW-466.1; the first is its 20 % at A = 4t
    [(0.375, 1.5, 20.0), (0.375, 2.0, 15.79), (0.375, 2.5, 13.04), (0.375, 3.0, 11.11),
     (0.375, 3.75, 9.09), (0.25, 1.0, 20.0), (0.25, 1.5, 14.29)],
)  # fmt: skip
def test_elongation_as_published(thickness, mandrel, percent):
    assert 100 * outer_fibre_elongation(thickness, mandrel) == pytest.approx(percent, abs=0.005)


def test_twenty_percent_is_four_thicknesses():
    # ASME IX QW-466.1, materials of 20 % elongation and more: A = 4t
    assert mandrel_diameter(0.375 * INCH, 0.20) == pytest.approx(1.5 * INCH)


@given(st.floats(1e-4, 0.1), st.floats(0.01, 0.9))
def test_mandrel_and_elongation_are_inverse(thickness, elongation):
    mandrel = mandrel_diameter(thickness, elongation)
    assert outer_fibre_elongation(thickness, mandrel) == pytest.approx(elongation)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_sizes_that_are_none_are_refused(bad):
    with pytest.raises(ValueError, match="thickness"):
        outer_fibre_elongation(bad, 1.0)
    with pytest.raises(ValueError, match="elongation"):
        mandrel_diameter(1.0, bad)


def test_an_elongation_of_all_is_refused():
    with pytest.raises(ValueError, match="below 1"):
        mandrel_diameter(1.0, 1.0)


@pytest.mark.parametrize(
    ("yield_mpa", "inch"),
    # AWS D1.1:2015 figure 4.11, from memory: 1-1/2 in to 50 ksi, 2 in to 90 ksi, 2-1/2 in over
    [(250, 1.5), (345, 1.5), (346, 2.0), (620, 2.0), (690, 2.5)],
)
def test_plunger_by_yield_strength(yield_mpa, inch):
    assert plunger_diameter(yield_mpa * 1e6) == pytest.approx(inch * INCH)


def test_acceptance_as_published():
    # AWS D1.1/D1.1M:2015 4.9.3.3: 1/8 in (3 mm); 3/8 in (10 mm); corner 1/4 in (6 mm)
    assert D1_1.largest == pytest.approx(1 / 8 * INCH)
    assert D1_1.sum == pytest.approx(3 / 8 * INCH)
    assert D1_1.corner == pytest.approx(1 / 4 * INCH)
    metric = BendLimits.published("mm")
    assert (metric.largest, metric.sum, metric.corner) == pytest.approx((0.003, 0.010, 0.006))
    with pytest.raises(ValueError, match="in or mm"):
        BendLimits.published("cm")


@pytest.mark.parametrize(
    ("openings", "names"),
    # 4.9.3.3 (1) largest, (2) sum of those over 1/32 in and up to 1/8 in
    [
        ([], []),
        ([4 / 32], []),
        ([4.1 / 32], ["largest"]),
        ([4 / 32, 4 / 32, 4 / 32], []),
        ([4 / 32, 4 / 32, 4 / 32, 2 / 32], ["sum"]),
        ([1 / 32] * 20, []),
    ],
)
def test_openings_against_largest_and_sum(openings, names):
    bend = Bend.of([one * INCH for one in openings], D1_1)
    assert [one.name for one in judge_bend(bend, D1_1).exceeded] == names


@pytest.mark.parametrize(
    ("corner", "flaw", "failed", "replaced"),
    # 4.9.3.3 (3): 1/4 in, or 1/8 in with slag or fusion flaw; over 1/4 in without: replace
    [(1 / 4, False, False, False), (1 / 8, True, False, False), (5 / 32, True, True, False),
     (5 / 16, False, False, True), (5 / 16, True, True, False)],
)  # fmt: skip
def test_corner_cracks(corner, flaw, failed, replaced):
    result = judge_bend(Bend(corner=corner * INCH, corner_flaw=flaw), D1_1)
    assert (bool(result.exceeded), result.replace) == (failed, replaced)


def test_a_replacement_does_not_save_a_failed_strap():
    result = judge_bend(Bend(largest=0.2 * INCH, corner=0.5 * INCH), D1_1)
    assert [one.name for one in result.exceeded] == ["largest"]
    assert not result.replace


def test_a_stored_reading_becomes_a_bend():
    assert Bend.from_detail({}, D1_1) is None
    assert Bend.from_detail({"openings": []}, D1_1) == Bend()
    bend = Bend.from_detail({"largest": 0.002, "sum": 0.0, "corner": 0.001}, D1_1)
    assert bend == Bend(largest=0.002, sum=0.002, corner=0.001)
    with pytest.raises(ValueError, match="0 or more"):
        Bend.from_detail({"openings": [-0.001]}, D1_1)
