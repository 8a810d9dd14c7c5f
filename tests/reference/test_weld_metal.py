"""Areas, weights and losses against published tables, to the rounding of each table."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from curriculum.core.joints import Bead, DoubleV, SingleV, SquareGroove, TeeFillet
from curriculum.core.joints.grooves import SingleBevel
from curriculum.core.materials import density
from curriculum.core.steps import evaluate
from curriculum.core.usage.filler import ROUND_MASS

TABLES = tomllib.loads(
    (Path(__file__).parent / "data" / "weld_metal_weight.toml").read_text(encoding="utf-8")
)
INCH, FOOT, POUND, MM = 0.0254, 0.3048, 0.45359237, 1e-3
LB_PER_IN3 = POUND / INCH**3
# The tables' own densities: 0.283 lb/in3, and 7.83 g/cm3 in the metric one.
US_DENSITY, METRIC_DENSITY = 0.283 * LB_PER_IN3, 7830.0


def rod_mass(diameter: float, length: float, density: float) -> float:
    """Return the mass of a round rod, kg, by the expression that a usage's steps work out."""
    given = {"pi": math.pi, "diameter": diameter, "length": length, "density": density}
    return evaluate(ROUND_MASS, given)


def element(row: dict[str, Any], unit: str, scale: float) -> tuple[float, float]:
    """Return our area of a table's element and the area by the table's own formula, in m²."""
    size = row[f"T_{unit}"] * scale
    if row["shape"] == "A":
        opening = row[f"G_{unit}"] * scale
        area = SquareGroove(thickness=size, root_opening=opening).area
        return area, area
    if row["shape"] == "B":
        # one bevelled edge without opening; at 45 deg it is an equal-leg fillet too
        area = SingleBevel(thickness=size, bevel_angle=row["S_deg"]).area
        if row["S_deg"] == 45:
            assert TeeFillet(thickness=size, leg=size).area == pytest.approx(area)
        return area, area
    height = row[f"H_{unit}"] * scale
    return Bead(width=size, height=height).area, 2 / 3 * size * height


@pytest.mark.parametrize("row", TABLES["weight_per_foot"]["rows"], ids=str)
def test_elements_weigh_what_the_table_in_pounds_per_foot_says(row: dict[str, Any]) -> None:
    area, by_table = element(row, "in", INCH)
    # three places printed, not always rounded to the nearest: one unit of the last place
    assert by_table * US_DENSITY * FOOT / POUND == pytest.approx(row["lb_ft"], abs=0.001)
    assert by_table <= area * (1 + 1e-9)


@pytest.mark.parametrize("row", TABLES["weight_per_metre"]["rows"], ids=str)
def test_elements_weigh_what_the_table_in_kilograms_per_metre_says(row: dict[str, Any]) -> None:
    _area, by_table = element(row, "mm", MM)
    # converted from three places of lb/ft: 0.0005 lb/ft is 0.00075 kg/m, then rounded to 0.001
    assert by_table * METRIC_DENSITY == pytest.approx(row["kg_m"], abs=0.0015)


@pytest.mark.parametrize(
    "row", [row for row in TABLES["weight_per_foot"]["rows"] if row["shape"] == "C"], ids=str
)
def test_a_segment_is_little_more_than_two_thirds_width_times_height(row: dict[str, Any]) -> None:
    area, by_table = element(row, "in", INCH)
    # series of the segment: 2/3 w h (1 + 4/5 (h/w)² + …), here h/w up to 1/3
    steep = row["H_in"] / row["T_in"]
    assert 1 < area / by_table < 1 + 0.8 * steep**2


@pytest.mark.parametrize("row", TABLES["single_v"]["rows"], ids=str)
def test_single_v_joints_have_the_published_volume(row: dict[str, Any]) -> None:
    joint = SingleV(
        thickness=row["plate_mm"] * MM,
        root_opening=row["gap_mm"] * MM,
        groove_angle=row["angle_deg"],
    )
    # printed in steps of 0.5 cm3/m
    assert joint.area * 1e6 == pytest.approx(row["theoretical_cm3_m"], abs=0.3)


@pytest.mark.parametrize("row", TABLES["fillet"]["rows"], ids=str)
def test_fillets_weigh_what_the_electrode_table_says(row: dict[str, Any]) -> None:
    leg = row["leg_in"] * INCH
    pounds = TeeFillet(thickness=leg, leg=leg).area * US_DENSITY * FOOT / POUND
    assert pounds == pytest.approx(row["deposit_lb_ft"], abs=0.0006)
    # what is bought is deposit / (1 - loss): 45 % covered electrode, 20 % cored, 10 % solid wire
    for process, loss in (("smaw", 0.45), ("fcaw", 0.20), ("gmaw", 0.10)):
        bought = row["deposit_lb_ft"] / (1 - loss)
        assert bought == pytest.approx(row[f"{process}_lb_ft"], abs=0.0011)


@pytest.mark.parametrize("row", TABLES["stub_loss"]["rows"], ids=str)
def test_a_stub_costs_its_share_of_the_length_and_no_more(row: dict[str, Any]) -> None:
    length, stub = row["electrode_length_in"], row["stub_in"]
    with_stub = row["base_efficiency_pct"] * (length - stub) / length
    assert with_stub == pytest.approx(row["efficiency_incl_stub_pct"], abs=0.11)


@pytest.mark.parametrize("row", TABLES["bare_rod"]["rows"], ids=str)
def test_bare_rods_come_so_many_to_the_pound(row: dict[str, Any]) -> None:
    mass = rod_mass(row["diameter_in"] * INCH, 36 * INCH, row["density_lb_in3"] * LB_PER_IN3)
    assert POUND / mass == pytest.approx(row["pieces_per_lb"], rel=0.002, abs=0.05)


def test_core_wires_weigh_what_the_data_sheet_says() -> None:
    core = TABLES["core"]
    mass = core["count"] * rod_mass(
        core["diameter_mm"] * MM, core["length_mm"] * MM, density("steel").value
    )
    assert mass * 1000 == pytest.approx(core["grams"], rel=0.005)


def test_a_half_inch_fillet_weighs_what_the_worked_example_says() -> None:
    row = TABLES["worked"]
    leg = row["leg_in"] * INCH
    mass = TeeFillet(thickness=leg, leg=leg).area * FOOT * row["density_lb_in3"] * LB_PER_IN3
    assert mass / POUND == pytest.approx(row["lb_ft"], abs=0.0006)


def test_steel_has_the_density_of_the_tables() -> None:
    # 0.283 lb/in3 in the US tables, 7.85 g/cm3 in the single V table
    assert density("steel").value == pytest.approx(US_DENSITY, rel=0.003)
    assert density("steel").value == 7850.0


def test_a_double_v_is_four_triangles_and_a_rectangle() -> None:
    # A(T .75, G .125) + 4 B(T .375, S 30) of the table in pounds per foot: .318 + 4 x .138 = .870
    joint = DoubleV(thickness=0.75 * INCH, root_opening=0.125 * INCH, groove_angle=60)
    assert joint.area * US_DENSITY * FOOT / POUND == pytest.approx(0.870, abs=0.003)
