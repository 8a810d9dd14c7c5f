"""The ruler of the grading page: what is where."""

from __future__ import annotations

import re

import pytest

from grading.core.ruler import ruler


def at(svg: str, css: str) -> list[float]:
    """Where the lines or pointers of a class stand, in percent."""
    if css in ("tip", "own"):
        return [float(x) for x in re.findall(rf'<svg x="([\d.]+)%"[^>]*><path class="{css}"', svg)]
    return [float(x) for x in re.findall(rf'class="{css}" x1="([\d.]+)%"', svg)]


def test_limit_mine_and_own_stand_in_their_order() -> None:
    svg = ruler(step=1 / 32, low=3 / 8, high=7 / 16, value=11 / 32, own=3 / 8, label="leg")
    low, high = at(svg, "zend")
    assert at(svg, "tip")[0] < low < high
    assert at(svg, "own") == [low]
    # two steps between the limits, one step from the reading to the low one
    assert (high - low) == pytest.approx(2 * (low - at(svg, "tip")[0]), abs=0.05)


def test_a_limit_of_one_side_reaches_to_the_end_of_the_ruler() -> None:
    svg = ruler(step=1 / 32, low=None, high=1 / 8, value=None, own=None, label="convexity")
    assert at(svg, "zone") == [0.0]
    assert at(svg, "tip") == []
    share = ruler(step=5, low=90, high=None, value=100, own=None, label="root", top=100)
    assert at(share, "tip") == [100.0]
    assert 'x2="100%" y1="42"' in share


def test_ticks_thin_out_before_they_touch() -> None:
    svg = ruler(step=1 / 64, low=None, high=1 / 64, value=8, own=None, label="far off")
    assert len(at(svg, "thin")) < 60


def test_every_place_lies_on_the_ruler() -> None:
    for value in (0, 0.001, 2, 400):
        svg = ruler(step=0.1, low=1, high=2, value=value, own=value, label="x")
        places = [float(x) for x in re.findall(r'x\d?="([\d.]+)%"', svg)]
        assert all(0 <= one <= 100 for one in places)


def test_a_step_must_be_above_zero() -> None:
    with pytest.raises(ValueError, match="step must be above 0"):
        ruler(step=0, low=None, high=1, value=None, own=None, label="x")


def test_the_label_cannot_break_out() -> None:
    assert "<b>" not in ruler(step=1, low=None, high=1, value=None, own=None, label='"><b>')
