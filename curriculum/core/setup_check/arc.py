"""Arc: voltage, length, what sticks out of nozzle and gun, polarity and start."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from curriculum.core.defaults import table
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup

from .finding import (
    METRES,
    SAME_SIZE,
    Finding,
    Level,
    length,
    most,
    rule_of,
    usual,
    words,
)
from .kinds import covered_class, kind_of, usability


def arc_voltage(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Voltage against process and transfer; outside over the largest open-circuit voltage."""
    rule = rule_of("arc_voltage")
    if not setup.voltage:
        return
    for row in rule["row"]:
        if row["process"] == exercise.process and row["transfer"] in setup.transfer.lower():
            open_circuit = rule["ac_v" if setup.polarity == "AC" else "dc_v"]
            over = most(setup.voltage) > open_circuit
            yield usual(
                "arc_voltage",
                _("Voltage"),
                setup.voltage,
                rule["open_circuit_source" if over else "source"],
                low=row["low_v"],
                high=row["high_v"],
                outside_over=open_circuit,
                advice=_("Look at the unit and at the transfer mode."),
            )
            return


def arc_length(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Arc length against electrode diameter; longer is looked at."""
    rule = rule_of("arc_length").get(exercise.process)
    if not rule or not setup.arc_length or not setup.electrode:
        return
    yield usual(
        "arc_length",
        _("Arc length"),
        setup.arc_length,
        rule["source"],
        high=rule["look_over"] * setup.electrode.diameter.value,
        advice=_("A long arc spatters, wanders and lets air in."),
    )


def stickout(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Tungsten stickout: outside over the nozzle bore, looked at over two diameters."""
    if exercise.process != "GTAW" or not setup.stickout or not setup.electrode:
        return
    rule, out = rule_of("stickout"), most(setup.stickout)
    free = rule["look_over_diameters"] * setup.electrode.diameter.value
    bore = setup.nozzle.value if setup.nozzle else math.inf
    level: Level = "ok"
    limit = free
    if out > bore * (1 + SAME_SIZE):
        level, limit = "outside", bore
    elif out > free * (1 + SAME_SIZE):
        level = "look"
    parts = {"figure": length(out), "limit": length(limit)}
    message = {
        "ok": _("Stickout %(figure)s, at most %(limit)s.", **parts),
        "look": _("Stickout %(figure)s, at most %(limit)s. Only with a gas lens.", **parts),
        "outside": _(
            "Stickout %(figure)s, at most %(limit)s. The gas no longer covers the tip.", **parts
        ),
    }[level]
    yield Finding(
        rule="stickout",
        level=level,
        value=out,
        limit=limit,
        unit=METRES,
        source=rule["source"],
        message=message,
    )


def contact_tip(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Contact tip to work by process and transfer mode; never outside."""
    rule = rule_of("contact_tip")
    if not setup.stickout:
        return
    for row in rule["row"]:
        if row["process"] == exercise.process and row["transfer"] in setup.transfer.lower():
            yield usual(
                "contact_tip",
                _("Contact tip to work"),
                setup.stickout,
                rule["source"],
                low=row["low_m"],
                high=row["high_m"],
                advice=_("Longer runs colder and loses the gas, shorter burns the tip."),
            )
            return


def polarity(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Polarity against electrode class, wire and metal."""
    if not setup.polarity:
        return
    rules = rule_of("polarity")
    wrong: Level = "outside"
    if exercise.process == "SMAW" and setup.electrode:
        data, name = table("smaw_current"), covered_class(setup.electrode.type)
        row = next((r for r in data["polarity"] if r["classification"] == name), None)
        if row is None:
            return
        allowed = row["allowed"].split(", ")
        # Tables agree only on E6010; for the others one table or another lists more.
        wrong = "outside" if name == "E6010" else "look"
        source = data["titles"][row["source"]]
    elif exercise.process == "GMAW":
        allowed, name, source = ["DCEP"], _("Solid wire"), rules["wire_source"]
    elif exercise.process == "FCAW" and setup.electrode:
        rule, mark = rule_of("flux_cored"), usability(setup.electrode.type)
        allowed = [pole for pole in ("DCEP", "DCEN") if mark in rule[pole.lower()]]
        if not allowed:
            return
        name, source = setup.electrode.type, rule["source"]
    elif exercise.process == "GTAW" and setup.metal == "aluminium":
        allowed, name, source, wrong = ["AC"], _("Aluminium"), rules["aluminium_source"], "look"
    elif exercise.process == "GTAW" and setup.metal in ("steel", "stainless"):
        allowed, name, source, wrong = ["DCEN"], _("Steel"), rules["steel_source"], "look"
    elif exercise.process == "PAC":
        allowed, name, source, wrong = ["DCEN"], _("Plasma cutting"), rules["plasma_source"], "look"
    else:
        return
    run = allowed[0]
    for one in allowed[1:]:
        run = _("%(one)s or %(other)s", one=run, other=one)
    message = _(
        "%(name)s on %(polarity)s; it runs on %(allowed)s.",
        name=name,
        polarity=setup.polarity,
        allowed=run,
    )
    yield words("polarity", "ok" if setup.polarity in allowed else wrong, message, source)


def arc_start(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A tungsten is not scratched on the work: looked at."""
    if exercise.process != "GTAW" or "scratch" not in setup.start.lower():
        return
    if setup.electrode and kind_of(setup.electrode.type) not in ("tungsten", ""):
        return
    message = _("A scratch start leaves tungsten in the weld: lift it or start by high frequency.")
    yield words("arc_start", "look", message, rule_of("start")["source"])


def tungsten_type(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Type of tungsten against AC or DC: pure and zirconiated for AC, thoriated for DC."""
    if exercise.process != "GTAW" or not setup.electrode or not setup.polarity:
        return
    rule, name = rule_of("tungsten_type"), setup.electrode.type
    plain = name.replace(" ", "").upper()
    wanted = next((row["current"] for row in rule["row"] if re.match(row["type"], plain)), None)
    if wanted is None:
        return
    fits = (setup.polarity == "AC") == (wanted == "AC")
    parts = {"name": name, "polarity": setup.polarity, "wanted": wanted}
    yield words(
        "tungsten_type",
        "ok" if fits else "look",
        _("%(name)s is made for %(wanted)s.", **parts)
        if fits
        else _("%(name)s is made for %(wanted)s, and the setup is on %(polarity)s.", **parts),
        rule["source"],
    )
