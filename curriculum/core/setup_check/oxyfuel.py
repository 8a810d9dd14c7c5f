"""Oxy-fuel: acetylene pressure, flame, tip, and which gas stands where."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import FLAMES, Exercise, Setup
from curriculum.core.usage import neutral_ratio

from .finding import METRES, SAME_SIZE, SHARE, Finding, length, rule_of, sheet, words
from .shielding import share_of


def acetylene(setup: Setup) -> bool:
    """Say whether a setup burns acetylene."""
    return bool(setup.fuel and "acetylene" in setup.fuel.name.lower())


def acetylene_pressure(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Acetylene over 15 psi gauge is outside: it may decompose and explode."""
    if not setup.fuel or not setup.fuel.pressure or not acetylene(setup):
        return
    rule, pressure = rule_of("oxyfuel"), setup.fuel.pressure
    limit = rule["acetylene_pa"]
    parts = {"figure": Figure(pressure), "limit": Figure.of(limit, "Pa")}
    over = pressure.value > limit * (1 + 1e-6)
    yield Finding(
        rule="acetylene_pressure",
        level="outside" if over else "ok",
        value=pressure.value,
        limit=limit,
        unit="Pa",
        source=rule["acetylene_source"],
        message=_("Acetylene at %(figure)s: over %(limit)s it may explode by itself.", **parts)
        if over
        else _("Acetylene at %(figure)s, at most %(limit)s.", **parts),
    )


def flame(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Oxygen to acetylene of the preheat or welding flame, by volume."""
    if not setup.fuel or not setup.oxygen or not acetylene(setup):
        return
    rule, fuel = rule_of("oxyfuel"), setup.fuel.flow.working
    neutral = neutral_ratio("acetylene")
    if exercise.process not in FLAMES or not fuel > 0 or not neutral:
        return
    ratio = setup.oxygen.flow.working / fuel
    margin = 1 + rule["flame_margin"]
    low, high = neutral.low / margin, neutral.high * margin
    parts = {"ratio": f"{ratio:.3g}", "low": f"{low:g}", "high": f"{high:g}"}
    if ratio > high:
        message = _(
            "%(ratio)s times as much oxygen as acetylene, usual is %(low)s to %(high)s: the "
            "flame oxidises.",
            **parts,
        )
    elif ratio < low:
        message = _(
            "%(ratio)s times as much oxygen as acetylene, usual is %(low)s to %(high)s: the "
            "flame carburises.",
            **parts,
        )
    else:
        message = _(
            "%(ratio)s times as much oxygen as acetylene, usual is %(low)s to %(high)s.", **parts
        )
    yield Finding(
        rule="flame",
        level="ok" if low <= ratio <= high else "look",
        value=ratio,
        limit=low if ratio < low else high,
        unit=SHARE,
        source=rule["flame_source"],
        message=message,
    )


def fuel_gas(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Which gas stands at the fuel and the oxygen regulator, and which fuel welds steel."""
    if exercise.process not in FLAMES:
        return
    rule = rule_of("oxyfuel")
    for gas in (setup.oxygen, setup.cutting_oxygen):
        if gas and not share_of(gas.name, "O2"):
            message = _("%(gas)s stands where the oxygen belongs.", gas=_(gas.name))
            yield words("fuel_gas", "outside", message, rule["place_source"])
    if not setup.fuel:
        return
    name = setup.fuel.name
    if any(share_of(name, gas) for gas in ("O2", "Ar", "CO2", "He", "N2")):
        message = _("%(gas)s does not burn: it is no fuel.", gas=_(name))
        yield words("fuel_gas", "outside", message, rule["place_source"])
    elif exercise.process == "OFW" and setup.metal == "steel":
        good = acetylene(setup)
        message = (
            _("%(gas)s welds steel.", gas=_(name))
            if good
            else _("Steel is welded with acetylene, not with %(gas)s.", gas=_(name))
        )
        yield words("fuel_gas", "ok" if good else "look", message, rule["fuel_source"])


def tip(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Tip orifice against thickness; sizes differ between makers, so it is only looked at."""
    rule = rule_of("oxyfuel")
    rows = {"OFW": rule["welding_tip"], "OFC": rule["cutting_tip"]}.get(exercise.process)
    if not rows or not setup.tip:
        return
    for upto, low, high in rows:
        if setup.thickness.value > upto:
            continue
        size = setup.tip.value
        parts = {
            "tip": Figure(setup.tip),
            "sheet": sheet(setup),
            "low": length(low),
            "high": length(high),
        }
        fits = low * (1 - SAME_SIZE) <= size <= high * (1 + SAME_SIZE)
        yield Finding(
            rule="tip",
            level="ok" if fits else "look",
            value=size,
            limit=low if size < low else high,
            unit=METRES,
            source=rule["tip_source"],
            message=_("A tip of %(tip)s on %(sheet)s, usual is %(low)s to %(high)s.", **parts),
        )
        return
