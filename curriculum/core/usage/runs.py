"""Passes as runs: how many, how fast, and each one's share of the metal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from curriculum.core.defaults import read_default, table
from curriculum.core.materials import filler_metal
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import (
    GROOVES,
    RODS,
    SURFACING,
    Electrode,
    Exercise,
    Filler,
    Pass,
    Setup,
)
from curriculum.core.steps import Input
from curriculum.core.usage.model import UsageError
from shared.units import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Like runs over the weld's length, `count` of them; `weight` is for sharing the metal out.

    `used` is the rod, electrode or wire that is laid, None where none is stated; `metal` what it
    is of.
    """

    count: float
    speed: Input
    weight: float
    used: Electrode | Filler | None
    metal: str
    current: Range | None
    voltage: Range | None


def stated(range_: Range, what: str) -> Input:
    """Return the working value of a stated range as an input of a step."""
    template = _("setup: %(key)s, %(typed)s")
    if range_.start is None and range_.low != range_.high:
        template = _("setup: %(key)s, %(typed)s, its middle")
        if range_.low is None or range_.high is None:
            template = _("setup: %(key)s, %(typed)s, its bound")
    source = _(template, key=_(what), typed=range_.typed)
    return Input(range_.working, range_.unit, source)


def bead_count(setup: Setup) -> int:
    """Return the runs of a bead or pad: as the joint says, else as many as the passes count."""
    if setup.joint.beads > 1 or not setup.passes:
        return setup.joint.beads
    return sum(one.count for one in setup.passes)


def _fits(row: Mapping[str, Any], exercise: Exercise, setup: Setup, electrode: str) -> bool:
    position = exercise.position.casefold().strip()
    return (
        row["process"] == exercise.process
        and row.get("metal", setup.metal) == setup.metal
        and (not row.get("pipe") or any(piece.form == "pipe" for piece in setup.pieces))
        and setup.thickness.value <= row.get("thickness_max_mm", 1e9) / 1000
        and ("classes" not in row or electrode.startswith(tuple(row["classes"])))
        and (not row.get("groove") or setup.joint.kind in GROOVES)
        and ("positions" not in row or position.startswith(tuple(row["positions"])))
        and all(word in position for word in row.get("words", ()))
    )


def _speed(exercise: Exercise, setup: Setup, one: Pass, electrode: Electrode | None) -> Input:
    if one.travel_speed is not None:
        speed = stated(one.travel_speed, "travel speed of the pass")
    elif setup.travel_speed is not None:
        speed = stated(setup.travel_speed, "travel speed")
    else:
        kind = electrode.type.replace(" ", "").upper() if electrode else ""
        for row in table("consumables")["travel_speed"]:
            if _fits(row, exercise, setup, kind):
                return read_default(row["speed"]).stated
        raise UsageError(
            "travel_speed",
            _("no usual travel speed for %(process)s: state one", process=exercise.process),
            ("6 in/min",),
        )
    if not speed.value > 0:
        raise UsageError("travel_speed", _("must be more than 0"), ("6 in/min", "150 mm/min"))
    return speed


def runs(exercise: Exercise, setup: Setup) -> list[Run]:
    """Return the runs of a setup in welding order.

    A bead or pad has as many runs as beads, shared among its passes; a cut one for each of
    `beads`. The metal is shared by current over travel speed (equal melting per ampere), by time
    alone where a pass states no current.
    """
    passes = setup.passes or (Pass(technique=""),)
    total = sum(one.count for one in passes)
    if total < 1 or any(one.count < 0 for one in passes):
        raise UsageError("pass", _("a pass is laid at least once"), ("count = 1",))
    repeats = bead_count(setup) / total if setup.joint.kind in SURFACING else 1.0
    if setup.joint.kind == "none":
        repeats = float(setup.joint.beads)
    currents = [one.current or setup.current for one in passes]
    known = all(current is not None and current.working > 0 for current in currents)
    found = []
    for one, current in zip(passes, currents, strict=True):
        electrode = one.electrode or setup.electrode
        speed = _speed(exercise, setup, one, electrode)
        count = one.count * repeats
        melting = current.working if known and current is not None else 1.0
        laid = (one.filler or setup.filler) if exercise.process in RODS else electrode
        found.append(
            Run(
                count=count,
                speed=speed,
                weight=melting * count / speed.value,
                used=laid,
                metal=_metal(laid, setup),
                current=current,
                voltage=one.voltage or setup.voltage,
            )
        )
    return found


def class_of(used: Electrode | Filler) -> str:
    """Return the class of a rod, electrode or wire as it is stated."""
    return used.filler_class if isinstance(used, Filler) else used.type


def _metal(laid: Electrode | Filler | None, setup: Setup) -> str:
    return setup.metal if laid is None else filler_metal(class_of(laid), setup.metal)


def is_autogenous(exercise: Exercise, found: list[Run]) -> bool:
    """Tell whether nothing is added to the melt: GTAW or OFW with no rod, or ISO 4063-142."""
    if exercise.process not in RODS:
        return False
    return exercise.iso4063 == "142" or not any(run.used for run in found)


def pass_shares(exercise: Exercise, setup: Setup) -> list[float]:
    """Return each pass's share of the metal, 0 to 1, in welding order; they add up to 1."""
    found = runs(exercise, setup)
    total = sum(run.weight for run in found)
    return [run.weight / total for run in found]
