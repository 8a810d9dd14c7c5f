"""What the rubric says: limits by kind, the gauge's step, score and verdict, published limits."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.core.spec import Criterion
from grading.core.verdict import Limit, Reading, evaluate, judge, limit_for, show_limit
from shared.units import Measure, parse_measure
from tests import strategies

INCH = 0.0254


def inches(text):
    return parse_measure(f"{text} in", "length")


def mm(value):
    return parse_measure(f"{value} mm", "length")


UNDERCUT = Criterion(
    name="undercut",
    kind="measured",
    unit="in",
    max=inches("1/32"),
    step=inches("1/64"),
    mandatory=True,
    cure="Shorten the arc and pause at the toes.",
)
LEGS = Criterion(name="both legs", kind="gauge", unit="in", min=inches("3/8"), max=inches("7/16"))
ROOT = Criterion(
    name="penetration", kind="share", unit="%", min=parse_measure("90 %", "fraction"), weight=2
)
PORES = Criterion(name="pores", kind="counted", unit="count", max=parse_measure("2", "count"))
LOOK = Criterion(name="ripples", kind="judged", unit="0-4", min=parse_measure("2", "count"))
CRACKS = Criterion(name="no cracks", kind="judged", unit="yes/no", mandatory=True)
BEND = Criterion(name="root bend", kind="bend", unit="in", max=inches("1/8"), mandatory=True)


@pytest.mark.parametrize(
    ("k", "c_mm", "cap_mm", "size_mm", "limit_mm"),
    # ISO 5817:2014 table 1 (rows of levels C and B read in listings of that level):
    # 502 level C: 1 mm + 0.15 b, at most 7; 5011 level C: 0.1 t, at most 0.5; level B: 0.05 t,
    # at most 0.5; 504 level B: 1 mm + 0.2 b, at most 3; 504 level C capped: 1 + 0.6 b, at most 4
    [(0.15, 1, 7, 12, 2.8), (0.1, 0, 0.5, 6, 0.5), (0.05, 0, 0.5, 6, 0.3), (0.2, 1, 3, 5, 2.0),
     (0.6, 1, 4, 6, 4.0)],
)  # fmt: skip
def test_limits_that_grow_with_the_thickness(k, c_mm, cap_mm, size_mm, limit_mm):
    criterion = Criterion(
        name="x", kind="measured", unit="mm", max=mm(c_mm), per_thickness=k, cap=mm(cap_mm)
    )
    assert limit_for(criterion, size_mm / 1000).high * 1000 == pytest.approx(limit_mm)


def test_a_limit_by_thickness_without_thickness_is_refused():
    criterion = Criterion(name="undercut", kind="measured", unit="mm", per_thickness=0.1)
    assert limit_for(criterion, 0.004) == Limit(None, pytest.approx(0.0004))
    for thickness in (None, 0.0, float("nan")):
        with pytest.raises(ValueError, match="undercut needs a thickness"):
            limit_for(criterion, thickness)


@pytest.mark.parametrize(
    ("criterion", "value", "state"),
    [
        # AWS D1.1:2004 table 6.1(7)A: undercut at most 1/32 in where t < 1 in
        (UNDERCUT, 1 / 32 * INCH, "met"),
        (UNDERCUT, 3 / 64 * INCH, "not"),
        # at least 90 % of the length
        (ROOT, 0.9, "met"),
        (ROOT, 0.89, "not"),
        (PORES, 2.0, "met"),
        (PORES, 3.0, "not"),
        (LOOK, 2.0, "met"),
        (LOOK, 1.0, "not"),
        (CRACKS, 1.0, "met"),
        (CRACKS, 0.0, "not"),
    ],
)
def test_readings_on_both_sides_of_a_limit(criterion, value, state):
    assert evaluate(criterion, Reading(value=value)).state == state


@pytest.mark.parametrize(
    ("face_in", "limit_in"),
    # AWS D1.1 convexity by face width: to 5/16 in 1/16 in, over that to 1 in 1/8 in
    [(0.25, "1/16"), (0.5, "1/8")],
)
def test_convexity_limits_of_the_published_table(face_in, limit_in):
    criterion = Criterion(name="convexity", kind="measured", unit="in", max=inches(limit_in))
    edge = criterion.max.value
    assert evaluate(criterion, Reading(value=edge)).state == "met"
    assert evaluate(criterion, Reading(value=edge + INCH / 64)).state == "not"


@pytest.mark.parametrize(
    ("sixty_fourths", "state", "close"),
    [(0, "met", False), (1, "met", True), (2, "met", True), (3, "not", True), (4, "not", False)],
)
def test_a_reading_within_the_gauges_step_is_flagged(sixty_fourths, state, close):
    found = evaluate(UNDERCUT, Reading(value=sixty_fourths / 64 * INCH))
    assert (found.state, found.close) == (state, close)
    assert ("within the gauge's step" in found.sentence) is close


@pytest.mark.parametrize(
    ("reading", "state", "figure"),
    [
        (Reading(passed=True), "met", "goes"),
        (Reading(passed=False), "not", "does not go"),
        (Reading(value=1.0), "met", "goes"),
        (Reading(detail={"reaches": False, "within": True}), "not", "too small"),
        (Reading(detail={"reaches": True, "within": False}), "not", "too large"),
        (Reading(detail={"reaches": True, "within": True}), "met", "goes"),
        (Reading(detail={"reaches": True}), "missing", ""),
        (None, "missing", ""),
    ],
)
def test_a_gauge_goes_or_does_not(reading, state, figure):
    found = evaluate(LEGS, reading)
    assert (found.state, found.figure) == (state, figure)
    assert found.limit == "3/8 in to 7/16 in"


def test_limits_in_words():
    assert show_limit(UNDERCUT, limit_for(UNDERCUT, None)) == "at most 1/32 in"
    assert show_limit(ROOT, limit_for(ROOT, None)) == "at least 90 %"
    assert show_limit(PORES, Limit(None, 0.0)) == "none"
    metric = Criterion(name="x", kind="measured", unit="mm", max=mm(0.5))
    assert show_limit(metric, limit_for(metric, None)) == "at most 0.5 mm"
    # 0.1 of 14 gauge sheet, 1.89738 mm: shown as finely as a gauge reads, held exactly
    grown = replace(metric, max=None, per_thickness=0.1)
    limit = limit_for(grown, 0.00189738)
    assert show_limit(grown, limit) == "at most 0.19 mm"
    assert limit.high == pytest.approx(0.000189738)


@pytest.mark.parametrize(
    ("criterion", "value"),
    [(ROOT, 1.2), (LOOK, 5.0), (CRACKS, 2.0), (UNDERCUT, -0.001), (UNDERCUT, float("nan")),
     (LEGS, 0.0095)],
)  # fmt: skip
def test_a_reading_outside_its_scale_is_refused(criterion, value):
    with pytest.raises(ValueError, match=criterion.name):
        evaluate(criterion, Reading(value=value))


@pytest.mark.parametrize(
    ("detail", "state"),
    [
        ({"openings": [INCH / 8]}, "met"),
        ({"openings": [INCH / 8] * 4}, "not"),
        ({"largest": 3 / 16 * INCH}, "not"),
        ({"largest": 0.0, "sum": 0.0, "corner": INCH / 4}, "met"),
        ({"largest": 0.0, "corner": INCH / 2}, "missing"),
        ({"largest": 0.0, "corner": INCH / 2, "corner_flaw": True}, "not"),
        ({}, "missing"),
    ],
)
def test_a_bend_by_largest_sum_and_corner(detail, state):
    # AWS D1.1/D1.1M:2015 4.9.3.3
    assert evaluate(BEND, Reading(detail=detail)).state == state


def test_a_shops_own_bend_limit_stands():
    strict = Criterion(name="root bend", kind="bend", unit="in", max=inches("1/16"))
    assert evaluate(strict, Reading(detail={"largest": INCH / 8})).state == "not"


GOOD = {
    "undercut": Reading(value=0.0),
    "penetration": Reading(value=1.0),
    "pores": Reading(value=0.0),
    "ripples": Reading(value=4.0),
}
RUBRIC = (UNDERCUT, ROOT, PORES, LOOK)


def test_a_coupon_that_meets_everything_passes():
    result = judge(RUBRIC, GOOD)
    assert (result.verdict, result.score) == ("pass", 1.0)
    assert result.why == "Every criterion is met."
    assert result.cure == ""


def test_a_mandatory_failure_is_a_redo_with_figure_and_cure():
    result = judge(RUBRIC, GOOD | {"undercut": Reading(value=INCH / 16)})
    assert result.verdict == "redo"
    assert result.why == "Undercut: 1/16 in, wanted at most 1/32 in."
    assert result.cure == "Shorten the arc and pause at the toes."
    assert [one.criterion.name for one in result.outcomes if one.state == "not"] == ["undercut"]


def test_a_mandatory_failure_does_not_wait_for_the_rest():
    result = judge(RUBRIC, {"undercut": Reading(value=INCH / 16)})
    assert result.verdict == "redo"


def test_a_missing_reading_leaves_it_incomplete():
    result = judge(RUBRIC, {name: one for name, one in GOOD.items() if name != "pores"})
    assert result.verdict == "incomplete"
    assert result.why == "Pores: no reading yet."


def test_the_score_is_weighted_and_a_judgement_counts_by_its_share():
    # weights 1, 2, 1, 1: pores not met, ripples 3 of 4: (1 + 2 + 0 + 0.75) / 5
    readings = GOOD | {"pores": Reading(value=9.0), "ripples": Reading(value=3.0)}
    result = judge(RUBRIC, readings)
    assert result.score == pytest.approx(3.75 / 5)
    assert result.verdict == "pass"
    assert result.why == "The score is 75 %, a pass needs 70 %. Pores: 9, wanted at most 2."
    assert judge(RUBRIC, readings, pass_mark=0.8).verdict == "redo"
    assert "a pass needs 80 %" in judge(RUBRIC, readings, pass_mark=0.8).why


def test_a_rubric_without_criteria_judges_nothing():
    assert judge((), {}).verdict == "incomplete"


def test_readings_without_a_criterion_are_refused():
    with pytest.raises(ValueError, match="no criterion is called porosity"):
        judge(RUBRIC, {"porosity": Reading(value=0.0)})
    with pytest.raises(ValueError, match="pass_mark"):
        judge(RUBRIC, GOOD, pass_mark=1.5)


def test_weightless_criteria_pass_when_all_are_met():
    one = Criterion(name="pores", kind="counted", unit="count", max=PORES.max, weight=0)
    assert judge((one,), {"pores": Reading(value=0.0)}).verdict == "pass"
    assert judge((one,), {"pores": Reading(value=3.0)}).verdict == "redo"


@given(strategies.criteria(), st.integers(0, 4))
def test_any_criterion_can_be_judged(criterion, figure):
    value = figure / 4 if criterion.kind in ("share", "measured") else float(figure)
    reading = Reading(value=value)
    if criterion.kind in ("gauge", "bend") or criterion.unit == "yes/no":
        reading = Reading(passed=figure > 1, detail={})
    result = judge((criterion,), {criterion.name: reading}, thickness=0.003)
    assert result.verdict in ("pass", "redo")
    assert 0 <= result.score <= 1
    assert judge((criterion,), {}, thickness=0.003).verdict == "incomplete"


@given(st.floats(0, 0.01), st.floats(0, 0.01))
def test_less_undercut_is_never_worse(one, other):
    low, high = sorted((one, other))
    met = [evaluate(UNDERCUT, Reading(value=value)).state == "met" for value in (low, high)]
    assert met[0] >= met[1]


def test_figures_are_written_in_the_criterions_unit():
    metric = Criterion(name="undercut", kind="measured", unit="mm", max=Measure.of(0.0005, "m"))
    assert evaluate(metric, Reading(value=0.001)).sentence == (
        "Undercut: 1 mm, wanted at most 0.5 mm."
    )
