"""What is typed or tapped at the bench, and what a field shows again."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.core.spec import Criterion
from grading.core import taken
from grading.core.verdict import evaluate
from shared.units import UnitError, parse_measure

INCH = 0.0254
LEG = Criterion(
    name="leg",
    kind="measured",
    unit="in",
    max=parse_measure("3/8 in", "length"),
    step=parse_measure("1/32 in", "length"),
)
STEP = Criterion(
    name="offset", kind="measured", unit="mm", max=parse_measure("1 mm", "length"),
    step=parse_measure("0.05 mm", "length"),
)  # fmt: skip
ANGLE = Criterion(
    name="bevel", kind="measured", unit="deg", max=parse_measure("32-1/2 deg", "angle"),
    step=parse_measure("1/2 deg", "angle"),
)  # fmt: skip
SHARE = Criterion(name="fused", kind="share", unit="%", min=parse_measure("95 %", "fraction"))
COUNT = Criterion(name="pores", kind="counted", max=parse_measure("2", "count"))
GRADE = Criterion(name="looks", kind="judged", unit="0-4")
SLAG = Criterion(name="slag off", kind="judged", unit="yes/no")
GAUGE = Criterion(name="profile", kind="gauge")
SIZES = Criterion(
    name="leg by gauge", kind="gauge", unit="in", min=parse_measure("1/4 in", "length"),
    max=parse_measure("5/16 in", "length"),
)  # fmt: skip
BEND = Criterion(name="bend", kind="bend", unit="in")


@pytest.mark.parametrize(
    ("criterion", "text", "value"),
    [
        (LEG, "11/32", 11 / 32 * INCH),
        (LEG, "1-1/2", 1.5 * INCH),
        (LEG, "9 mm", 0.009),
        (STEP, "0.15", 0.00015),
        (STEP, "3/8 in", 3 / 8 * INCH),
        (ANGLE, "27-1/2", 27.5),
        (SHARE, "90", 0.9),
        (SHARE, "0.9", 0.9),
        (SHARE, "5", 0.05),
        (SHARE, "100 %", 1.0),
        (COUNT, "0", 0.0),
        (GRADE, "4", 4.0),
    ],
)
def test_a_bare_number_stands_in_the_gauges_unit(
    criterion: Criterion, text: str, value: float
) -> None:
    assert taken.read(criterion, text).value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("criterion", "text", "state"),
    [
        (GAUGE, "y", "met"),
        (GAUGE, "N", "not"),
        (SLAG, "yes", "met"),
        (SIZES, "yes", "met"),
        (SIZES, "small", "not"),
        (SIZES, "large", "not"),
        (BEND, "0", "met"),
        (BEND, "1/16, 3/32", "met"),
        (BEND, "5/32", "not"),
        (BEND, "1/8, 1/8, 1/8, 1/8", "not"),  # 1/2 in together, AWS D1.1:2015 4.9.3.3: 3/8 in
    ],
)
def test_what_is_tapped_can_be_judged_and_is_shown_again(
    criterion: Criterion, text: str, state: str
) -> None:
    reading = taken.read(criterion, text)
    assert evaluate(criterion, reading).state == state
    shown = taken.write(criterion, reading.value, reading.passed, reading.detail)
    assert taken.read(criterion, shown) == reading


@pytest.mark.parametrize(
    ("criterion", "text"),
    [
        (LEG, "wide"),
        (LEG, "-3"),
        (LEG, "nan"),
        (LEG, "1e400"),
        (SHARE, "101"),
        (SHARE, "-1"),
        (COUNT, "2.5"),
        (COUNT, "²"),
        (COUNT, "10001"),
        (GRADE, "5"),
        (SLAG, "perhaps"),
        (GAUGE, "3/8"),
        (BEND, "wide"),
    ],
)
def test_what_is_no_reading_is_refused_with_what_was_typed(criterion: Criterion, text: str) -> None:
    with pytest.raises((UnitError, taken.ReadingRefused)) as refused:
        taken.read(criterion, text)
    assert text in str(refused.value)


def test_a_step_is_the_tools_own_in_the_fields_unit() -> None:
    found = [taken.step_of(one) for one in (LEG, STEP, ANGLE, SHARE, COUNT)]
    assert found == [Fraction(1, 32), Fraction(1, 20), Fraction(1, 2), 5, 1]


@given(st.integers(0, 64 * 12))
def test_a_figure_on_the_gauge_comes_back_as_it_was_read(sixty_fourths: int) -> None:
    value = taken.read(LEG, f"{sixty_fourths}/64").value
    assert value is not None
    assert taken.read(LEG, taken.figure(LEG, value)).value == value


@given(st.integers(0, 400))
def test_a_decimal_of_a_metric_gauge_comes_back_as_it_was_read(steps: int) -> None:
    text = f"{steps * 0.05:.2f}"
    value = taken.read(STEP, text).value
    assert value is not None
    assert taken.read(STEP, taken.figure(STEP, value)).value == pytest.approx(value, rel=1e-12)
