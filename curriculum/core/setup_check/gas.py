"""Gas flow: through which nozzle, how much, how long before and after the arc."""

from __future__ import annotations

import math
from collections.abc import Iterator

from curriculum.core.defaults import table
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import SHIELDED, Exercise, Gas, Setup

from .finding import (
    FLOW,
    METRES,
    SAME_SIZE,
    SECONDS,
    Finding,
    Level,
    least,
    length,
    most,
    rule_of,
    usual,
)
from .shielding import share_of


def viscosity(gas: Gas) -> float:
    """Return the kinematic viscosity in m2/s of the main gas."""
    values = {row["gas"]: row["value"] for row in table("nozzle_flow")["viscosity"]}
    if share_of(gas.name, "He") > 0.5:
        return float(values["helium"])
    return float(values["carbon dioxide" if share_of(gas.name, "CO2") > 0.5 else "argon"])


def nozzle_flow(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Gas flow against nozzle bore, by the Reynolds number in the bore.

    Outside where the flow is turbulent for certain; GTAW is looked at from the end of laminar
    flow on. Other processes are judged by the upper limit only: their nozzle is an annulus.
    """
    if exercise.process not in SHIELDED or not setup.nozzle or not setup.gas:
        return
    data, bore, flow = table("nozzle_flow"), setup.nozzle.value, most(setup.gas.flow)
    per_reynolds = math.pi * bore * viscosity(setup.gas) / 4
    soft = data["laminar_to"] * per_reynolds
    hard = data["turbulent_from"] * per_reynolds
    level: Level = "ok"
    if flow > hard:
        level = "outside"
    elif flow > soft and exercise.process == "GTAW":
        level = "look"
    limit = hard if level == "outside" or exercise.process != "GTAW" else soft
    parts = {
        "flow": Figure.of(flow, FLOW),
        "nozzle": Figure(setup.nozzle),
        "limit": Figure.of(limit, FLOW),
    }
    message = {
        "ok": _("%(flow)s leaves a nozzle of %(nozzle)s calmly, up to %(limit)s.", **parts),
        "look": _("%(flow)s may swirl in a nozzle of %(nozzle)s: calm up to %(limit)s.", **parts),
        "outside": _(
            "%(flow)s is turbulent in a nozzle of %(nozzle)s, at most %(limit)s: it draws air "
            "into the weld. Take less gas or a wider nozzle.",
            **parts,
        ),
    }[level]
    yield Finding(
        rule="nozzle_flow",
        level=level,
        value=flow,
        limit=limit,
        unit=FLOW,
        source=data["laminar_source"],
        message=message,
    )


def nozzle_tungsten(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Nozzle bore at least three tungsten diameters, else looked at."""
    if exercise.process != "GTAW" or not setup.nozzle or not setup.electrode:
        return
    data, bore = table("nozzle_flow"), setup.nozzle.value
    wanted = data["nozzle_per_tungsten"] * setup.electrode.diameter.value
    tight = bore < wanted * (1 - SAME_SIZE)
    parts = {
        "nozzle": Figure(setup.nozzle),
        "size": Figure(setup.electrode.diameter),
        "limit": length(wanted),
    }
    yield Finding(
        rule="nozzle_tungsten",
        level="look" if tight else "ok",
        value=bore,
        limit=wanted,
        unit=METRES,
        source=data["nozzle_per_tungsten_source"],
        message=_(
            "A nozzle of %(nozzle)s is narrow for a tungsten of %(size)s: at least %(limit)s.",
            **parts,
        )
        if tight
        else _(
            "A nozzle of %(nozzle)s is wide enough for a tungsten of %(size)s: at least %(limit)s.",
            **parts,
        ),
    )


def gas_flow(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Shielding gas flow against what is usual; a light gas may flow faster."""
    if not setup.gas or exercise.process not in SHIELDED:
        return
    rule = rule_of("flow")[exercise.process]
    light = share_of(setup.gas.name, "He") > 0.3
    yield usual(
        "gas_flow",
        _("Gas flow"),
        setup.gas.flow,
        rule["source"],
        low=rule["low"],
        high=None if light else rule["high"],
        advice=_("Too little lets air in, too much draws it in."),
    )


def preflow(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """GTAW without preflow is looked at."""
    if exercise.process != "GTAW" or not setup.preflow:
        return
    time = least(setup.preflow)
    parts = {"figure": Figure.of(time, SECONDS)}
    yield Finding(
        rule="preflow",
        level="ok" if time > 0 else "look",
        value=time,
        unit=SECONDS,
        source=rule_of("preflow")["source"],
        message=_("Preflow %(figure)s.", **parts)
        if time > 0
        else _("Preflow %(figure)s: the arc starts in air and burns the tungsten.", **parts),
    )


def postflow(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Postflow against current: looked at under half of 1 s for 10 A, or over four times that."""
    if exercise.process != "GTAW" or not setup.postflow or not setup.current:
        return
    rule, time = rule_of("postflow"), least(setup.postflow)
    wanted = max(rule["least_s"], rule["seconds_per_amp"] * most(setup.current))
    parts = {
        "figure": Figure(setup.postflow),
        "current": Figure.of(most(setup.current), "A"),
        "usual": Figure.of(wanted, SECONDS),
    }
    level: Level = "look"
    if time < rule["look_under"] * wanted:
        message = _(
            "Postflow %(figure)s at %(current)s, usual is %(usual)s. The tungsten and the end of "
            "the weld turn blue in air.",
            **parts,
        )
    elif most(setup.postflow) > rule["look_over"] * wanted:
        time = most(setup.postflow)
        message = _(
            "Postflow %(figure)s at %(current)s, usual is %(usual)s. The rest is wasted gas.",
            **parts,
        )
    else:
        level = "ok"
        message = _("Postflow %(figure)s at %(current)s, usual is %(usual)s.", **parts)
    yield Finding(
        rule="postflow_current",
        level=level,
        value=time,
        limit=wanted,
        unit=SECONDS,
        source=rule["source"],
        message=message,
    )
