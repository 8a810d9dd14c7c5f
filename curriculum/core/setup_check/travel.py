"""Travel: speed, angles and direction. All of it is looked at again, never refused."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import FILLETS, RODS, Exercise, Setup

from .finding import IN_PER_MIN, Finding, rule_of, usual, words
from .position import upright

CORNERS = ("outside corner", "edge", "flare bevel", "single bevel", "double bevel", "J groove")


def travel_speed(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Travel speed far off the planning figures of its process."""
    rule = rule_of("travel_speed")
    if not setup.travel_speed or exercise.process not in rule:
        return
    low, high = rule[exercise.process]
    yield usual(
        "travel_speed",
        _("Travel speed"),
        setup.travel_speed,
        rule["source"],
        low=low * IN_PER_MIN,
        high=high * IN_PER_MIN,
        advice=_("Look at the unit: inches or millimetres a minute."),
    )


def work_angle(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Work angle by joint."""
    rule = rule_of("angles")
    kind = setup.joint.kind
    if not setup.work_angle or kind == "none":
        return
    name = "fillet_deg" if kind in FILLETS else "corner_deg" if kind in CORNERS else "flat_deg"
    low, high = rule[name]
    yield usual("work_angle", _("Work angle"), setup.work_angle, rule["source"], low=low, high=high)


def travel_angle(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Travel angle by process, from the upright on the weld."""
    rule = rule_of("angles")
    if not setup.travel_angle or exercise.process not in rule["travel_deg"]:
        return
    low, high = rule["travel_deg"][exercise.process]
    yield usual(
        "travel_angle",
        _("Travel angle"),
        setup.travel_angle,
        rule["source"],
        low=low,
        high=high,
        advice=_("It is measured from the upright on the weld."),
    )


def rod_angle(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Angle of a bare rod to the metal."""
    rule = rule_of("angles")
    if not setup.rod_angle or exercise.process not in RODS:
        return
    low, high = rule["rod_deg"]
    yield usual("rod_angle", _("Rod angle"), setup.rod_angle, rule["source"], low=low, high=high)


def travel_direction(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Push or drag: with slag drag, with a tungsten or aluminium wire push."""
    said = setup.travel_direction.lower()
    if upright(exercise.position) or not ("push" in said) ^ ("drag" in said):
        return
    slag = exercise.process in ("SMAW", "FCAW")
    clean = exercise.process == "GTAW" or (
        exercise.process == "GMAW" and setup.metal == "aluminium"
    )
    source = rule_of("travel_direction")["source"]
    if slag and "push" in said:
        message = _("Pushed, the slag runs ahead into the weld: drag.")
        yield words("travel_direction", "look", message, source)
    elif clean and "drag" in said:
        message = _("Dragged, the gas trails behind and the weld is dirty: push.")
        yield words("travel_direction", "look", message, source)
    elif slag or clean:
        message = _("Direction suits the process.")
        yield words("travel_direction", "ok", message, source)
