"""Gas, its flow and its nozzle."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from curriculum.core.spec import Exercise, Gas, Setup

from .finding import (
    FLOW,
    METRES,
    SAME_SIZE,
    SECONDS,
    SHARE,
    Finding,
    Level,
    least,
    most,
    size,
    table,
)


def share_of(name: str, gas: str) -> float:
    """Share of `gas` ("CO2", "O2", "He") in a mixture named as the trade does; 1.0 alone."""
    words = {
        "CO2": r"co2|co₂|carbon dioxide",
        "O2": r"o2|o₂|oxygen",
        "He": r"he|helium",
    }[gas]
    text = name.lower().replace("%", " ")
    match = re.search(rf"(?:(\d+(?:\.\d+)?)\s*)?(?<![a-z])(?:{words})(?![a-z0-9])", text)
    if not match:
        return 0.0
    if match[1]:
        return float(match[1]) / 100
    # "argon/CO2 75/25" gives the shares in the order of the gases; "CO2 25, argon 75" its own.
    after = re.match(r"\s*(?:\d+\s*[/-]\s*)?(\d+(?:\.\d+)?)", text[match.end() :])
    if after:
        return float(after[1]) / 100
    return 1.0


def viscosity(gas: Gas) -> float:
    """Kinematic viscosity in m2/s of the main gas."""
    values = {row["gas"]: row["value"] for row in table("nozzle_flow")["viscosity"]}
    if share_of(gas.name, "He") > 0.5:
        return float(values["helium"])
    return float(values["carbon dioxide" if share_of(gas.name, "CO2") > 0.5 else "argon"])


def nozzle_flow(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Gas flow against nozzle bore, by the Reynolds number in the bore.

    Outside where the flow is turbulent for certain; GTAW is looked at from the end of laminar
    flow on. Other processes are judged by the upper limit only: their nozzle is an annulus.
    """
    if exercise.process not in ("GTAW", "GMAW", "FCAW") or not setup.nozzle or not setup.gas:
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
    cfh, limit_cfh = flow / 7.865790720e-6, limit / 7.865790720e-6
    words = {
        "ok": f"leaves a nozzle of {size(bore)} calmly, up to {limit_cfh:.0f} ft3/h",
        "look": f"may swirl in a nozzle of {size(bore)}: calm up to {limit_cfh:.0f} ft3/h",
        "outside": f"is turbulent in a nozzle of {size(bore)}, at most {limit_cfh:.0f} ft3/h: "
        "it draws air into the weld. Take less gas or a wider nozzle",
    }[level]
    yield Finding(
        rule="nozzle_flow",
        level=level,
        value=flow,
        limit=limit,
        unit=FLOW,
        source=data["laminar_source"],
        message=f"{cfh:.3g} ft3/h ({flow * 60000:.3g} L/min) {words}.",
    )


def nozzle_tungsten(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Nozzle bore at least three tungsten diameters, else looked at."""
    if exercise.process != "GTAW" or not setup.nozzle or not setup.electrode:
        return
    data, bore = table("nozzle_flow"), setup.nozzle.value
    least = data["nozzle_per_tungsten"] * setup.electrode.diameter.value
    tight = bore < least * (1 - SAME_SIZE)
    yield Finding(
        rule="nozzle_tungsten",
        level="look" if tight else "ok",
        value=bore,
        limit=least,
        unit=METRES,
        source=data["nozzle_per_tungsten_source"],
        message=f"A nozzle of {size(bore)} is {'narrow' if tight else 'wide enough'} for a "
        f"tungsten of {size(setup.electrode.diameter.value)}: at least {size(least)}.",
    )


def postflow(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Postflow against current: looked at under half of 1 s for 10 A (at least 8 s)."""
    if exercise.process != "GTAW" or not setup.postflow or not setup.current:
        return
    rule, time = table("rules")["postflow"], least(setup.postflow)
    usual = max(rule["least_s"], rule["seconds_per_amp"] * most(setup.current))
    short = time < rule["look_under"] * usual
    tail = " The tungsten and the end of the weld turn blue in air." if short else ""
    yield Finding(
        rule="postflow_current",
        level="look" if short else "ok",
        value=time,
        limit=usual,
        unit=SECONDS,
        source=rule["source"],
        message=f"Postflow {time:g} s at {most(setup.current):g} A, usual is {usual:g} s.{tail}",
    )


def stickout(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Tungsten stickout: outside over the nozzle bore, looked at over two diameters."""
    if exercise.process != "GTAW" or not setup.stickout or not setup.electrode:
        return
    rule, out = table("rules")["stickout"], most(setup.stickout)
    usual = rule["look_over_diameters"] * setup.electrode.diameter.value
    bore = setup.nozzle.value if setup.nozzle else math.inf
    level: Level = "ok"
    limit = usual
    if out > bore * (1 + SAME_SIZE):
        level, limit = "outside", bore
    elif out > usual * (1 + SAME_SIZE):
        level = "look"
    tail = {
        "ok": "",
        "look": " Only with a gas lens.",
        "outside": " The gas no longer covers the tip.",
    }[level]
    yield Finding(
        rule="stickout",
        level=level,
        value=out,
        limit=limit,
        unit=METRES,
        source=rule["source"],
        message=f"Stickout {size(out)}, at most {size(limit)}.{tail}",
    )


def shielding_gas(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Gas against process, metal and transfer mode."""
    if not setup.gas or exercise.process not in ("GTAW", "GMAW"):
        return
    rule, name = table("rules")["gas"], setup.gas.name
    carbon, active = share_of(name, "CO2"), share_of(name, "CO2") + share_of(name, "O2")
    limit: float | None
    if exercise.process == "GTAW":
        level: Level = "outside" if active else "ok"
        source, value, limit = rule["inert_source"], active, 0.0
        say = "burns the tungsten" if active else "suits the tungsten arc"
    elif setup.metal == "aluminium":
        level = "outside" if active else "ok"
        source, value, limit = rule["aluminium_source"], active, 0.0
        say = "oxidises aluminium" if active else "suits aluminium"
    elif "spray" in setup.transfer.lower():
        hard, soft = rule["spray_outside_over"], rule["spray_look_over"]
        level = "outside" if carbon > hard else "look" if carbon > soft else "ok"
        source, value = rule["spray_source"], carbon
        limit = hard if level == "outside" else soft
        say = "does not give spray transfer" if carbon > soft else "gives spray transfer"
    else:
        return
    yield Finding(
        rule="shielding_gas",
        level=level,
        value=value,
        limit=limit,
        unit=SHARE,
        source=source,
        message=f"{name} {say}.",
    )
