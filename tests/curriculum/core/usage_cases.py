"""Attempts to compute usage of: the cases of `data/usage_planning.toml`, and what changes them."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from curriculum.core import spec
from curriculum.core.usage import Item, Usage
from shared.units import Measure, Range, parse_measure, parse_range

DATA = Path(__file__).parents[2] / "reference" / "data" / "usage_planning.toml"
CASES = tomllib.loads(DATA.read_text(encoding="utf-8"))["case"]
FT3, POUND = 0.3048**3, 0.45359237

MEASURES = {"root_face", "groove_angle", "corner_angle", "overlap", "runoff", "bevel_angle"}


def length(text: str, material: str = "steel") -> Measure:
    return parse_measure(text, "length", material=material)


def joint_of(row: dict[str, Any]) -> spec.Joint:
    values: dict[str, Any] = {}
    for name, value in row.items():
        if not isinstance(value, str) or name in ("kind", "contour"):
            values[name] = value
        elif name in MEASURES:
            values[name] = parse_measure(value, "angle" if "angle" in name else "length")
        else:
            values[name] = parse_range(value, "length")
    return spec.Joint(**values)


def gas_of(row: dict[str, str] | None) -> spec.Gas | None:
    return row and spec.Gas(name=row["name"], flow=parse_range(row["flow"], "flow"))  # type: ignore[return-value]


def ranged(row: dict[str, Any], name: str, dimension: str) -> Range | None:
    return parse_range(row[name], dimension) if name in row else None


def case_of(row: dict[str, Any], **changes: Any) -> tuple[spec.Exercise, spec.Setup]:
    electrode, filler = row.get("electrode"), row.get("filler")
    metal = row.get("metal", "steel")
    setup = spec.Setup(
        key="a",
        base_metal=metal,
        metal=metal,
        thickness=length(row["thickness"], metal),
        weld_length=length(row["weld_length"]),
        joint=joint_of(row["joint"]),
        electrode=electrode
        and spec.Electrode(
            type=electrode["type"],
            diameter=length(electrode["diameter"]),
            length=length(electrode["length"]) if "length" in electrode else None,
        ),
        filler=filler
        and spec.Filler(filler_class=filler["class"], diameter=length(filler["diameter"])),
        gas=gas_of(row.get("gas")),
        fuel=gas_of(row.get("fuel")),
        oxygen=gas_of(row.get("oxygen")),
        cutting_oxygen=gas_of(row.get("cutting_oxygen")),
        current=ranged(row, "current", "current"),
        travel_speed=ranged(row, "travel_speed", "speed"),
        preflow=ranged(row, "preflow", "time"),
        postflow=ranged(row, "postflow", "time"),
        tacks=row.get("tacks"),
        passes=tuple(spec.Pass(**one) for one in row.get("passes", ())),
    )
    exercise = spec.Exercise(
        number="1",
        title=row["title"],
        process=row["process"],
        position=row["position"],
        first_pass=0.5,
        minutes=row["minutes"],
        setups=(setup,),
    )
    return exercise, replace(setup, **changes)


def named(title: str, **changes: Any) -> tuple[spec.Exercise, spec.Setup]:
    row = next(row for row in CASES if row["title"].startswith(title))
    return case_of(row, **changes)


def items(used: Usage, kind: str) -> list[Item]:
    return [item for item in used.items if item.kind == kind]


def steps_of(used: Usage) -> list[Any]:
    found = [*used.weld.steps, *used.time.steps]
    return found + [step for item in used.items for step in item.steps]


PIECES = (
    spec.Piece(
        name="base",
        count=2,
        thickness=length("3/8 in"),
        width=length("4 in"),
        length=length("6 in"),
        form="bar",
        reuse=3,
    ),
    spec.Piece(count=1, thickness=length("3/8 in"), width=length("2 in"), length=length("6 in")),
)
