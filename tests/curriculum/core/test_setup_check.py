"""Setups that published tables and practice allow are never outside; their bad twins are."""

from __future__ import annotations

import json
from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from hypothesis import given
from hypothesis import strategies as st

import curriculum
from curriculum.core.drawing import draw_joint
from curriculum.core.library import read_exercises
from curriculum.core.setup_check import check, table
from curriculum.core.spec import Electrode, Pass, Setup
from shared.management.base import Refused
from shared.units import Measure, Range

from .setups import current, exercise, length, setup


def levels(process: str, one: Setup) -> dict[str, str]:
    return {f.rule: f.level for f in check(exercise(process, one), one) if not f.place}


# Low-carbon sheet in two thicknesses as a shop runs it: common practice, no source.
THIN = setup(
    "square groove", "16 ga", root_opening="1/32 in", filler=("ER70S-2", "1/16 in"),
    amps="50-60 A", polarity="DCEN", electrode=("EWLa-1.5", "1/8 in"), nozzle="3/8 in",
    gas=("argon", "20 ft3/h"), postflow="10-15 s", stickout="1/8-1/4 in",
)  # fmt: skip
THICK = setup(
    "square groove", "11 ga", root_opening="1/8 in", filler=("ER70S-2", "1/8 in"),
    amps="85-95 A", polarity="DCEN", electrode=("EWLa-1.5", "1/8 in"), nozzle="3/8 in",
    gas=("argon", "20 ft3/h"), postflow="10-15 s", stickout="1/8-1/4 in",
)  # fmt: skip


@pytest.mark.parametrize("one", [THIN, THICK], ids=["16 ga", "11 ga"])
def test_sheet_as_the_trade_sets_it_has_nothing_outside_and_a_large_tungsten_to_look_at(
    one: Setup,
) -> None:
    found = levels("GTAW", one)
    assert "outside" not in found.values()
    assert [rule for rule, level in found.items() if level == "look"] == ["tungsten_current"]
    assert {"filler_thickness", "nozzle_flow", "postflow_current", "stickout"} <= found.keys()


BAD_TWINS = [
    # common practice, no source
    ("tungsten_current", "GTAW", THIN, {"amps": "250 A", "electrode": ("EWLa-1.5", "1/16 in")}),
    ("nozzle_flow", "GTAW", THIN, {"gas": ("argon", "40 ft3/h"), "nozzle": "1/4 in"}),
    ("filler_thickness", "GTAW", THIN, {"filler": ("ER70S-2", "3/16 in")}),
]


@pytest.mark.parametrize(("rule", "process", "sound", "wrong"), BAD_TWINS)
def test_the_bad_twin_of_a_sound_setup_is_outside(
    rule: str, process: str, sound: Setup, wrong: dict
) -> None:
    twin = setup("square groove", "16 ga", polarity="DCEN", **wrong)
    changed = {
        name: getattr(twin, name)
        for name in ("current", "electrode", "gas", "nozzle", "filler")
        if getattr(twin, name)
    }
    assert levels(process, sound)[rule] != "outside"
    assert levels(process, replace(sound, **changed))[rule] == "outside"


@pytest.mark.parametrize(
    ("rule", "process", "sound", "wrong", "level"),
    [
        ("covered_electrode_current", "SMAW",
         {"amps": "115-135 A", "electrode": ("E7018", "1/8 in")}, {"amps": "200 A"}, "outside"),
        ("covered_electrode_current", "SMAW",
         {"amps": "80-105 A", "electrode": ("E6010", "1/8 in")}, {"amps": "50 A"}, "look"),
        ("covered_electrode_current", "SMAW",
         {"amps": "80-105 A", "electrode": ("E6010", "1/8 in")},
         {"electrode": ("E9999", "1/8 in")}, "look"),
        ("tungsten_current", "GTAW",
         {"amps": "15 A", "polarity": "DCEP", "electrode": ("EWLa-1.5", "1/16 in")},
         {"amps": "60 A"}, "outside"),
        ("postflow_current", "GTAW", {"amps": "100 A", "postflow": "10 s"},
         {"postflow": "3 s"}, "look"),
        ("filler_thickness", "OFW", {"thickness": "14 ga", "filler": ("RG45", "1/16 in")},
         {"filler": ("RG45", "1/8 in")}, "outside"),
        ("filler_thickness", "GTAW", {"thickness": "1/16 in", "filler": ("ER70S-2", "1/16 in")},
         {"filler": ("ER70S-2", "0.072 in")}, "look"),
        ("nozzle_flow", "GTAW", {"nozzle": "3/8 in", "gas": ("argon", "15 ft3/h")},
         {"gas": ("argon", "35 ft3/h")}, "look"),
        ("nozzle_tungsten", "GTAW", {"nozzle": "3/8 in", "electrode": ("EWLa-2", "1/8 in")},
         {"nozzle": "1/4 in"}, "look"),
        ("current_thickness", "GTAW", {"thickness": "16 ga", "amps": "50-60 A"},
         {"amps": "120 A"}, "look"),
        ("stickout", "GTAW",
         {"stickout": "1/4 in", "nozzle": "3/8 in", "electrode": ("EWLa-2", "1/8 in")},
         {"stickout": "1/2 in"}, "outside"),
        ("stickout", "GTAW",
         {"stickout": "1/4 in", "nozzle": "1/2 in", "electrode": ("EWLa-2", "1/8 in")},
         {"stickout": "3/8 in"}, "look"),
        ("shielding_gas", "GTAW", {"gas": ("argon", "15 ft3/h")},
         {"gas": ("75 Ar/25 CO2", "15 ft3/h")}, "outside"),
        ("shielding_gas", "GMAW", {"transfer": "spray", "gas": ("90 Ar/10 CO2", "35 ft3/h")},
         {"gas": ("75 Ar/25 CO2", "35 ft3/h")}, "outside"),
        ("shielding_gas", "GMAW", {"transfer": "spray", "gas": ("98Ar/2O2", "35 ft3/h")},
         {"gas": ("82 Ar/18 CO2", "35 ft3/h")}, "look"),
        ("shielding_gas", "GMAW", {"metal": "aluminium", "gas": ("argon", "35 ft3/h"),
                                   "thickness": "1/8 in"},
         {"gas": ("carbon dioxide", "35 ft3/h")}, "outside"),
        ("polarity", "SMAW", {"polarity": "DCEP", "electrode": ("E6010", "1/8 in")},
         {"polarity": "AC"}, "outside"),
        ("polarity", "SMAW", {"polarity": "DCEP", "electrode": ("E7018", "1/8 in")},
         {"polarity": "DCEN"}, "look"),
        ("polarity", "GMAW", {"polarity": "DCEP"}, {"polarity": "DCEN"}, "outside"),
        ("polarity", "GTAW", {"metal": "aluminium", "thickness": "1/8 in", "polarity": "AC"},
         {"polarity": "DCEN"}, "look"),
    ],
)  # fmt: skip
def test_each_rule_passes_the_sound_setup_and_finds_its_twin(
    rule: str, process: str, sound: dict, wrong: dict, level: str
) -> None:
    assert levels(process, setup("bead", **sound))[rule] == "ok"
    assert levels(process, setup("bead", **(sound | wrong)))[rule] == level


# Machinery's Handbook, 31st ed., p. 1594, Tables 13 and 14: class, core in inch, amperes.
HANDBOOK = [
    ("E6010", "3/32 in", 40, 75), ("E6010", "1/8 in", 75, 130), ("E6011", "5/32 in", 90, 170),
    ("E6013", "1/8 in", 75, 135), ("E6013", "3/32 in", 50, 100), ("E7014", "1/8 in", 110, 155),
    ("E7018", "3/32 in", 70, 105), ("E7018", "1/8 in", 110, 160), ("E7018", "5/32 in", 150, 215),
    ("E7018", "3/16 in", 180, 275),
]  # fmt: skip


@pytest.mark.parametrize(("name", "size", "low", "high"), HANDBOOK)
def test_handbook_currents_of_covered_electrodes_are_sound(
    name: str, size: str, low: int, high: int
) -> None:
    one = setup(amps=f"{low}-{high} A", electrode=(name, size))
    assert levels("SMAW", one)["covered_electrode_current"] == "ok"
    over = setup(amps=f"{1.3 * high:.0f} A", electrode=(name, size))
    assert levels("SMAW", over)["covered_electrode_current"] == "outside"


# Power source operator manual, Table B.3 (AWS classes), DC electrode negative: mm, amperes.
MANUAL = [(1.0, 15, 80), (1.6, 70, 150), (2.4, 150, 250), (3.2, 250, 400), (4.0, 400, 500)]
# TIG handbook, Table 2, AC balanced wave, zirconiated: mm, amperes.
BALANCED = [(1.6, 60, 120), (2.4, 100, 180), (3.2, 160, 250), (4.0, 200, 320)]


@pytest.mark.parametrize(
    ("polarity", "size", "low", "high"),
    [("DCEN", *row) for row in MANUAL] + [("AC", *row) for row in BALANCED],
)
def test_published_currents_of_tungstens_are_sound(
    polarity: str, size: float, low: int, high: int
) -> None:
    one = setup(amps=f"{low}-{high} A", electrode=("EWZr-8", f"{size} mm"), polarity=polarity)
    assert levels("GTAW", one)["tungsten_current"] == "ok"
    over = setup(amps=f"{1.7 * high:.0f} A", electrode=("EWZr-8", f"{size} mm"), polarity=polarity)
    assert levels("GTAW", over)["tungsten_current"] == "outside"


def test_inch_and_millimetre_tungstens_of_one_size_are_judged_alike() -> None:
    for inch, metric in (("1/16 in", "1.6 mm"), ("3/32 in", "2.4 mm"), ("1/8 in", "3.2 mm")):
        found = [
            check(exercise("GTAW", one), one)[0].limit
            for size in (inch, metric)
            for one in [setup(amps="90 A", electrode=("EWLa-1.5", size), polarity="DCEN")]
        ]
        assert found[0] == found[1]


def test_a_tungsten_between_two_published_sizes_is_outside_only_over_the_larger() -> None:
    between = {"electrode": ("EWLa-1.5", "2.0 mm"), "polarity": "DCEN"}
    assert levels("GTAW", setup(amps="200 A", **between))["tungsten_current"] != "outside"
    assert levels("GTAW", setup(amps="260 A", **between))["tungsten_current"] == "outside"


def test_every_published_pair_of_nozzle_and_flow_is_sound() -> None:
    pairs = table("nozzle_flow")["pair"]
    assert len(pairs) > 20
    for row in pairs:
        one = setup(
            nozzle=f"{row['bore_mm']} mm", gas=("argon", f"{row['flow']} {row['flow_unit']}")
        )
        assert levels("GTAW", one)["nozzle_flow"] == "ok", row


def test_nozzle_limit_is_the_reynolds_number_worked_by_hand() -> None:
    # 20 ft3/h = 1.5732e-4 m3/s through 9.525 mm: 4 Q / (pi d nu)
    # = 4 * 1.5732e-4 / (3.14159 * 9.525e-3 * 1.35e-5) = 1558; the limit 2300 is 1.4766 times that.
    one = setup(nozzle="3/8 in", gas=("argon", "20 ft3/h"))
    (found,) = [f for f in check(exercise("GTAW", one), one) if f.rule == "nozzle_flow"]
    assert found.value == pytest.approx(1.5732e-4, rel=1e-4)
    assert found.limit is not None
    assert found.limit / found.value == pytest.approx(2300 / 1558, rel=1e-3)


def test_helium_may_flow_faster_than_argon() -> None:
    fast = {"nozzle": "3/8 in"}
    assert levels("GTAW", setup(gas=("helium", "40 ft3/h"), **fast))["nozzle_flow"] == "ok"
    assert levels("GTAW", setup(gas=("argon", "40 ft3/h"), **fast))["nozzle_flow"] == "look"


@given(amps=st.floats(1, 1200), more=st.floats(0, 500), mm=st.floats(0.5, 6.3))
def test_more_current_is_never_judged_better_than_outside(
    amps: float, more: float, mm: float
) -> None:
    def level(value: float) -> str:
        one = replace(
            setup(polarity="DCEN"),
            electrode=Electrode(type="EWLa-2", diameter=Measure.of(mm / 1000, "m")),
            current=Range.of(value, value, "A"),
        )
        return levels("GTAW", one)["tungsten_current"]

    if level(amps) == "outside":
        assert level(amps + more) == "outside"


def test_a_pass_with_its_own_settings_is_checked_and_named() -> None:
    one = replace(
        setup(amps="115-135 A", electrode=("E7018", "1/8 in"), polarity="DCEP"),
        passes=(
            Pass(technique="stringer", count=2),
            Pass(
                technique="weave",
                current=current("150 A"),
                electrode=Electrode(type="E6010", diameter=length("3/32 in")),
            ),
        ),
    )
    found = check(exercise("SMAW", one), one)
    wrong = [f for f in found if f.level == "outside"]
    assert [(f.rule, f.place, f.limit) for f in wrong] == [
        ("covered_electrode_current", "pass 3", 80)
    ]


def test_what_is_not_stated_is_not_judged() -> None:
    for process in ("GTAW", "SMAW", "GMAW", "FCAW", "OFW", "OFC"):
        assert check(exercise(process), setup()) == []


def test_a_coated_metal_is_looked_at_and_every_finding_has_a_source_and_a_sentence() -> None:
    one = replace(THIN, coating="galvanised")
    found = check(exercise("GTAW", one), one)
    assert {f.rule: f.level for f in found}["coating"] == "look"
    assert all(f.source and f.message.endswith(".") for f in found)


FILE = """
[[exercise]]
number = "31"
title = "Square groove in sheet"
process = "GTAW"
position = "1G"
first_pass = 0.3
minutes = 35

[[exercise.setup]]
key = "16 ga"
base_metal = "low-carbon steel"
thickness = "16 ga"
pieces = [{ count = 2, thickness = "16 ga", width = "1-1/2 in", length = "6 in" }]
weld_length = "6 in"
joint = { kind = "square groove", root_opening = "1/32 in" }
electrode = { type = "EWLa-1.5", diameter = "1/16 in" }
polarity = "DCEN"
current = "250 A"
"""


def test_command_answers_with_findings_from_a_file_without_a_database(tmp_path) -> None:
    file = tmp_path / "one.toml"
    file.write_text(FILE, encoding="utf-8")
    out = StringIO()
    call_command("setup_check", "--file", str(file), "--json", stdout=out)
    answer = json.loads(out.getvalue())
    assert answer["contract"] == "setup_check/1"
    row = next(f for f in answer["findings"] if f["rule"] == "tungsten_current")
    assert row["level"] == "outside"
    assert row["value"] == {"value": 250.0, "unit": "A"}
    assert row["limit"] == {"value": 160, "unit": "A"}  # the composite table's, the widest
    plain = StringIO()
    call_command("setup_check", "--file", str(file), stdout=plain)
    assert plain.getvalue().splitlines()[1].startswith("outside")


def test_command_refuses_a_file_with_faults_and_says_where(tmp_path) -> None:
    file = tmp_path / "bad.toml"
    file.write_text(FILE.replace('thickness = "16 ga"\npieces', 'thickness = "14"\npieces'))
    with pytest.raises(Refused) as refused:
        call_command("setup_check", "--file", str(file), "--json", stdout=StringIO())
    assert [fault.where for fault in refused.value.faults] == ["exercise[0].setup[0].thickness"]


def test_no_setup_of_the_demo_library_is_outside_and_each_has_its_drawing() -> None:
    text = (Path(curriculum.__file__).parent / "demo" / "library.toml").read_text(encoding="utf-8")
    exercises, faults = read_exercises(text)
    assert not faults
    for job in exercises:
        for one in job.setups:
            wrong = [f.message for f in check(job, one) if f.level == "outside"]
            assert not wrong, (job.number, one.key)
            assert draw_joint(job, one).width == 736
