"""Shielding gas against process, metal, transfer mode and wire."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import SHIELDED, Exercise, Setup

from .finding import SHARE, Finding, Level, rule_of, words
from .kinds import usability

NAMES = {
    "Ar": r"ar|argon",
    "CO2": r"co2|co₂|carbon dioxide",
    "O2": r"o2|o₂|oxygen",
    "He": r"he|helium",
    "H2": r"h2|h₂|hydrogen",
    "N2": r"n2|n₂|nitrogen",
}


@lru_cache(maxsize=1024)
def share_of(name: str, gas: str) -> float:
    """Return the share of `gas` ("CO2", "O2", "He") in a mixture named as the trade does.

    A gas named without a share has what the others leave: 1.0 alone.
    """
    text = name.lower().replace("%", " ")
    match = re.search(rf"(?:(\d+(?:\.\d+)?)\s*)?(?<![a-z])(?:{NAMES[gas]})(?![a-z0-9])", text)
    if not match:
        return 0.0
    if match[1]:
        return min(1.0, float(match[1]) / 100)
    # "argon/CO2 75/25" gives the shares in the order of the gases; "CO2 25, argon 75" its own.
    after = re.match(r"\s*(?:\d+\s*[/-]\s*)?(\d+(?:\.\d+)?)", text[match.end() :])
    if after:
        return min(1.0, float(after[1]) / 100)
    return 1.0


def known_gas(name: str) -> bool:
    """Say whether a gas's name names a gas that shields."""
    return any(share_of(name, gas) for gas in NAMES)


def shielding_gas(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Gas against process, metal and transfer mode; several may be wrong, the worst is said."""
    if not setup.gas or exercise.process not in SHIELDED:
        return
    name, process, metal = setup.gas.name, exercise.process, setup.metal
    rule, parts = rule_of("gas"), {"gas": _(name)}
    carbon, oxygen = share_of(name, "CO2"), share_of(name, "O2")
    spray = "spray" in setup.transfer.lower()

    def said(level: Level, message: _, source: str, value: float, limit: float) -> Finding:
        return Finding(
            rule="shielding_gas",
            level=level,
            value=value,
            limit=limit,
            unit=SHARE,
            source=rule[source],
            message=message,
        )

    if not known_gas(name):
        message = _("%(gas)s is no shielding gas that has a rule here.", **parts)
        yield words("shielding_gas", "look", message, rule["unknown_source"])
    elif process == "GTAW" and carbon + oxygen:
        message = _("%(gas)s burns the tungsten.", **parts)
        yield said("outside", message, "inert_source", carbon + oxygen, 0.0)
    elif metal == "aluminium" and carbon + oxygen:
        message = _("%(gas)s oxidises aluminium.", **parts)
        yield said("outside", message, "aluminium_source", carbon + oxygen, 0.0)
    elif oxygen > rule["oxygen_outside_over"]:
        message = _("%(gas)s burns the metal: it is no shielding gas.", **parts)
        yield said("outside", message, "oxygen_source", oxygen, rule["oxygen_outside_over"])
    elif share_of(name, "H2") and metal != "stainless":
        message = _("%(gas)s holds hydrogen: pores and cracks in this metal.", **parts)
        yield said("look", message, "hydrogen_source", share_of(name, "H2"), 0.0)
    elif spray and carbon > rule["spray_look_over"]:
        over = carbon > rule["spray_outside_over"]
        limit = rule["spray_outside_over" if over else "spray_look_over"]
        message = _("%(gas)s does not give spray transfer.", **parts)
        yield said("outside" if over else "look", message, "spray_source", carbon, limit)
    elif process == "GMAW" and metal == "stainless" and carbon > rule["stainless_look_over"]:
        message = _("%(gas)s puts carbon into stainless steel.", **parts)
        yield said("look", message, "stainless_source", carbon, rule["stainless_look_over"])
    elif process != "GTAW" and metal == "steel" and not carbon + oxygen:
        message = _("%(gas)s holds an unsteady arc on steel: add carbon dioxide.", **parts)
        yield said("look", message, "pure_source", carbon + oxygen, 0.0)
    elif process == "GTAW":
        yield said("ok", _("%(gas)s suits the tungsten arc.", **parts), "inert_source", 0.0, 0.0)
    elif metal == "aluminium":
        yield said("ok", _("%(gas)s suits aluminium.", **parts), "aluminium_source", 0.0, 0.0)
    elif spray:
        message = _("%(gas)s gives spray transfer.", **parts)
        yield said("ok", message, "spray_source", carbon, rule["spray_look_over"])


def flux_cored_gas(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Flux cored wire against its gas: some need one, some are spoilt by it."""
    if exercise.process != "FCAW" or not setup.electrode:
        return
    rule, name = rule_of("flux_cored"), setup.electrode.type
    mark = usability(name)
    parts = {"wire": name, "gas": _(setup.gas.name if setup.gas else "")}
    level: Level = "ok"
    if mark in rule["gas_shielded"]:
        if not setup.gas:
            level = "outside"
            message = _("%(wire)s needs a shielding gas, and none is stated.", **parts)
        elif re.search(r"\dC\b", name.upper()) and share_of(setup.gas.name, "CO2") < 1:
            level = "look"
            message = _("%(wire)s is classed for carbon dioxide, not for %(gas)s.", **parts)
        elif re.search(r"\dM\b", name.upper()) and not _mixed(setup.gas.name):
            level = "look"
            message = _("%(wire)s is classed for 75 to 80 %% argon, not for %(gas)s.", **parts)
        else:
            message = _("%(wire)s under %(gas)s.", **parts)
    elif mark in rule["self_shielded"]:
        level = "look" if setup.gas else "ok"
        message = (
            _("%(wire)s shields itself: %(gas)s is wasted and makes pores.", **parts)
            if setup.gas
            else _("%(wire)s shields itself.", **parts)
        )
    else:
        return
    yield words("flux_cored_gas", level, message, rule["source"])


def _mixed(name: str) -> bool:
    """Say whether a gas is argon with the share of carbon dioxide that M wires are classed for."""
    return 0.2 <= share_of(name, "CO2") <= 0.25
