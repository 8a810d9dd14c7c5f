"""What a new instructor may type by mistake, each with the rule that finds it and how hard.

Where a limit is published the row names it; the others are common practice, no source, and are
only looked at, or are so far off that nobody can have meant them.
"""

from __future__ import annotations

import pytest

from curriculum.core.defaults import TABLES
from curriculum.core.machines import Machine
from curriculum.core.marked_rules import RULE_SOURCES
from curriculum.core.sentence import Sentence
from curriculum.core.setup_check import accepted, machine_duty
from curriculum.core.setup_check.kinds import kind_of, metal_of_filler

from .shop import BASES, found, stated, worst

# base, what is typed, rule, level
WRONG = [
    # GTAW: AWS A5.12 ranges as read in manuals (tungsten_current.toml)
    ("gtaw", 'electrode.diameter = "1/16 in"\ncurrent = "200 A"', "tungsten_current", "outside"),
    ("gtaw", 'electrode.diameter = "1/8 in"\ncurrent = "60 A"', "tungsten_current", "look"),
    ("gtaw", 'electrode.diameter = "0.040 in"', "tungsten_current", "outside"),
    ("gtaw", 'polarity = "DCEP"', "tungsten_current", "outside"),
    ("gtaw", 'polarity = "AC"', "polarity", "look"),
    ("aluminium", 'polarity = "DCEN"', "polarity", "look"),
    ("aluminium", 'polarity = "DCEP"', "tungsten_current", "outside"),
    ("gtaw", 'electrode.diameter = "3/4 in"', "tungsten_current", "look"),
    # rod against sheet: filler rod chart, 1.25 times
    ("gtaw", 'filler.diameter = "3/16 in"', "filler_thickness", "outside"),
    ("stainless", 'filler.diameter = "3/32 in"', "filler_thickness", "outside"),
    ("flame", 'filler.diameter = "1/8 in"', "filler_thickness", "outside"),
    ("flame", 'filler.diameter = "5/64 in"\nthickness = "15 ga"', "filler_thickness", "look"),
    ("flame", 'joint.root_opening = "5/32 in"', "filler_root_opening", "look"),
    ("gtaw", 'joint.root_opening = "7/32 in"', "filler_root_opening", "look"),
    ("vee", 'joint.root_opening = "5/16 in"', "filler_root_opening", "look"),
    ("vee", 'electrode.diameter = "1/16 in"\njoint.root_opening = "3/16 in"',
     "filler_root_opening", "look"),
    ("mig_aluminium", 'joint.root_opening = "1/4 in"', "filler_root_opening", "look"),
    # metal of the filler: AWS A5.1, A5.9, A5.10, A5.18 (from memory)
    ("gtaw", 'filler.class = "ER4043"', "filler_metal", "outside"),
    ("aluminium", 'filler.class = "ER70S-2"', "filler_metal", "outside"),
    ("stainless", 'filler.class = "ER70S-6"', "filler_metal", "outside"),
    ("gtaw", 'filler.class = "ER309L"', "filler_metal", "look"),
    ("mig_aluminium", 'electrode.type = "ER70S-6"', "filler_metal", "outside"),
    ("short", 'electrode.type = "ER5356"', "filler_metal", "outside"),
    ("tee", 'base_metal = "304 plate"\nmetal = "stainless"', "filler_metal", "outside"),
    ("tee", 'base_metal = "6061 plate"\nmetal = "aluminium"', "filler_metal", "outside"),
    ("tee", 'electrode.type = "E308L-16"', "filler_metal", "look"),
    # what is made for another process
    ("gtaw", 'filler.class = "E6010"', "filler_kind", "outside"),
    ("gtaw", 'electrode.type = "E7018"', "electrode_kind", "outside"),
    ("gtaw", 'electrode.type = "ER70S-6"', "electrode_kind", "outside"),
    ("tee", 'electrode.type = "EWLa-1.5"', "electrode_kind", "outside"),
    ("tee", 'electrode.type = "ER70S-6"', "electrode_kind", "outside"),
    ("short", 'electrode.type = "E71T-11"', "electrode_kind", "outside"),
    ("short", 'electrode.type = "E7018"', "electrode_kind", "outside"),
    ("cored", 'electrode.type = "ER70S-6"', "electrode_kind", "outside"),
    ("flame", 'filler.class = "E6013"', "filler_kind", "outside"),
    ("tee", 'electrode.length = "36 in"', "electrode_length", "look"),
    # covered electrodes: Machinery's Handbook 31st ed., p. 1594; AWS A5.1 (from memory)
    ("tee", 'current = "200 A"', "covered_electrode_current", "outside"),
    ("tee", 'current = "60 A"', "covered_electrode_current", "look"),
    ("tee", 'electrode.diameter = "3/32 in"', "covered_electrode_current", "outside"),
    ("vee", 'current = "150 A"', "covered_electrode_current", "outside"),
    ("tee", 'electrode.type = "E7081"', "covered_electrode_current", "look"),
    ("vee", 'polarity = "AC"', "polarity", "outside"),
    ("tee", 'polarity = "DCEN"', "polarity", "look"),
    ("tee", 'electrode.preparation = ""', "low_hydrogen_dry", "look"),
    ("tee", 'electrode.preparation = "from the oven, out 9 h"', "low_hydrogen_dry", "look"),
    ("backed", 'electrode.preparation = "never in an oven"', "low_hydrogen_dry", "look"),
    ("vee", 'electrode.preparation = "from the oven"', "cellulosic_oven", "look"),
    ("tee", 'thickness = "16 ga"\nelectrode.type = "E6013"', "electrode_thickness", "look"),
    ("backed", 'electrode = { type = "E7024", diameter = "1/8 in" }', "electrode_position",
     "outside"),
    ("backed", 'exercise.position = "3G down"', "electrode_position", "look"),
    ("backed", 'electrode.diameter = "3/16 in"\ncurrent = "200 A"', "electrode_size_position",
     "look"),
    ("tee", 'arc_length = "1/2 in"', "arc_length", "look"),
    ("tee", 'voltage = "90 V"\npolarity = "AC"', "arc_voltage", "outside"),  # 29 CFR 1910.254(b)(3)
    ("tee", 'voltage = "12 V"', "arc_voltage", "look"),
    ("tee", 'interpass_max = "700 degF"', "interpass", "look"),
    ("tee", 'travel_direction = "push"', "travel_direction", "look"),
    # solid and flux cored wire
    ("short", 'current = "400 A"', "wire_current", "outside"),
    ("short", 'current = "20 A"', "wire_current", "look"),
    ("short", 'electrode.diameter = "0.023 in"\ncurrent = "180 A"', "wire_current", "outside"),
    ("short", 'wire_feed = "700 in/min"', "wire_feed_current", "look"),
    ("short", 'wire_feed = "50 in/min"', "wire_feed_current", "look"),
    ("short", 'voltage = "28 V"', "arc_voltage", "look"),
    ("short", 'stickout = "1-1/2 in"', "contact_tip", "look"),
    ("short", 'polarity = "DCEN"', "polarity", "outside"),
    ("short", 'current = "320 A"', "current_thickness", "look"),
    ("short", 'gas = { name = "argon", flow = "25 cfh" }', "shielding_gas", "look"),
    ("short", 'gas = { name = "oxygen", flow = "25 cfh" }', "shielding_gas", "outside"),
    ("short", 'gas = { name = "air", flow = "25 cfh" }', "shielding_gas", "look"),
    ("short", 'gas.flow = "90 cfh"', "gas_flow", "look"),
    ("short", 'gas.flow = "5 cfh"', "gas_flow", "look"),
    ("short", 'gas.flow = "200 cfh"', "nozzle_flow", "outside"),
    ("spray", 'gas.name = "75 Ar/25 CO2"', "shielding_gas", "outside"),
    ("spray", 'gas.name = "82 Ar/18 CO2"', "shielding_gas", "look"),
    ("spray", 'current = "140 A"', "spray_transition", "look"),
    ("spray", 'exercise.position = "4F"', "spray_position", "look"),
    ("mig_aluminium", 'gas.name = "75 Ar/25 CO2"', "shielding_gas", "outside"),
    ("mig_aluminium", 'gas.name = "CO2"', "shielding_gas", "outside"),
    ("mig_aluminium", 'travel_direction = "drag"', "travel_direction", "look"),
    ("mig_aluminium", 'polarity = "AC"', "polarity", "outside"),
    ("cored", 'polarity = "DCEN"', "polarity", "outside"),
    ("cored", 'gas = ""', "flux_cored_gas", "outside"),
    ("cored", 'gas.name = "75 Ar/25 CO2"', "flux_cored_gas", "look"),
    ("cored", 'electrode.type = "E70T-1C"', "electrode_position", "outside"),
    ("cored", 'stickout = "5 in"', "contact_tip", "look"),
    ("gasless", 'polarity = "DCEP"', "polarity", "outside"),
    ("gasless", 'gas = { name = "CO2", flow = "30 cfh" }', "flux_cored_gas", "look"),
    ("gasless", 'travel_direction = "push"', "travel_direction", "look"),
    ("spray", 'transfer = "short circuit"', "short_circuit_thickness", "look"),
    # heat input: U I / v with k of EN 1011-1; usual bounds are common practice
    ("tee", 'travel_speed = "1 in/min"', "heat_input", "look"),
    ("stainless", 'voltage = "12 V"\ntravel_speed = "0.3 in/min"', "heat_input", "look"),
    # gas of a tungsten arc
    ("gtaw", 'gas.name = "75 Ar/25 CO2"', "shielding_gas", "outside"),
    ("gtaw", 'gas.name = "CO2"', "shielding_gas", "outside"),
    ("gtaw", 'gas.name = "98 Ar/2 O2"', "shielding_gas", "outside"),
    ("aluminium", 'gas.name = "95 Ar/5 H2"', "shielding_gas", "look"),
    ("gtaw", 'nozzle = "1/4 in"\ngas.flow = "40 cfh"', "nozzle_flow", "outside"),
    ("gtaw", 'nozzle = "3/8 in"\ngas.flow = "35 cfh"', "nozzle_flow", "look"),
    ("gtaw", 'nozzle = "3/16 in"', "nozzle_tungsten", "look"),
    ("gtaw", 'gas.flow = "3 cfh"', "gas_flow", "look"),
    ("gtaw", 'gas.flow = "50 cfh"', "gas_flow", "look"),
    ("gtaw", 'preflow = "0 s"', "preflow", "look"),
    ("gtaw", 'postflow = "2 s"', "postflow_current", "look"),
    ("gtaw", 'postflow = "10 min"', "postflow_current", "look"),
    ("gtaw", 'stickout = "3/4 in"', "stickout", "outside"),  # cup size selection table
    ("gtaw", 'stickout = "5/16 in"', "stickout", "look"),
    ("gtaw", 'arc_length = "3/8 in"', "arc_length", "look"),
    ("gtaw", 'current = "220 A"', "current_thickness", "look"),
    ("gtaw", 'current = "40 A"', "current_thickness", "look"),
    ("gtaw", 'travel_direction = "drag"', "travel_direction", "look"),
    ("gtaw", 'electrode.type = "EWP"', "tungsten_type", "look"),
    ("aluminium", 'electrode.type = "EWTh-2"', "tungsten_type", "look"),
    ("gtaw", 'start = "scratch"', "arc_start", "look"),
    ("gtaw", 'rod_angle = "80 deg"', "rod_angle", "look"),
    ("gtaw", 'travel_speed = "40 in/min"', "travel_speed", "look"),
    ("tee", 'travel_speed = "6 mm/min"', "travel_speed", "look"),
    ("tee", 'travel_angle = "80 deg"', "travel_angle", "look"),
    ("tee", 'work_angle = "90 deg"', "work_angle", "look"),
    ("gtaw", 'work_angle = "15 deg"', "work_angle", "look"),
    # flame: 29 CFR 1910.253(a)(2)
    ("flame", 'fuel.pressure = "20 psig"', "acetylene_pressure", "outside"),
    ("cut", 'fuel.pressure = "30 psig"', "acetylene_pressure", "outside"),
    ("flame", 'oxygen.flow = "15 cfh"', "flame", "look"),
    ("flame", 'oxygen.flow = "3 cfh"', "flame", "look"),
    ("flame", 'oxygen.name = "acetylene"', "fuel_gas", "outside"),
    ("flame", 'fuel.name = "oxygen"', "fuel_gas", "outside"),
    ("cut", 'cutting_oxygen.name = "compressed air"', "fuel_gas", "outside"),
    ("flame", 'fuel.name = "propane"', "fuel_gas", "look"),
    ("flame", 'tip = "0.075 in"', "tip", "look"),
    ("cut", 'tip = "0.015 in"', "tip", "look"),
    # plasma
    ("plasma", 'polarity = "DCEP"', "polarity", "look"),
    ("plasma", 'travel_speed = "30 mm/min"', "travel_speed", "look"),
    ("plasma", 'travel_angle = "60 deg"', "travel_angle", "look"),
    ("plasma", 'exercise.clothing = ["goggles, shade 5"]', "filter_shade", "outside"),
    # joint
    ("short", 'joint.leg = "5/32 in"', "leg_thickness", "look"),  # AWS D1.1, laps (from memory)
    ("tee", 'joint.leg = "7/8 in"', "leg_thickness", "look"),
    ("tee", 'joint.leg = "1/8 in"', "least_leg", "look"),  # AWS D1.1 minimum fillet, as read
    ("tee", 'joint.leg = "3/16 in"\njoint.contour = "concave"\njoint.convexity = "1/32 in"',
     "least_leg", "look"),
    ("tee", 'joint.leg_2 = "1/8 in"', "least_leg", "look"),
    ("tee", 'joint.gap = "1/4 in"', "fillet_gap", "look"),
    ("short", 'joint.overlap = "1/4 in"', "lap_overlap", "look"),
    ("vee", 'joint.groove_angle = "20 deg"', "groove_angle", "look"),
    ("backed", 'joint.groove_angle = "30 deg"', "groove_angle", "look"),
    ("backed", 'joint.root_opening = "1/16 in"', "groove_angle", "look"),
    ("backed", 'joint.groove_angle = "10 deg"', "groove_angle", "look"),
    ("vee", 'joint.root_face = "1/4 in"', "root_face", "look"),
    ("vee", 'joint.face_reinforcement = "1/4 in"', "face_reinforcement", "look"),
    ("vee", 'joint.root_reinforcement = "1/4 in"', "root_reinforcement", "look"),
    ("mig_aluminium", 'thickness = "1/2 in"', "square_groove", "look"),
    ("gtaw", 'joint.root_opening = "1/4 in"', "root_opening_thickness", "look"),
    ("backed", 'pieces = [{ count = 2, thickness = "3/8 in", width = "3 in", length = "7 in" }]',
     "backing", "look"),
    ("backed", 'joint = { kind = "single bevel", bevel_angle = "15 deg", root_face = "0 in", '
     'root_opening = "1/4 in", backing = true, groove_angle = "" }', "bevel_angle", "look"),
    ("stainless", 'joint = { kind = "square groove", root_opening = "0 in", leg = "", '
     'overlap = "" }', "purge", "look"),
    ("stainless", 'base_metal = "5052 sheet, aluminium"', "named_metal", "look"),
    ("tee", 'weld_length = "60 in"', "weld_length", "outside"),
    ("gtaw", 'weld_length = "6-1/4 in"', "weld_length", "outside"),
    ("tee", 'thickness = "1/2 in"', "piece_thickness", "look"),
    ("tee", 'pieces = [{ count = 1, thickness = "3/8 in", width = "3 in", length = "6 in" }]',
     "piece_count", "look"),
    ("vee", 'weld_length = "2 in"', "bend_coupon", "outside"),
    ("vee", 'weld_length = "4 in"', "bend_coupon", "look"),
    ("vee", 'pieces = [{ count = 2, thickness = "3/8 in", width = "2 in", length = "7 in" }]',
     "bend_coupon", "look"),
    ("tee", 'tacks = 8\ntack_length = "1 in"', "tacks", "look"),
    ("short", 'coating = "galvanised"', "coating", "look"),
    # AWS D1.1 Table 6.1(7), ISO 5817 level D
    ("tee", 'exercise.criterion = [{ name = "Undercut", kind = "measured", max = "1/4 in" }]',
     "criterion_limit", "look"),
    # eyes: 29 CFR 1910.133(a)(5)
    ("tee", 'exercise.clothing = ["helmet, shade 5"]', "filter_shade", "outside"),
    ("spray", 'exercise.clothing = ["helmet, shade 8"]', "filter_shade", "outside"),
    ("flame", 'exercise.tools = ["goggles, filter shade 3"]', "filter_shade", "outside"),
]  # fmt: skip


@pytest.mark.parametrize(("base", "typed", "rule", "level"), WRONG)
def test_what_is_typed_wrong_is_found(base: str, typed: str, rule: str, level: str) -> None:
    assert worst(base, typed)[rule] == level


@pytest.mark.parametrize("base", BASES)
def test_before_it_is_changed_nothing_has_to_be_looked_at(base: str) -> None:
    assert [(one.rule, one.level) for one in found(base) if one.level != "ok"] == []


def test_every_process_and_metal_has_its_wrong_ones() -> None:
    wrong = {base for base, *_rest in WRONG}
    assert wrong == set(BASES)
    assert {BASES[base]["process"] for base in wrong} >= {
        "GTAW", "SMAW", "GMAW", "FCAW", "OFW", "OFC", "PAC"
    }  # fmt: skip
    assert len(WRONG) >= 60


def test_every_finding_says_a_marked_source_and_a_sentence_in_either_system() -> None:
    for base, typed, _rule, _level in WRONG:
        for one in found(base, typed):
            assert isinstance(one.source, Sentence) or one.source in RULE_SOURCES, one.source
            assert one.message.endswith("."), one.message
            for system in ("us", "metric"):
                text = one.message.in_words(str, system)
                assert text.endswith("."), text
                assert "%(" not in text
                assert "≤" not in text


def test_no_source_of_a_table_is_marked_in_vain() -> None:
    text = "".join(
        (TABLES / f"{name}.toml").read_text(encoding="utf-8")
        for name in ("rules", "tungsten_current", "smaw_current", "wire_current", "nozzle_flow")
    )
    assert [one for one in RULE_SOURCES if one not in text] == []


def _read(message: Sentence, system: str) -> str:
    return message.in_words(str, system).replace("\u00a0", " ")


def test_a_figure_is_read_in_the_readers_units() -> None:
    (rod,) = [one for one in found("flame", 'filler.diameter = "1/8 in"')
              if one.rule == "filler_thickness"]  # fmt: skip
    assert _read(rod.message, "us").startswith("A rod of 1/8 in is far too thick for 14 ga")
    assert _read(rod.message, "metric").startswith("A rod of 3.18 mm is far too thick for 1.9 mm")
    assert rod.message.startswith("A rod of 1/8 in (3.18 mm)")


def test_a_look_again_is_accepted_by_the_reviewer_and_outside_by_nobody() -> None:
    reviewed = 'exercise.reviewed_by = "Q. Sample"\nexercise.reviewed_on = 2026-03-02\n'
    exercise, _setup = stated("gtaw", reviewed)
    by_level = {
        one.level: accepted(one, exercise)
        for one in found("gtaw", 'postflow = "2 s"\ncurrent = "700 A"')
    }
    who = by_level["look"]
    assert who is not None
    assert who[0] == "Q. Sample"
    assert str(who[1]) == "2026-03-02"
    assert by_level["outside"] is None
    assert by_level["ok"] is None
    nobody, _setup = stated("gtaw")
    assert all(accepted(one, nobody) is None for one in found("gtaw", 'postflow = "2 s"'))


# 24 V x 120 A / 150 mm/min x 0.8 = 0.9216 kJ/mm: EN 1011-1 formula, worked in heat_input.toml.
def test_heat_input_is_the_worked_example_of_its_standard() -> None:
    typed = 'voltage = "24 V"\ncurrent = "120 A"\ntravel_speed = "150 mm/min"'
    (heat,) = [one for one in found("tee", typed) if one.rule == "heat_input"]
    assert heat.value == pytest.approx(921_600, rel=1e-6)
    assert heat.unit == "J/m"
    assert "0.922 kJ/mm" in _read(heat.message, "metric")
    assert "at an arc efficiency of 0.8" in heat.message


# IEC 60974-1 relation of current and time, worked by hand: 200 A at 60 % gives
# 60 % x (200/250)^2 = 38.4 % at 250 A, 60 % x (200/155)^2 = 99.9 % at 155 A.
@pytest.mark.parametrize(
    ("amps", "level", "value"),
    [("250 A", "ok", 0.384), ("155 A", "ok", 0.9990), ("120 A", "ok", 1.0),
     ("299 A", "look", 0.2684), ("301 A", "outside", 301.0)],
)  # fmt: skip
def test_a_machine_welds_as_long_as_its_rating_allows(amps: str, level: str, value: float) -> None:
    machine = Machine(process="SMAW", rated_current=200, duty=0.6, largest_current=300)
    _exercise, setup = stated("tee", f'current = "{amps}"')
    (one,) = machine_duty(setup, machine)
    assert one.level == level
    assert one.value == pytest.approx(value, abs=2e-4)
    assert one.source


def test_a_pass_with_more_current_counts_for_the_machine() -> None:
    machine = Machine(process="SMAW", rated_current=100, duty=1.0, largest_current=130)
    passes = 'pass = [{ technique = "stringer" }, { technique = "weave", current = "140 A" }]'
    _exercise, setup = stated("tee", f'current = "120 A"\n{passes}')
    assert [one.level for one in machine_duty(setup, machine)] == ["outside"]


@pytest.mark.parametrize(
    ("name", "kind", "metal"),
    [
        ("EWLa-1.5", "tungsten", ""), ("EWTh-2", "tungsten", ""), ("EWP", "tungsten", ""),
        ("WL 20", "tungsten", ""), ("WLa 15", "tungsten", ""), ("EWCe-2", "tungsten", ""),
        ("2 % lanthanated", "tungsten", ""), ("EWZr-8", "tungsten", ""),
        ("E6010", "covered", "steel"), ("E7018-1 H4R", "covered", "steel"),
        ("E8018-B2", "covered", "steel"), ("E11018M", "covered", "steel"),
        ("E308L-16", "covered", "stainless"), ("E4043", "covered", "aluminium"),
        ("ER70S-6", "solid", "steel"), ("ER80S-D2", "solid", "steel"),
        ("ER308LSi", "solid", "stainless"), ("ER316L", "solid", "stainless"),
        ("ER2209", "solid", "stainless"), ("ER410", "solid", "stainless"),
        ("ER4043", "solid", "aluminium"), ("ER5356", "solid", "aluminium"),
        ("ER1100", "solid", "aluminium"), ("ERCuSi-A", "solid", ""), ("ERNiCr-3", "solid", ""),
        ("RG45", "gas rod", "steel"), ("RG60", "gas rod", "steel"), ("R45", "gas rod", "steel"),
        ("E71T-1C", "cored", "steel"), ("E71T-11", "cored", "steel"),
        ("E70T-4", "cored", "steel"), ("E308LT1-1", "cored", "stainless"),
        ("E70C-6M", "metal cored", "steel"), ("", "", ""), ("whatever is there", "", ""),
    ],
)  # fmt: skip
def test_a_class_says_kind_and_metal_or_nothing(name: str, kind: str, metal: str) -> None:
    # AWS A5.1, A5.2, A5.4, A5.9, A5.10, A5.12, A5.18, A5.20, A5.22 and ISO 6848, from memory.
    assert (kind_of(name), metal_of_filler(name)) == (kind, metal)


def test_whatever_is_said_of_a_sound_setup_has_its_wrong_twin() -> None:
    said = {one.rule for base in BASES for one in found(base)}
    twins = {rule for _base, _typed, rule, _level in WRONG}
    assert said <= twins | {"fewest_passes"}, said - twins  # see test_setup_check_passes.py
