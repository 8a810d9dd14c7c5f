"""Readings as typed, with the field's unit beside a bare number."""

import pytest

from curriculum.core.spec import Criterion
from grading.core.typed import examples, field_unit, read_typed
from grading.core.verdict import evaluate
from shared.units import UnitError, parse_measure

INCH = 0.0254
LEG = Criterion(name="leg", kind="measured", unit="in", max=parse_measure("3/8 in", "length"))
METRIC = Criterion(name="leg", kind="measured", unit="mm", max=parse_measure("9 mm", "length"))
ANGLE = Criterion(name="bevel", kind="measured", unit="deg", max=parse_measure("40 deg", "angle"))
SHARE = Criterion(name="fused", kind="share", unit="%", min=parse_measure("95 %", "fraction"))
COUNT = Criterion(name="pores", kind="counted", unit="count", max=parse_measure("2", "count"))
GRADE = Criterion(name="looks", kind="judged", unit="0-4")
SLAG = Criterion(name="slag off", kind="judged", unit="yes/no")
GAUGE = Criterion(name="profile", kind="gauge")
BEND = Criterion(name="bend", kind="bend", unit="in")
ALL = (LEG, METRIC, ANGLE, SHARE, COUNT, GRADE, SLAG, GAUGE, BEND)


@pytest.mark.parametrize(
    ("criterion", "text", "value"),
    [
        (LEG, "11/32", 11 / 32 * INCH),
        (LEG, " 0.34375 ", 11 / 32 * INCH),
        (LEG, "9 mm", 0.009),
        (METRIC, "8.5", 0.0085),
        (METRIC, "3/8 in", 3 / 8 * INCH),
        (ANGLE, "37,5", 37.5),
        (SHARE, "95", 0.95),
        (SHARE, "100 %", 1.0),
        (COUNT, "0", 0.0),
        (GRADE, "3", 3.0),
    ],
)
def test_a_bare_number_is_in_the_unit_beside_the_field(
    criterion: Criterion, text: str, value: float
) -> None:
    reading = read_typed(criterion, text)
    assert reading is not None
    assert reading.value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("criterion", [GAUGE, SLAG])
def test_yes_and_no_are_read_as_such(criterion: Criterion) -> None:
    assert [read_typed(criterion, text).passed for text in ("yes", "No")] == [True, False]  # type: ignore[union-attr]


def test_of_a_bend_the_largest_opening_is_written() -> None:
    assert read_typed(BEND, "1/16").detail == {"openings": [INCH / 16]}  # type: ignore[union-attr]


@pytest.mark.parametrize("criterion", ALL)
def test_nothing_typed_is_no_reading(criterion: Criterion) -> None:
    assert read_typed(criterion, "  ") is None


@pytest.mark.parametrize("criterion", ALL)
def test_what_is_named_as_accepted_is_accepted_and_can_be_judged(criterion: Criterion) -> None:
    for text in examples(criterion):
        assert evaluate(criterion, read_typed(criterion, text)).state in ("met", "not")


@pytest.mark.parametrize(
    ("criterion", "text"),
    [
        (LEG, "wide"),
        (LEG, "-3"),
        (LEG, "nan"),
        (LEG, "1e400"),
        (LEG, "12 A"),
        (LEG, "3 km"),
        (SHARE, "101"),
        (SHARE, "-1"),
        (COUNT, "2.5"),
        (COUNT, "-1"),
        (COUNT, "99999"),
        (COUNT, "²"),
        (GRADE, "5"),
        (SLAG, "perhaps"),
        (GAUGE, "1"),
        (BEND, "wide"),
    ],
)
def test_what_is_no_reading_is_refused_with_what_would_be(criterion: Criterion, text: str) -> None:
    with pytest.raises(UnitError) as refused:
        read_typed(criterion, text)
    assert text in str(refused.value)


def test_every_field_knows_its_unit() -> None:
    assert [field_unit(one) for one in ALL] == ["in", "mm", "deg", "%", "", "", "", "", "in"]
