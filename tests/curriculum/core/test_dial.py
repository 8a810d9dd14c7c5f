"""Which five figures stand large, and what stands beside them."""

import dataclasses

import pytest

from curriculum.core.dial import ORDER, dial, numbered, split
from curriculum.core.limits import allowed
from curriculum.core.spec import PROCESSES, Criterion, Gas, Pass
from shared.units import Measure, Range, parse_measure, parse_range
from tests.curriculum.core.setups import current, setup


def labels(rows):
    return [row.label for row in rows]


def test_every_process_has_its_order():
    assert set(ORDER) == set(PROCESSES)


def test_gtaw_dials_current_tungsten_rod_gas_and_nozzle():
    made = setup(
        amps="85-95 A",
        polarity="DCEN",
        electrode=("EWLa-1.5", "3/32 in"),
        filler=("ER70S-2", "3/32 in"),
        gas=("argon", "15 cfh"),
        nozzle="3/8 in",
        postflow="10 s",
        stickout="1/4 in",
    )
    rows = dial(made, "GTAW")
    assert labels(rows) == ["Current", "Tungsten", "Rod", "Gas", "Nozzle"]
    assert rows[0].word == "DCEN"
    assert rows[1].word == "EWLa-1.5"
    assert rows[3].word == "argon"


def test_what_is_not_stated_makes_room_for_what_comes_next():
    made = setup(amps="85-95 A", electrode=("EWLa-1.5", "3/32 in"), postflow="10 s")
    assert labels(dial(made, "GTAW")) == ["Current", "Tungsten", "Postflow"]


def test_a_wire_is_set_by_feed_and_voltage_before_current():
    made = dataclasses.replace(
        setup(amps="150 A", electrode=("ER70S-6", "0.035 in")),
        wire_feed=parse_range("250 in/min, 220 to 280", "speed"),
        voltage=parse_range("18.5 V", "voltage"),
    )
    assert labels(dial(made, "GMAW")) == ["Wire feed", "Voltage", "Wire", "Current"]


def test_a_flame_shows_the_pressure_of_its_regulators():
    gas = Gas(
        name="acetylene",
        flow=parse_range("8 cfh", "flow"),
        pressure=parse_measure("5 psig", "pressure"),
    )
    oxygen = dataclasses.replace(gas, name="oxygen")
    made = dataclasses.replace(
        setup(), fuel=gas, oxygen=oxygen, tip=parse_measure("0.046 in", "length")
    )
    tip, fuel, second = dial(made, "OFW")
    assert tip.label == "Tip"
    assert (fuel.word, fuel.figure) == ("acetylene", gas.pressure)
    assert second.word == ""  # "Oxygen: oxygen" says nothing


def test_a_stated_start_is_the_figure_and_its_range_stands_beside_it():
    figure, around, bound = split(current("90 A, 85 to 95"))
    assert isinstance(figure, Measure)
    assert (figure.value, around.low, around.high, bound) == (90.0, 85.0, 95.0, "")


def test_no_middle_is_made_up_where_only_a_range_is_stated():
    figure, around, bound = split(current("85-95 A"))
    assert figure == current("85-95 A")
    assert (around, bound) == (None, "")


@pytest.mark.parametrize(
    ("typed", "word"), [("at most 1/8 in", "at most"), ("at least 1/8 in", "at least")]
)
def test_a_one_sided_range_says_its_side_in_words(typed, word):
    figure, around, bound = split(parse_range(typed, "length"))
    assert figure == Measure.of(0.003175, "m")
    assert (around, bound) == (None, word)


def test_passes_that_are_set_otherwise_are_named():
    passes = (
        Pass(technique="whip", current=current("75-95 A")),
        Pass(technique="stringer", count=3),
        Pass(technique="weave", current=current("115-135 A")),
    )
    made = dataclasses.replace(setup(amps="115-135 A"), passes=passes)
    assert [label for label, _one in numbered(passes)] == ["1", "2–4", "5"]
    row = dial(made, "SMAW")[0]
    assert [(label, one.low) for label, one in row.own] == [("pass 1", 75.0)]


def test_settings_that_only_passes_state_come_from_the_first():
    passes = (
        Pass(technique="root", current=current("85 A")),
        Pass(technique="fill", current=current("120 A")),
    )
    made = dataclasses.replace(setup(), passes=passes)
    row = dial(made, "SMAW")[0]
    assert row.value == 85.0
    assert [label for label, _one in row.own] == ["pass 2"]


def test_letters_that_are_no_process_are_refused():
    with pytest.raises(ValueError, match="process must be one of GTAW"):
        dial(setup(), "XYZ")


# Limits

INCH = 0.0254


def criterion(kind="measured", **fields):
    return Criterion(name="one", kind=kind, **fields)


def inch(figure):
    return Measure(figure * INCH, "m", f"{figure} in")


def test_a_limit_that_grows_with_the_plate_stops_at_its_cap():
    # ISO 5817:2014, table 1, no. 1.7, level C: h at most 0.1 t, but at most 0.5 mm (from memory).
    one = criterion(unit="mm", per_thickness=0.1, cap=Measure(0.0005, "m", "0.5 mm"))
    assert allowed(one, Measure.of(0.003, "m")).bound.value == pytest.approx(0.0003)
    assert allowed(one, Measure.of(0.010, "m")).bound.value == 0.0005


def test_both_bounds_make_a_range_that_reads_as_typed():
    found = allowed(criterion(unit="in", min=inch(1 / 8), max=inch(1 / 4)), inch(1 / 4))
    assert isinstance(found.range, Range)
    assert (found.range.low, found.range.high) == (0.125 * INCH, 0.25 * INCH)


@pytest.mark.parametrize(
    ("kind", "fields", "said"),
    [
        ("counted", {"max": Measure.of(0, "1")}, "none"),
        ("counted", {"max": Measure.of(2, "1")}, "at most 2"),
        ("share", {"min": Measure.of(0.9, "1")}, "at least 90 %"),
        (
            "judged",
            {"min": Measure.of(2, "1"), "max": Measure.of(4, "1"), "unit": "0-4"},
            "at least 2 of 4",
        ),
        ("judged", {"unit": "yes/no"}, "yes"),
        ("gauge", {}, "fits the gauge"),
        ("measured", {"max": Measure.of(0, "m"), "unit": "in"}, "none"),
    ],
)
def test_limits_without_a_ruler_are_words(kind, fields, said):
    assert allowed(criterion(kind, **fields), inch(1 / 4)).word == said
