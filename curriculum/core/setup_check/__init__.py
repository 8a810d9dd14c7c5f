"""Check a setup against published ranges and shop practice.

Checks are one-sided: a setting over a published maximum is "outside"; one under the low end of a
capacity range (a large tungsten at low current) is only "look", to be looked at again. Where tables
disagree, the widest of them counts, so that nothing a published table allows is refused.
Tables and their sources are in `curriculum/tables/`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from curriculum.core.spec import Exercise, Setup

from .current import covered_electrode_current, current_thickness, tungsten_current
from .filler import filler_thickness
from .finding import Finding, Level, Rule, table
from .gas import nozzle_flow, nozzle_tungsten, postflow, shielding_gas, stickout
from .metal import coating
from .wiring import polarity

__all__ = ["PASS_RULES", "RULES", "Finding", "Level", "Rule", "check", "table"]

PASS_RULES: tuple[Rule, ...] = (
    tungsten_current,
    covered_electrode_current,
    filler_thickness,
    postflow,
    current_thickness,
    polarity,
)
RULES: tuple[Rule, ...] = (
    tungsten_current,
    covered_electrode_current,
    filler_thickness,
    nozzle_flow,
    nozzle_tungsten,
    postflow,
    current_thickness,
    stickout,
    shielding_gas,
    polarity,
    coating,
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
            findings += [replace(f, place=f"pass {number}") for f in found]
    return findings


def _pass_setups(setup: Setup) -> Iterator[tuple[int, Setup]]:
    number = 1
    for one in setup.passes:
        if one.current or one.electrode or one.filler or one.polarity:
            yield (
                number,
                replace(
                    setup,
                    current=one.current or setup.current,
                    electrode=one.electrode or setup.electrode,
                    filler=one.filler or setup.filler,
                    polarity=one.polarity or setup.polarity,
                ),
            )
        number += one.count
