"""Cautions stand with every setup, with their sources; the filter shade follows the rules."""

from __future__ import annotations

from dataclasses import replace

import pytest

from curriculum.core.cautions import (
    cautions_at,
    cautions_for,
    precedence,
    shade_for,
    signoffs_for,
)
from curriculum.core.setup_check import table
from curriculum.core.spec import Electrode, Gas, Pass, Setup
from shared.units import parse_range

from .setups import current, exercise, length, setup

ARC = ("GTAW", "SMAW", "GMAW", "FCAW")


def keys(process: str, one: Setup | None = None, **more) -> list[str]:
    one = one or setup()
    return [c.key for c in cautions_for(exercise(process, one, **more), one)]


def fuel(name: str) -> Gas:
    return Gas(name=name, flow=parse_range("5 ft3/h", "flow"))


@pytest.mark.parametrize("process", ARC)
def test_electric_shock_comes_first_at_every_arc(process: str) -> None:
    found = keys(process)
    assert found[0] == "electric-shock"
    assert {"implants", "rays", "fumes", "cleaner", "fire", "hot-metal", "noise"} <= set(found)


def test_a_flame_has_no_shock_but_cylinders_and_acetylene() -> None:
    one = replace(setup(), fuel=fuel("acetylene"), oxygen=fuel("oxygen"))
    found = keys("OFW", one)
    assert {"flame-eyes", "cylinders", "acetylene", "fumes", "fire"} <= set(found)
    assert not {"electric-shock", "rays", "implants"} & set(found)
    assert "acetylene" not in keys("OFC", replace(one, fuel=fuel("propane")))


def test_cautions_follow_metal_coating_gas_and_tungsten() -> None:
    argon = setup(gas=("argon", "15 ft3/h"))
    assert {"shielding-gas", "cylinders"} <= set(keys("GTAW", argon))
    assert "shielding-gas" not in keys("SMAW")
    assert "chromium" in keys("GTAW", setup(metal="stainless"))
    assert "chromium" not in keys("GTAW")
    assert "coating" in keys("SMAW", setup(coating="galvanised"))
    assert "unknown-metal" in keys("SMAW")
    assert "coating" not in keys("SMAW")
    assert "thorium" in keys("GTAW", setup(electrode=("EWTh-2", "3/32 in")))
    assert "thorium" not in keys("GTAW", setup(electrode=("EWLa-1.5", "3/32 in")))


def test_thorium_in_one_pass_alone_is_enough() -> None:
    tungsten = Electrode(type="EWTh-2", diameter=length("3/32 in"))
    one = replace(setup(), passes=(Pass(technique="stringer", electrode=tungsten),))
    assert "thorium" in keys("GTAW", one)


def test_confined_spaces_and_fluorides_are_warned_of_where_they_can_be() -> None:
    purged = replace(setup(), purge=fuel("argon"))
    assert "confined-space" in keys("GTAW", purged)
    assert "confined-space" in keys("SMAW", steps=("Weld the patch inside the tank.",))
    assert "confined-space" not in keys("SMAW", steps=("Spit on no hot plate.",))
    # AWS A5.1: EXX15, -16, -18 and -28 are the low-hydrogen classes; data sheets, from memory.
    for kind in ("E7018", "E7016-1", "E7018-1 H4R", "E308L-16", "E71T-8", "E71T-1M"):
        assert "fluorides" in keys("SMAW", setup(electrode=(kind, "1/8 in"))), kind
    for kind in ("E6010", "E6011", "E6013", "E7014", "E7024", "ER70S-6", "EWLa-1.5"):
        assert "fluorides" not in keys("SMAW", setup(electrode=(kind, "1/8 in"))), kind


def test_a_torch_is_lit_with_a_striker_and_a_cut_piece_falls_hot() -> None:
    assert "lighting" in keys("OFW")
    assert {"lighting", "falling-piece"} <= set(keys("OFC"))
    assert not {"lighting", "falling-piece"} & set(keys("GTAW"))


def test_a_plasma_torch_is_an_arc_that_cuts_with_air_from_no_cylinder() -> None:
    air = replace(setup(), gas=Gas(name="compressed air", flow=parse_range("240 cfh", "flow")))
    found = keys("PAC", air)
    assert {"electric-shock", "plasma-voltage", "rays", "fire", "falling-piece"} <= set(found)
    assert not {"cylinders", "shielding-gas", "lighting", "acetylene"} & set(found)
    nitrogen = replace(air, gas=Gas(name="nitrogen", flow=parse_range("240 cfh", "flow")))
    assert {"cylinders", "shielding-gas"} <= set(keys("PAC", nitrogen))


@pytest.mark.parametrize(
    ("amps", "shade"), [("45 A", 8), ("299 A", 8), ("300 A", 9), ("400 A", 10), ("", 10)]
)
def test_shades_of_plasma_cutting(amps: str, shade: int) -> None:
    # 29 CFR 1910.133(a)(5), from memory: light under 300 A shade 8, to 400 A 9, to 800 A 10;
    # without a stated current the darkest
    one = setup(amps=amps)
    found = shade_for(exercise("PAC", one), one)
    assert (found.start, found.minimum) == (shade, shade)


def test_each_machine_asks_for_its_sign_off_once() -> None:
    def needed(**more) -> list[str]:
        one = exercise("SMAW", **more)
        return signoffs_for(one, one.criteria)

    assert needed() == []
    assert needed(signoffs=("arc welding",)) == ["arc welding"]
    assert needed(tools=("angle grinder", "foot shear")) == ["grinder", "shear"]
    assert needed(tools=("bandsaw", "bend press")) == ["saw", "bend press"]
    assert needed(steps=("Press the lever.", "File the shear burr off.")) == []
    # A sign-off of the shop's own for the machine is enough.
    assert needed(tools=("bandsaw",), signoffs=("bandsaw",)) == ["bandsaw"]
    assert needed(tools=("grinder",), signoffs=("tungsten grinding",)) == ["tungsten grinding"]


def test_machines_named_in_tools_steps_or_prep_bring_their_cautions() -> None:
    assert "grinding" in keys("SMAW", tools=("angle grinder",))
    assert "shear" in keys("SMAW", steps=("Cut the blanks on the foot shear.",))
    assert not {"grinding", "shear", "saw", "press"} & set(keys("SMAW"))
    assert "press" not in keys("OFW", steps=("Set the pressure.", "Discard the stub."))
    assert [c.key for c in cautions_at(["bend press"], noise=False)] == ["press"]
    assert [c.key for c in cautions_at(["shear", "bandsaw", "bend press"])] == [
        "noise", "shear", "saw", "press",
    ]  # fmt: skip


def test_a_flame_or_plasma_that_cuts_brings_the_cautions_of_its_process() -> None:
    """The same rows of the table as for an exercise of that process; sources stand in it."""
    flame = [c.key for c in cautions_at([], process="OFC")]
    assert {"flame-eyes", "fire", "acetylene", "cylinders", "falling-piece"} <= set(flame)
    assert not {"electric-shock", "rays", "shear", "saw"} & set(flame)
    plasma = [c.key for c in cautions_at([], process="PAC", metal="stainless")]
    assert plasma[0] == "electric-shock"
    assert {"plasma-voltage", "rays", "chromium", "falling-piece"} <= set(plasma)
    assert not {"acetylene", "cylinders"} & set(plasma)
    assert set(flame) >= set(keys("OFC", replace(setup(), fuel=fuel("acetylene"))))


@pytest.mark.parametrize(
    "words",
    [
        "bare or wet hands", "damaged lead", "change an electrode", "bystanders", "exhaust",
        "Zinc, cadmium", "chromium", "paint", "chlorine", "pits and confined spaces",
        "half an hour", "hot and cold", "Chain every cylinder", "cap on", "20 ft", "15 psig",
        "all torches", "pacemakers", "85 dB(A)", "Hollow parts", "thoriated", "Grinding",
        "tank, a pit or a vessel", "Never freshen air with oxygen", "fluorides", "striker",
        "falls red hot", "power shear", "power saw", "press or brake", "sign-off", "Under 18",
    ],
)  # fmt: skip
def test_every_usual_caution_is_in_the_table(words: str) -> None:
    assert any(words in row["text"] for row in table("cautions")["caution"])


def test_every_caution_has_a_source_and_says_when_it_is_from_memory() -> None:
    one = setup(metal="stainless", electrode=("EWTh-2", "3/32 in"), gas=("argon", "15 ft3/h"))
    found = cautions_for(exercise("GTAW", one, tools=("grinder", "shear")), one)
    status = {row["key"]: row["status"] for row in table("cautions")["caution"]}
    assert all(c.source and c.heading and c.text.endswith(".") for c in found)
    assert all("memory" in c.source for c in found if status[c.key] == "memory")
    assert "qualified person" in precedence()


# 29 CFR 1910.133(a)(5): process, amperes, minimum shade. At a shared end point the darker stands.
MINIMUM = [
    ("SMAW", "50 A", "1/16 in", 7), ("SMAW", "115-135 A", "1/8 in", 8),
    ("SMAW", "200 A", "3/16 in", 10), ("SMAW", "300 A", "5/16 in", 11),
    ("GMAW", "50 A", "0.035 in", 7), ("GMAW", "120 A", "0.035 in", 10),
    ("GMAW", "300 A", "0.045 in", 10), ("FCAW", "200 A", "0.045 in", 10),
    ("GTAW", "40 A", "1/16 in", 8), ("GTAW", "85-95 A", "1/8 in", 8),
    ("GTAW", "150 A", "3/32 in", 10), ("GTAW", "200 A", "1/8 in", 10),
]  # fmt: skip


@pytest.mark.parametrize(("process", "amps", "size", "minimum"), MINIMUM)
def test_minimum_shades_are_those_of_the_regulation(
    process: str, amps: str, size: str, minimum: int
) -> None:
    one = setup(amps=amps, electrode=("E7018", size))
    assert shade_for(exercise(process, one), one).minimum == minimum


# 29 CFR 1910.252(b)(2)(ii)(H), guide.
@pytest.mark.parametrize(
    ("process", "metal", "size", "start"),
    [
        ("SMAW", "steel", "1/8 in", 10), ("SMAW", "steel", "1/4 in", 12),
        ("SMAW", "steel", "5/16 in", 14), ("GTAW", "steel", "3/32 in", 12),
        ("GTAW", "aluminium", "3/32 in", 11), ("GMAW", "steel", "0.035 in", 12),
        ("GMAW", "aluminium", "0.045 in", 11),
    ],
)  # fmt: skip
def test_the_shade_to_start_with_is_that_of_the_guide(
    process: str, metal: str, size: str, start: int
) -> None:
    one = setup(amps="100 A", electrode=("x", size), metal=metal)
    assert shade_for(exercise(process, one), one).start == start


@pytest.mark.parametrize(
    ("process", "thickness", "start", "minimum"),
    [
        # 29 CFR 1910.133: gas welding to 1/8 in 4, to 1/2 in 5, over 6; cutting to 1 in 3, 6 in 4
        ("OFW", "14 ga", 5, 4), ("OFW", "1/8 in", 6, 5), ("OFW", "5/8 in", 8, 6),
        ("OFC", "3/8 in", 4, 3), ("OFC", "2 in", 5, 4),
    ],
)  # fmt: skip
def test_shades_at_a_flame_go_by_thickness(
    process: str, thickness: str, start: int, minimum: int
) -> None:
    one = setup(thickness=thickness)
    shade = shade_for(exercise(process, one), one)
    assert (shade.start, shade.minimum) == (start, minimum)


def test_the_darker_of_two_rules_stands() -> None:
    # 3/16 in electrode at 120 A: 8 by current, 10 by electrode size.
    one = setup(amps="120 A", electrode=("E7018", "3/16 in"))
    assert shade_for(exercise("SMAW", one), one).minimum == 10
    hot = replace(
        setup(amps="100 A", electrode=("E7018", "1/8 in")),
        passes=(Pass(technique="weave", current=current("180 A")),),
    )
    assert shade_for(exercise("SMAW", hot), hot).minimum == 10


def test_without_a_current_the_darkest_minimum_of_the_process_is_taken() -> None:
    assert shade_for(exercise("SMAW"), setup()).minimum == 11
    assert shade_for(exercise("GTAW"), setup()).minimum == 10


def test_the_shade_is_said_in_one_sentence() -> None:
    one = setup(amps="115-135 A", electrode=("E7018", "1/8 in"))
    shade = shade_for(exercise("SMAW", one), one)
    assert shade.text == (
        "Start with shade 10, go lighter until the puddle is clear, never below 8."
    )
    assert "1910.133" in shade.source


def test_a_process_without_a_shade_is_refused() -> None:
    with pytest.raises(ValueError, match="process must be one of"):
        shade_for(exercise("SAW"), setup())
