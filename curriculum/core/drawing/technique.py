"""How a torch, gun or electrode is held and led: the words and the facts behind the drawing.

Travel angle and push or drag are those of AWS A3.0: the angle lies in the plane of the electrode
and the weld, counts from the upright on the weld, and is a push angle where the electrode points
the way the weld goes. The work angle counts from the surface of the plate that the other one
stands or lies on, as shop sheets write it; AWS A3.0 counts it from that surface's perpendicular,
so that the two make 90 degrees. The rod angle counts from the surface of the weld's plate.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from shared.units import Range

from ..defaults import table
from ..dial import numbered
from ..sentence import Sentence as _
from ..spec import Exercise, Pass, Setup
from .words import figure

PUSH, DRAG = "push", "drag"
FLAT, HORIZONTAL, VERTICAL, OVERHEAD, PIPE = "flat", "horizontal", "vertical", "overhead", "pipe"

TOOLS: dict[str, _] = {
    "GTAW": _("Torch"),
    "SMAW": _("Electrode"),
    "GMAW": _("Gun"),
    "FCAW": _("Gun"),
    "OFW": _("Torch"),
    "OFC": _("Cutting torch"),
    "PAC": _("Cutting torch"),
}
PATHS: dict[str, _] = {
    "straight": _("straight along the joint"),
    "zigzag": _("from side to side, waiting a moment at each edge"),
    "crescent": _("in half circles, bowed the way of travel"),
    "triangles": _("in triangles, from edge to edge and into the root"),
    "circles": _("in small overlapping circles"),
    "whip": _("forward and half of the way back"),
}
MARKS: dict[str, _] = {
    "dabs": _("the rod is dipped into the front of the puddle and drawn back"),
    "wire": _("the rod stays in the front of the puddle"),
    "keyhole": _("a keyhole is kept open at the front"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Angles:
    """How the tool is held; a field is None, or `direction` empty, where it is not stated."""

    work: Range | None
    travel: Range | None
    rod: Range | None
    direction: str  # push, drag or ""


NOTHING = Angles(work=None, travel=None, rod=None, direction="")


@dataclass(frozen=True, slots=True)
class Place:
    """Where the weld lies: `turn` is one of the five constants, `up` or `down` where it climbs."""

    turn: str
    way: str = ""


def place_of(position: str) -> Place:
    """Return how a position of `tables/positions.toml` turns the drawing; flat where unknown."""
    for row in table("positions")["position"]:
        if row["aws"] == position:
            meaning = row["meaning"]
            way = "up" if "upward" in meaning else "down" if "downward" in meaning else ""
            turn = PIPE if meaning.startswith("axis") else re.split(r"[ ;]", meaning)[0]
            return Place(turn, way)
    return Place(FLAT)


def led(technique: str) -> tuple[str, tuple[str, ...]]:
    """Return the path (a key of `PATHS`) and the marks (of `MARKS`) that a technique names."""
    told = technique.casefold()
    known = table("technique")
    paths = [row["path"] for row in known["path"] if any(word in told for word in row["words"])]
    marks = [row["mark"] for row in known["marks"] if any(word in told for word in row["words"])]
    return (paths or ["straight"])[0], tuple(marks)


def direction_of(setup: Setup, one: Pass | None = None) -> str:
    """Return push or drag, of a pass from its own words if they name one; else empty."""
    texts = [setup.travel_direction]
    if one is not None:
        texts = [one.technique, one.bead, *texts]
    for text in texts:
        words = set(re.findall(r"\w+", text.casefold()))
        found = {
            row["direction"]
            for row in table("technique")["direction"]
            if words.intersection(row["words"])
        }
        if len(found) == 1:
            return str(found.pop())
    return ""


def angles_of(setup: Setup, one: Pass | None = None) -> Angles:
    """Return how the tool is held on a pass: its own angles before the setup's."""
    return Angles(
        work=one.work_angle if one and one.work_angle else setup.work_angle,
        travel=one.travel_angle if one and one.travel_angle else setup.travel_angle,
        rod=setup.rod_angle,
        direction=direction_of(setup, one),
    )


def ends_by_pass(setup: Setup) -> list[tuple[tuple[str, ...], Angles]]:
    """Return each work angle with the numbers of its passes, in the order of welding.

    One that all passes share, or a setup without passes, comes without numbers; nothing stated
    gives nothing.
    """
    return _by_pass(setup, lambda one: replace(NOTHING, work=one.work))


def sides_by_pass(setup: Setup) -> list[tuple[tuple[str, ...], Angles]]:
    """Return what the view from the side shows, as `ends_by_pass` does."""
    return _by_pass(setup, lambda one: replace(one, work=None))


def _by_pass(
    setup: Setup, part: Callable[[Angles], Angles]
) -> list[tuple[tuple[str, ...], Angles]]:
    found: dict[Angles, list[str]] = {}
    stated: list[tuple[str, Pass | None]] = [*numbered(setup.passes)]
    for label, one in stated or [("", None)]:
        found.setdefault(part(angles_of(setup, one)), []).append(label)
    return [
        (tuple(labels) if len(found) > 1 else (), held)
        for held, labels in found.items()
        if held != NOTHING
    ]


def heading(place: Place, direction: str, *, left_handed: bool) -> str:
    """Return where the weld goes as the welder sees it: left, right, up, down or empty.

    A right hand holds the tool from the right with its tip to the left: it pushes to the left and
    drags to the right (common practice, no source). A left hand does the opposite.
    """
    if place.turn == VERTICAL:
        return place.way
    if direction not in (PUSH, DRAG):
        return ""
    return "left" if (direction == PUSH) != left_handed else "right"


def describe_angles(
    exercise: Exercise, held: Angles, system: str = "us", *, left_handed: bool = False
) -> _:
    """Say how the tool is held, as the drawings show it; what is not stated is left out."""
    place = place_of(exercise.position)
    said: list[str] = []
    if held.work:
        said.append(_("work angle %(angle)s from the plate", angle=_shown(held.work, system)))
    if held.travel:
        upright = _("travel angle %(angle)s from upright", angle=_shown(held.travel, system))
        said.append(upright)
    if held.direction:
        said.append(
            _("push: the tip points the way you go")
            if held.direction == PUSH
            else _("drag: the tip points back at the weld")
        )
    if held.rod:
        rod = _shown(held.rod, system)
        said.append(_("rod %(angle)s from the plate, ahead of the puddle", angle=rod))
    first = _("%(tool)s: %(how)s.", tool=TOOLS[exercise.process], how=_list(said))
    if not (held.travel or held.direction):
        return first
    return _.join([first, _way(place, held.direction, left_handed=left_handed)])


def _way(place: Place, direction: str, *, left_handed: bool) -> str:
    to = heading(place, direction, left_handed=left_handed)
    if to in ("up", "down"):
        way: str = _("Travel upward.") if to == "up" else _("Travel downward.")
    elif to and left_handed:
        way = (
            _("Left hand: from right to left.")
            if to == "left"
            else _("Left hand: from left to right.")
        )
    elif to:
        way = (
            _("Right hand: from right to left.")
            if to == "left"
            else _("Right hand: from left to right.")
        )
    else:
        way = ""
    if place.turn != PIPE:
        return way
    round_it = {
        "up": _("Keep the angles to the pipe's surface all the way from the bottom up."),
        "down": _("Keep the angles to the pipe's surface all the way from the top down."),
        "": _("Keep the angles to the pipe's surface while it turns."),
    }
    return round_it[place.way] if place.way else _.join([way, round_it[""]])


def describe_path(technique: str) -> _:
    """Say how the puddle is led."""
    path, marks = led(technique)
    shows = _list([PATHS[path], *(MARKS[mark] for mark in marks)])
    return _("Seen from over the weld: %(how)s.", how=shows)


def _list(parts: Sequence[str]) -> _:
    return _.join(parts, ", ")


def _shown(value: Range, system: str) -> _:
    return _.join(figure(value, system))
