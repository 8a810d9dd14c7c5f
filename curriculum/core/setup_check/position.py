"""What an electrode, wire or transfer mode may do in a position and on plate."""

from __future__ import annotations

import re
from collections.abc import Iterator

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup

from .finding import Finding, rule_of, usual, words
from .kinds import covered_class, kind_of, low_hydrogen, position_digit


def upright(position: str) -> bool:
    """Say whether a position is vertical, overhead or fixed pipe: 3F up, 4G, PF, PE, vertical."""
    text = position.strip().lower()
    return bool(re.match(r"[3456](f|g)|p[defgh]\b|h-l|j-l|vertical|overhead", text))


def _downhill(position: str) -> bool:
    text = position.strip().lower()
    return bool(re.search(r"\bdown|downhill|^pg\b", text))


def electrode_position(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Positions that the electrode's or flux cored wire's class allows, and vertical down."""
    if exercise.process not in ("SMAW", "FCAW") or not setup.electrode or not exercise.position:
        return
    name, rule = setup.electrode.type, rule_of("electrode_position")
    digit = position_digit(name)
    parts = {"name": name, "position": _(exercise.position)}
    if not digit:
        return
    flat_only = digit == ("2" if exercise.process == "SMAW" else "0")
    if flat_only and upright(exercise.position):
        message = _("%(name)s is for flat and horizontal work, not for %(position)s.", **parts)
        yield words("electrode_position", "outside", message, rule["source"])
    elif _downhill(exercise.position) and low_hydrogen(name) and digit != "4":
        message = _("%(name)s is run upward; %(position)s traps its slag.", **parts)
        yield words("electrode_position", "look", message, rule["source"])
    else:
        message = _("%(name)s suits %(position)s.", **parts)
        yield words("electrode_position", "ok", message, rule["source"])


def electrode_size_position(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Thick covered electrodes out of the flat are looked at."""
    electrode = setup.electrode
    if exercise.process != "SMAW" or not electrode or not upright(exercise.position):
        return
    if kind_of(electrode.type) != "covered":
        return
    rule = rule_of("electrode_position")
    small = low_hydrogen(electrode.type) or covered_class(electrode.type).endswith("14")
    high = rule["low_hydrogen_m" if small else "other_m"]
    yield usual(
        "electrode_size_position",
        _("Electrode out of the flat"),
        electrode.diameter,
        rule["diameter_source"],
        high=high,
        advice=_("The puddle sags: take a thinner one."),
    )


def spray_position(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Spray transfer on steel out of the flat is looked at."""
    transfer = setup.transfer.lower()
    if exercise.process != "GMAW" or "spray" not in transfer or "puls" in transfer:
        return
    if setup.metal == "aluminium" or not exercise.position:
        return
    source = rule_of("electrode_position")["spray_source"]
    parts = {"position": _(exercise.position)}
    if upright(exercise.position):
        message = _("Spray transfer in %(position)s: the puddle runs down.", **parts)
        yield words("spray_position", "look", message, source)
    else:
        message = _("Spray transfer suits %(position)s.", **parts)
        yield words("spray_position", "ok", message, source)


def short_circuit_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Short circuit on plate is looked at: the puddle lies on metal it didn't melt."""
    if exercise.process != "GMAW" or "short" not in setup.transfer.lower():
        return
    rule = rule_of("short_circuit")
    yield usual(
        "short_circuit_thickness",
        _("Thickness for short circuit transfer"),
        setup.thickness,
        rule["source"],
        high=rule["look_over_m"],
        advice=_("The puddle lies on plate that it did not melt."),
    )
