"""Quantities: read exactly, refused in words, shown as the trade writes them."""

import math
import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import shared.units as units
from shared.units import (
    DIMENSIONS,
    Measure,
    Range,
    UnitError,
    gauge_metals,
    gauges,
    parse_measure,
    parse_pipe,
    parse_range,
    show,
    show_range,
)
from shared.units.tables import UNITS

INCH = Fraction(254, 10_000)


@pytest.mark.parametrize("unit", [u for u in UNITS if u.dimension != "count"], ids=lambda u: u.pint)
def test_every_factor_is_that_of_pint(unit):
    """pint 0.25 carries the definitions of NIST SP 811; ours are exact fractions of the same."""
    ours = Measure(float((3 + unit.offset) * unit.factor), DIMENSIONS[unit.dimension]).quantity
    theirs = units.ureg.Quantity(3.0, unit.pint or unit.symbol).to(ours.units)
    assert ours.magnitude == pytest.approx(theirs.magnitude, rel=1e-12)


def test_a_measure_is_a_quantity_of_the_one_registry():
    assert parse_measure("1-1/2 in", "length").quantity.to("inch").magnitude == pytest.approx(1.5)
    assert units.ureg is parse_measure("2 mm", "length").quantity._REGISTRY


def test_reading_a_quantity_does_not_load_pint():
    code = "import sys, shared.units as u; u.show(u.parse_measure('3 mm', 'length'), 'us');"
    code += "print('pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


# Each SI value worked by hand from 1 in = 0.0254 m, 1 lb = 0.45359237 kg, 1 ft = 0.3048 m.
@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("1/16 in", "length", 0.0254 / 16),
        ("1 1/2 in", "length", 0.0381),
        ('1-1/2"', "length", 0.0381),
        ("1½ in", "length", 0.0381),
        ("1 - 1/2 in", "length", 0.0381),
        ("½″", "length", 0.0127),
        ("1⁄8 inch", "length", 0.003175),
        (".035 in", "length", 0.000889),
        ("3.2 mm", "length", 0.0032),
        ("3,2 mm", "length", 0.0032),
        ("0,125 in", "length", 0.003175),
        ("2 mm", "length", 0.002),
        ("4 ft 6 in", "length", 1.3716),
        ("4' 6-1/2\"", "length", 1.3843),
        ("1.5e-3 m", "length", 0.0015),
        ("0 in", "length", 0.0),
        ("2 in sch 80", "length", 0.218 * 0.0254),
        ("1-1/2 in XS", "length", 0.200 * 0.0254),
        ("20 cfh", "flow", 20 * 0.3048**3 / 3600),
        ("20 ft3/h", "flow", 20 * 0.3048**3 / 3600),
        ("20 ft³/h", "flow", 20 * 0.3048**3 / 3600),
        ("4.5 cfm", "flow", 4.5 * 0.028316846592 / 60),  # ft³: NIST SP 811, B.8
        ("1 ft³/min", "flow", 0.028316846592 / 60),
        ("9.5 L/min", "flow", 9.5e-3 / 60),
        ("10 lb", "mass", 4.5359237),
        ("4 oz", "mass", 0.45359237 / 4),
        ("1 lb 2 oz", "mass", 0.45359237 * 1.125),
        ("250 g", "mass", 0.25),
        ("22-1/2 deg", "angle", 22.5),
        ("45°", "angle", 45.0),
        ("6 in/min", "speed", 6 * 0.0254 / 60),
        ("6 ipm", "speed", 6 * 0.0254 / 60),
        ("150 mm/min", "speed", 0.0025),
        ("2 mm/s", "speed", 0.002),
        ("10 s", "time", 10.0),
        ("30 min", "time", 1800.0),
        ("1 h 30 min", "time", 5400.0),
        ("5 psig", "pressure", 5 * 0.45359237 * 9.80665 / 0.0254**2),
        ("35 kPa", "pressure", 35_000.0),
        ("2 bar", "pressure", 200_000.0),
        ("350 degF", "temperature", (350 - 32) * 5 / 9 + 273.15),
        ("350 °F", "temperature", (350 - 32) * 5 / 9 + 273.15),
        ("-20 °C", "temperature", 253.15),
        ("80 cf", "volume", 80 * 0.3048**3),
        ("0.2833 lb/in3", "density", 0.2833 * 0.45359237 / 0.0254**3),
        ("90 %", "fraction", 0.9),
        ("0.9", "fraction", 0.9),
        ("3", "count", 3.0),
        ("90 A", "current", 90.0),
        ("22 V", "voltage", 22.0),
    ],
)
def test_what_the_trade_writes_is_read(text, dimension, si):
    measure = parse_measure(text, dimension)
    assert measure.value == pytest.approx(si, rel=1e-14)
    assert measure.unit == DIMENSIONS[dimension]
    assert measure.typed == text


@pytest.mark.parametrize(
    ("text", "accepts"),
    [
        ("14", ["14 ga", "14 mm", "1/4 in"]),
        ("3/8", ["3/8 in"]),
        ("nan mm", ["1/4 in", "6 mm", "16 ga"]),
        ("inf mm", ["1/4 in", "6 mm", "16 ga"]),
        ("-3 mm", ["1/4 in", "6 mm", "16 ga"]),
        ("−3 mm", ["1/4 in", "6 mm", "16 ga"]),
        ("1e400 mm", ["1/4 in", "6 mm", "16 ga"]),
        ("1e999999999 mm", ["1/4 in", "6 mm", "16 ga"]),
        ("99999999999 m", ["1/4 in", "6 mm", "16 ga"]),
        ("[", ["1/4 in", "6 mm", "16 ga"]),
        ("", ["1/4 in", "6 mm", "16 ga"]),
        ("1/0 in", ["1/4 in", "6 mm", "16 ga"]),
        ("1-1/0 in", ["1/4 in", "6 mm", "16 ga"]),
        ("3 A", ["1/4 in", "6 mm", "16 ga"]),
        ("20 ft3/h", ["1/4 in", "6 mm", "16 ga"]),
        ("3 furlong", ["1/4 in", "6 mm", "16 ga"]),
        ("3 mm 2", ["1/4 in", "6 mm", "16 ga"]),
        ("1,000 mm", ["1000 mm", "1.000 mm"]),
        ("16 ga", ["16 ga steel", "0.060 in", "1.5 mm"]),
        ("40 ga steel", ["30 ga", "0.060 in", "1.5 mm"]),
        ("16 ga brass", ["0.060 in", "1.5 mm"]),
        ("2 in sch 33", None),
        ("7/8 in sch 40", None),
        ("2 3 in sch 40", None),
        ("٣ mm", ["1/4 in", "6 mm", "16 ga"]),
        ("3 mm" * 40, ["1/4 in", "6 mm", "16 ga"]),
    ],
)
def test_what_is_no_length_is_refused_with_what_would_be_one(text, accepts):
    with pytest.raises(UnitError) as caught:
        parse_measure(text, "length")
    error = caught.value
    assert error.got == text.strip()[:80]
    if accepts is not None:
        assert error.accepts == accepts
    assert all(example in str(error) for example in error.accepts)
    for example in error.accepts:  # what a message recommends must itself be read
        parse_measure(example, "length", material="steel")


def test_the_sentence_says_what_is_wrong():
    for text, words in [
        ("14", "has no unit"),
        ("-3 mm", "below zero"),
        ("1/0 in", "divides by zero"),
        ("3 A", "A measures a current"),
        ("3 furlong", "“furlong”"),
        ("3 to 4 mm", "more than one figure"),
        ("16 ga", "different thickness for each metal"),
    ]:
        with pytest.raises(UnitError, match=words):
            parse_measure(text, "length")


def test_below_absolute_zero_is_refused():
    with pytest.raises(UnitError, match="below what there is"):
        parse_measure("-300 degC", "temperature")


def test_an_unknown_dimension_is_the_callers_mistake():
    with pytest.raises(ValueError, match="dimension must be one of"):
        parse_measure("3 mm", "girth")


def test_a_bare_number_stands_where_the_unit_stands_beside_the_field():
    measure = parse_measure("3/32", "length", bare_unit="in")
    assert measure == Measure(float(Fraction(3, 32) * INCH), "m", "3/32 in")
    assert parse_measure("2.4 mm", "length", bare_unit="in").typed == "2.4 mm"
    assert parse_range("85-95", "current", bare_unit="A") == Range(85, 95, None, "A", "85-95 A")
    assert parse_range("14, 12 to 16", "flow", bare_unit="cfh").typed == "14, 12 to 16 cfh"


def test_a_gauge_needs_its_metal_because_each_has_its_own_table():
    """16 gauge: 0.0598 steel, 0.0635 galvanised, 0.0625 stainless, 0.0508 aluminium (in)."""
    got = {
        metal: parse_measure("16 ga", "length", material=metal).value / 0.0254
        for metal in gauge_metals()
    }
    expected = {"steel": 0.0598, "galvanised": 0.0635, "stainless": 0.0625, "aluminium": 0.05082}
    assert got == pytest.approx(expected, rel=1e-12)
    assert parse_range("16 ga max", "length", material="steel").high == 0.0598 * 0.0254
    assert parse_measure("16 ga galvanized", "length", material="steel").value == pytest.approx(
        0.0635 * 0.0254
    )


@pytest.mark.parametrize(
    ("text", "dimension", "low", "high", "start"),
    [
        ("85-95 A", "current", 85, 95, None),
        ("85–95 A", "current", 85, 95, None),
        ("85 to 95 A", "current", 85, 95, None),
        ("85 A - 95 A", "current", 85, 95, None),
        ("from 85 to 95 A", "current", 85, 95, None),
        ("60 A", "current", 60, 60, 60),
        ("90 A, 85 to 95", "current", 85, 95, 90),
        ("90, 85-95 A", "current", 85, 95, 90),
        ("90 A, at most 95", "current", None, 95, 90),
        ("90, ≥ 85 A", "current", 85, None, 90),
        ("31 deg, 30 ± 2.5", "angle", 27.5, 32.5, 31),
        ("at most 95 A", "current", None, 95, None),
        ("≤ 95 A", "current", None, 95, None),
        ("95 A max", "current", None, 95, None),
        ("at least 85 A", "current", 85, None, None),
        ("85 A min.", "current", 85, None, None),
        ("30 ± 2.5 deg", "angle", 27.5, 32.5, 30),
        ("5 to 15°", "angle", 5, 15, None),
        ("10-15 s", "time", 10, 15, None),
        ("10 s min", "time", 10, None, None),
        ("0 to 1/16 in", "length", 0, 0.0015875, None),
        ("1/32-3/32 in", "length", 0.00079375, 0.00238125, None),
        ("1-1-1/2 in", "length", 0.0254, 0.0381, None),
        ("1 1/4 to 1 1/2 in", "length", 0.03175, 0.0381, None),
        ("10 mm to 1/2 in", "length", 0.010, 0.0127, None),
        ("11 to 14 ga steel", "length", 0.0747 * 0.0254, 0.1196 * 0.0254, None),
    ],
)
def test_ranges_as_people_write_them(text, dimension, low, high, start):
    got = parse_range(text, dimension)
    for value, expected in ((got.low, low), (got.high, high), (got.start, start)):
        assert value == (None if expected is None else pytest.approx(expected, rel=1e-14))
    assert got.typed == text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("95-85 A", "runs downwards"),
        ("20 A, 30 to 40", "lies outside its range.*30 A, 30 A to 40 A"),
        ("50 A, at most 40", "lies outside its range.*40 A, at most 40 A"),
        ("40 A, 30", "lies outside its range"),
        ("±", "cannot be read"),
        ("85-95", "has no unit"),
        ("85 to", "cannot be read"),
        ("at most", "cannot be read"),
        ("at most -3 A", "below zero"),
        ("85-95-105 A", "cannot be read"),
        ("5 ± 10 A", "below what there is"),
        ("85 A to 3 V", "V measures a voltage"),
    ],
)
def test_what_is_no_range_is_refused(text, words):
    with pytest.raises(UnitError, match=words):
        parse_range(text, "current")


def test_the_working_value_is_start_then_middle_then_the_bound():
    assert parse_range("90 A, 85 to 99", "current").working == 90
    assert parse_range("85-95 A", "current").working == 90
    assert parse_range("at most 95 A", "current").working == 95
    assert parse_range("at least 85 A", "current").working == 85
    assert parse_range("85-95 A", "current").holds(95)
    assert not parse_range("85-95 A", "current").holds(95.1)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_values_that_are_no_number_cannot_be_made(bad):
    with pytest.raises(ValueError, match="finite"):
        Measure.of(bad, "m")
    with pytest.raises(ValueError, match="finite"):
        Range.of(bad, None, "m")


def test_ranges_that_contradict_themselves_cannot_be_made():
    with pytest.raises(ValueError, match="low must not be above high"):
        Range.of(2, 1, "m")
    with pytest.raises(ValueError, match="within the range"):
        Range.of(1, 2, "m", start=3)
    with pytest.raises(ValueError, match="a bound or a start"):
        Range.of(None, None, "m")
    with pytest.raises(ValueError, match="unit must be one of"):
        Measure.of(1, "mm")


@pytest.mark.parametrize(
    ("measure", "us", "metric"),
    [
        (parse_measure("1/16 in", "length"), "1/16 in", "1.5875 mm"),
        (parse_measure("0.0625 in", "length"), "0.0625 in", "1.5875 mm"),
        (Measure.of(0.0015875, "m"), "1/16 in", "1.5875 mm"),
        (Measure.of(0.0381, "m"), "1-1/2 in", "38.1 mm"),
        (Measure.of(0.0254, "m"), "1 in", "25.4 mm"),
        (Measure.of(0.0, "m"), "0 in", "0 mm"),
        (Measure.of(0.000889, "m"), "0.035 in", "0.889 mm"),
        (parse_measure("3.2 mm", "length"), "0.125984 in", "3.2 mm"),
        (parse_measure("16 ga", "length", material="steel"), "16 ga", "1.51892 mm"),
        (parse_measure("20 cfh", "flow"), "20 ft³/h", "9.439 L/min"),
        (parse_measure("4.5 cfm", "flow"), "4.5 ft³/min", "127.4 L/min"),
        (parse_measure("45 deg", "angle"), "45°", "45°"),
        (parse_measure("350 degF", "temperature"), "350 °F", "176.7 °C"),
        (parse_measure("10 lb", "mass"), "10 lb", "4.536 kg"),
        (Measure.of(0.0123456789, "kg"), "0.4355 oz", "12.35 g"),
        (Measure.of(90, "s"), "90 s", "90 s"),
        (Measure.of(1800, "s"), "30 min", "30 min"),
        (parse_measure("6 ipm", "speed"), "6 in/min", "152.4 mm/min"),
        (parse_measure("90 %", "fraction"), "90 %", "90 %"),
        (Measure.of(3, "1"), "3", "3"),
    ],
)
def test_each_system_shows_its_own_units(measure, us, metric):
    assert str(show(measure, "us")) == us
    assert str(show(measure, "metric")) == metric


def test_text_that_no_longer_means_the_value_is_not_shown():
    assert str(show(Measure(0.003175, "m", "1/16 in"), "us")) == "1/8 in"


def test_a_computed_thickness_is_a_gauge_where_it_is_one():
    thickness = Measure.of(float(Fraction("0.0598") * INCH), "m")
    assert str(show(thickness, "us", "steel")) == "16 ga"
    assert str(show(thickness, "us")) == "0.0598 in"
    assert str(show(thickness, "us", "stainless")) == "0.0598 in"


def test_digits_round_a_converted_figure_and_leave_what_was_typed():
    measure = parse_measure("3/64 in", "length")
    assert str(show(measure, "metric", digits=3)) == "1.19 mm"
    assert str(show(measure, "us", digits=3)) == "3/64 in"
    assert str(show(parse_measure("1.1875 mm", "length"), "metric", digits=2)) == "1.1875 mm"


def test_ranges_are_shown_with_their_start_and_open_sides():
    for text, dimension, us, metric in [
        ("85-95 A", "current", "85–95 A", "85–95 A"),
        ("14 cfh, 12 to 16", "flow", "14, 12–16 ft³/h", "6.607, 5.663–7.551 L/min"),
        ("at most 1/32 in", "length", "≤ 1/32 in", "≤ 0.79375 mm"),
        ("at least 1/8 in", "length", "≥ 1/8 in", "≥ 3.175 mm"),
        ("1 to 1-1/2 in", "length", "1–1-1/2 in", "25.4–38.1 mm"),
        ("60 A", "current", "60 A", "60 A"),
        ("10 mm to 1/2 in", "length", "0.393701–0.5 in", "10–12.7 mm"),
    ]:
        got = parse_range(text, dimension)
        assert (str(show_range(got, "us")), str(show_range(got, "metric"))) == (us, metric)


def test_an_unknown_system_is_refused():
    with pytest.raises(ValueError, match="us or metric"):
        show(Measure.of(1, "m"), "imperial")


SYSTEMS = st.sampled_from(["us", "metric"])


@given(k=st.integers(1, 64 * 100), system=SYSTEMS)
def test_a_64th_comes_back_exactly_from_both_systems(k, system):
    exact = float(Fraction(k, 64) * INCH)
    for measure in (Measure.of(exact, "m"), parse_measure(f"{k}/64 in", "length")):
        assert measure.value == exact
        shown = show(measure, system)
        assert parse_measure(str(shown), "length").value == exact
        assert ("/" in shown.figure) == (system == "us" and (k % 64 > 0 or bool(measure.typed)))


@given(k=st.integers(1, 2_000_000), system=SYSTEMS)
def test_a_thousandth_of_a_millimetre_comes_back(k, system):
    exact = float(Fraction(k, 10**6))
    back = parse_measure(str(show(Measure.of(exact, "m"), system)), "length").value
    if system == "metric":
        assert back == exact
    else:  # a millionth of an inch is far finer than the thousandth of a millimetre
        assert round(back, 6) == exact


@given(data=st.data(), system=SYSTEMS)
def test_a_gauge_comes_back_exactly_from_both_systems(data, system):
    metal = data.draw(st.sampled_from(gauge_metals()))
    number = data.draw(st.sampled_from(sorted(gauges(metal))))
    measure = parse_measure(f"{number} ga", "length", material=metal)
    shown = show(measure, system, metal)
    assert parse_measure(str(shown), "length", material=metal).value == measure.value
    if system == "us":
        assert str(shown) == f"{number} ga"


@given(k=st.integers(1, 640_000))
def test_only_a_64th_is_shown_as_a_fraction(k):
    inches = Fraction(k, 10_000)
    shown = show(Measure.of(float(inches * INCH), "m"), "us")
    is_64th = (inches * 64).denominator == 1
    assert ("/" in shown.figure) == (is_64th and inches.denominator != 1)
    assert parse_measure(str(shown), "length").value == pytest.approx(
        float(inches * INCH), rel=1e-9
    )


@given(
    low=st.integers(0, 400),
    width=st.integers(0, 400),
    at=st.none() | st.floats(0, 1),
    system=SYSTEMS,
)
def test_a_range_comes_back(low, width, at, system):
    start = None if at is None else low + round(width * at)
    if width == 0:
        start = low
    whole = Range.of(low, low + width, "A", start=start)
    back = parse_range(str(show_range(whole, system)), "current")
    assert (back.low, back.high, back.start) == (whole.low, whole.high, whole.start)


@given(
    low=st.none() | st.integers(0, 300),
    width=st.none() | st.integers(1, 300),
    at=st.none() | st.floats(0, 1),
    system=SYSTEMS,
)
def test_a_range_of_64ths_comes_back_with_open_sides_too(low, width, at, system):
    high = None if width is None else (low or 0) + width
    if low is None and high is None:
        low = 7
    first, last = low or 0, (low or 0) + 64 if high is None else high
    start = None if at is None else first + round((last - first) * at)
    low, high, start = (
        None if k is None else float(Fraction(k, 64) * INCH) for k in (low, high, start)
    )
    whole = Range.of(low, high, "m", start=start)
    back = parse_range(str(show_range(whole, system)), "length")
    assert (back.low, back.high, back.start) == (low, high, start)


@given(text=st.text(max_size=30) | st.from_regex(r"[0-9/.,\- a-z\"'°%–±]{1,25}", fullmatch=True))
@settings(max_examples=400)
def test_any_text_is_read_or_refused_in_words(text):
    for parse in (parse_measure, parse_range):
        for dimension in ("length", "temperature", "time", "count", "angle"):
            try:
                got = parse(text, dimension, material="steel")
            except UnitError:
                continue  # the sentence was filled in, or this were another error
            for system in ("us", "metric"):
                shown = (show if isinstance(got, Measure) else show_range)(got, system, "steel")
                assert parse(str(shown), dimension, material="steel").unit == got.unit


def test_a_pipe_has_its_outside_and_wall():
    pipe = parse_pipe("2 in sch 80")
    assert (pipe.size, pipe.schedule) == ("2", "80")
    assert pipe.outside.value == pytest.approx(2.375 * 0.0254)
    assert pipe.wall.value == pytest.approx(0.218 * 0.0254)
    with pytest.raises(UnitError, match="is no pipe"):
        parse_pipe("2 in")


def test_a_fraction_after_nought_and_a_dash_is_a_range():
    read = parse_range("0-1/16 in", "length")
    assert (read.low, read.high, read.start) == (0, pytest.approx(0.0015875), None)
    assert parse_range("1-1/2 in", "length").low == pytest.approx(0.0381)  # a mixed number stays


def test_a_half_is_rounded_up():
    assert str(show(parse_measure("1/8 in", "length"), "metric", digits=3)) == "3.18 mm"
