"""Check a setup against published ranges and shop practice.

Checks are one-sided: a setting over a published maximum is "outside"; one under the low end of a
capacity range (a large tungsten at low current) is only "look", to be looked at again. Where tables
disagree, the widest of them counts, so that nothing a published table allows is refused. What is
known from practice or memory alone is looked at, never refused, unless it can't be meant.
Tables and their sources are in `curriculum/tables/`, one module here for each subject.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from curriculum.core.defaults import table
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup

from . import (
    arc,
    coupon,
    criteria,
    current,
    filler,
    gas,
    heat,
    joint,
    metal,
    oxyfuel,
    passes,
    position,
    safety,
    shielding,
    travel,
)
from .finding import Finding, Level, Rule
from .machine import machine_duty

__all__ = [
    "PASS_RULES",
    "RULES",
    "Finding",
    "Level",
    "Rule",
    "accepted",
    "check",
    "machine_duty",
    "table",
]

PASS_RULES: tuple[Rule, ...] = (
    current.tungsten_current,
    current.covered_electrode_current,
    current.wire_current,
    current.spray_transition,
    filler.filler_thickness,
    filler.filler_metal,
    filler.electrode_kind,
    gas.postflow,
    current.current_thickness,
    current.electrode_thickness,
    arc.arc_voltage,
    arc.arc_length,
    arc.polarity,
    position.electrode_position,
    position.electrode_size_position,
    metal.low_hydrogen_dry,
    metal.cellulosic_oven,
    travel.travel_speed,
    travel.work_angle,
    travel.travel_angle,
    heat.heat_input,
)
"""Rules on what a pass may set otherwise than its setup."""

RULES: tuple[Rule, ...] = (
    *PASS_RULES,
    current.wire_feed_current,
    filler.filler_root_opening,
    filler.electrode_length,
    gas.nozzle_flow,
    gas.nozzle_tungsten,
    gas.gas_flow,
    gas.preflow,
    shielding.shielding_gas,
    shielding.flux_cored_gas,
    arc.stickout,
    arc.contact_tip,
    arc.arc_start,
    arc.tungsten_type,
    position.spray_position,
    position.short_circuit_thickness,
    oxyfuel.acetylene_pressure,
    oxyfuel.flame,
    oxyfuel.fuel_gas,
    oxyfuel.tip,
    travel.rod_angle,
    travel.travel_direction,
    joint.leg_thickness,
    joint.least_leg,
    joint.lap_overlap,
    joint.fillet_gap,
    joint.groove_angle,
    joint.bevel_angle,
    joint.square_groove,
    joint.root_face,
    joint.reinforcement,
    passes.fewest_passes,
    joint.backing,
    coupon.weld_length,
    coupon.piece_thickness,
    coupon.piece_count,
    coupon.bend_coupon,
    coupon.tacks,
    metal.coating,
    metal.named_metal,
    metal.purge,
    metal.interpass,
    criteria.criterion_limit,
    safety.filter_shade,
)


def check(exercise: Exercise, setup: Setup) -> list[Finding]:
    """Return the findings on `setup` and on each pass that has settings of its own.

    A rule whose settings are not stated says nothing. Lengths are compared in metres, currents in
    amperes, flows in m3/s. The order is that of `RULES`, the setup's own findings first.
    """
    findings = [finding for rule in RULES for finding in rule(exercise, setup)]
    for number, own in _pass_setups(setup):
        for rule in PASS_RULES:
            found = [f for f in rule(exercise, own) if f not in findings]
            findings += [replace(f, place=_("pass %(number)s", number=number)) for f in found]
    return findings


def accepted(finding: Finding, exercise: Exercise) -> tuple[str, date] | None:
    """Return who accepted a *look again* and when: the reviewer of the exercise, if it has one.

    A shop's proven setup is run as it was reviewed; what is outside is nobody's to accept.
    """
    if finding.level != "look" or not exercise.reviewed_by or not exercise.reviewed_on:
        return None
    return exercise.reviewed_by, exercise.reviewed_on


OWN = (
    "current",
    "voltage",
    "electrode",
    "filler",
    "polarity",
    "travel_speed",
    "work_angle",
    "travel_angle",
)


def _pass_setups(setup: Setup) -> Iterator[tuple[int, Setup]]:
    """Give each pass that is set otherwise, as a setup with its number."""
    number = 1
    for one in setup.passes:
        own = {name: getattr(one, name) for name in OWN if getattr(one, name)}
        if own:
            yield number, replace(setup, **own)
        number += one.count
