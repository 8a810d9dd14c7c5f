"""Small setups for core tests: `setup(kind, **numbers)` reads numbers as people write them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from curriculum.core.spec import Electrode, Exercise, Filler, Gas, Joint, Pass, Piece, Setup
from shared.units import Measure, Range, parse_measure, parse_range

JOINT_RANGES = {
    "root_opening", "leg", "leg_2", "gap", "face_reinforcement", "root_reinforcement",
    "face_width", "bead_width", "bead_height",
}  # fmt: skip
JOINT_ANGLES = {"groove_angle", "bevel_angle", "corner_angle"}
JOINT_LENGTHS = {"root_face", "overlap", "convexity", "groove_radius"}


def length(text: str, metal: str = "steel") -> Measure:
    return parse_measure(text, "length", material=metal)


def current(text: str) -> Range:
    return parse_range(text, "current")


def joint(kind: str, **numbers: Any) -> Joint:
    read: dict[str, Any] = {}
    for name, value in numbers.items():
        if name in JOINT_RANGES:
            value = parse_range(value, "length")
        elif name in JOINT_ANGLES:
            value = parse_measure(value, "angle")
        elif name in JOINT_LENGTHS:
            value = length(value)
        read[name] = value
    return Joint(kind=kind, **read)


def setup(
    kind: str = "tee fillet",
    thickness: str = "3/8 in",
    *,
    passes: int = 1,
    metal: str = "steel",
    amps: str = "",
    electrode: tuple[str, str] | None = None,
    filler: tuple[str, str] | None = None,
    gas: tuple[str, str] | None = None,
    nozzle: str = "",
    polarity: str = "",
    postflow: str = "",
    stickout: str = "",
    backing: tuple[str, str] | None = None,
    coating: str = "",
    transfer: str = "",
    **numbers: Any,
) -> Setup:
    pieces: tuple[Piece, ...] = ()
    if backing:
        numbers["backing"] = True
        pieces = (
            Piece(
                form="backing",
                count=1,
                thickness=length(backing[0]),
                width=length(backing[1]),
                length=length("7 in"),
            ),
        )
    made = Setup(
        key="a",
        base_metal="A36",
        metal=metal,
        coating=coating,
        thickness=length(thickness, metal),
        pieces=pieces,
        joint=joint(kind, **numbers),
        polarity=polarity,
        transfer=transfer,
        passes=tuple(Pass(technique="stringer") for _ in range(passes)) if passes > 1 else (),
    )
    return replace(
        made,
        current=current(amps) if amps else None,
        electrode=Electrode(type=electrode[0], diameter=length(electrode[1]))
        if electrode
        else None,
        filler=Filler(filler_class=filler[0], diameter=length(filler[1])) if filler else None,
        gas=Gas(name=gas[0], flow=parse_range(gas[1], "flow")) if gas else None,
        nozzle=length(nozzle) if nozzle else None,
        postflow=parse_range(postflow, "time") if postflow else None,
        stickout=parse_range(stickout, "length") if stickout else None,
    )


def exercise(process: str, *setups: Setup, **more: Any) -> Exercise:
    return Exercise(
        number="1",
        title="T",
        process=process,
        first_pass=0.5,
        minutes=30,
        setups=setups or (setup(),),
        **more,
    )
