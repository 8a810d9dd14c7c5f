"""Check a setup against published ranges and shop practice.

Checks are one-sided: a setting over a published maximum is "outside"; one under the low end of a
capacity range (a large tungsten at low current) is only "look", to be looked at again. Where tables
disagree, the widest of them counts, so that nothing a published table allows is refused.
Tables and their sources are in `curriculum/tables/`.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, Literal

from shared.units import Range

from .spec import Electrode, Exercise, Gas, Setup

Level = Literal["ok", "look", "outside"]

TABLES = Path(__file__).resolve().parent.parent / "tables"
SAME_SIZE = 0.03  # nominal inch and millimetre sizes differ by up to 1.6 %: 1/16 in is 1.6 mm
AMPS, METRES, FLOW, SECONDS, SHARE = "A", "m", "m3/s", "s", "1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What one rule says of one setting: figure and limit in SI units, in English for the reader.

    `value` and `limit` are None where the rule compares words (a gas, a polarity).
    `place` is empty for the setup's own setting, else "pass 2".
    """

    rule: str
    level: Level
    value: float | None
    limit: float | None
    unit: str
    source: str
    message: str
    place: str = ""


@cache
def table(name: str) -> dict[str, Any]:
    """Return a table of `curriculum/tables/` by its name without the ending."""
    return tomllib.loads((TABLES / f"{name}.toml").read_text(encoding="utf-8"))


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


def _high(range_: Range) -> float:
    return range_.working if range_.high is None else range_.high


def _low(range_: Range) -> float:
    return range_.working if range_.low is None else range_.low


@dataclass(frozen=True, slots=True)
class _Envelope:
    low: float
    high: float
    low_source: str
    high_source: str


def _envelope(
    rows: list[dict[str, Any]], diameter: float, titles: dict[str, str]
) -> _Envelope | None:
    """The widest range of the rows of one diameter; between two sizes, of both neighbours.

    None where the diameter lies beyond all rows: nothing is published for it.
    """
    sizes = sorted({row["diameter_mm"] / 1000 for row in rows})
    near = [size for size in sizes if abs(size - diameter) <= SAME_SIZE * size]
    if not near:
        below = [size for size in sizes if size < diameter]
        above = [size for size in sizes if size > diameter]
        if not below or not above:
            return None
        near = [below[-1], above[0]]
    used = [row for row in rows if row["diameter_mm"] / 1000 in near]
    least = min(used, key=lambda row: row["low_a"])
    most = max(used, key=lambda row: row["high_a"])
    return _Envelope(
        least["low_a"], most["high_a"], titles[least["source"]], titles[most["source"]]
    )


def _capacity(rule: str, subject: str, current: Range, envelope: _Envelope | None) -> Finding:
    """Compare a current with what `subject` carries."""
    low, high = _low(current), _high(current)
    if envelope is None:
        return Finding(
            rule=rule,
            level="look",
            value=high,
            limit=None,
            unit=AMPS,
            source="no published range",
            message=f"No published current range for {subject}.",
        )
    if high > envelope.high:
        return Finding(
            rule=rule,
            level="outside",
            value=high,
            limit=envelope.high,
            unit=AMPS,
            source=envelope.high_source,
            message=f"{high:g} A is more than {subject} carries: at most {envelope.high:g} A.",
        )
    if low < envelope.low:
        return Finding(
            rule=rule,
            level="look",
            value=low,
            limit=envelope.low,
            unit=AMPS,
            source=envelope.low_source,
            message=f"{low:g} A is little for {subject}, used from {envelope.low:g} A: "
            "a smaller one starts and holds the arc more easily.",
        )
    return Finding(
        rule=rule,
        level="ok",
        value=high,
        limit=envelope.high,
        unit=AMPS,
        source=envelope.high_source,
        message=f"{low:g} to {high:g} A suits {subject}: {envelope.low:g} to {envelope.high:g} A.",
    )


def _size(metres: float) -> str:
    """A diameter as it is said, inch and millimetres."""
    part = Fraction(round(metres / 0.0254 * 64), 64)
    named = abs(float(part) * 0.0254 - metres) < 1e-6 and part
    inch = f"{part} in" if named else f"{metres / 0.0254:.3f} in"
    return f"{inch} ({metres * 1000:.3g} mm)"


def tungsten_current(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Tungsten diameter against current, by polarity; pure tungsten by its own rows."""
    electrode, current = setup.electrode, setup.current
    if exercise.process != "GTAW" or not electrode or not current:
        return
    data = table("tungsten_current")
    kind = "pure" if re.fullmatch(r"(EWP|WP|pure)", electrode.type.strip(), re.I) else "oxide"
    rows = [row for row in data["range"] if row["electrode"] in (kind, "any")]
    if setup.polarity:
        rows = [row for row in rows if row["polarity"] == setup.polarity]
    on = f" on {setup.polarity}" if setup.polarity else ", polarity not stated"
    subject = f"a tungsten of {_size(electrode.diameter.value)}{on}"
    envelope = _envelope(rows, electrode.diameter.value, data["titles"])
    yield _capacity("tungsten_current", subject, current, envelope)


def _covered_class(electrode: Electrode) -> str:
    """The AWS class with its digits alone, "E7018" of "E7018-1 H4R"; empty if it is none."""
    match = re.match(r"E\s?(\d{4,5})(?!\d)", electrode.type.strip(), re.I)
    return f"E{match[1]}" if match else ""


def covered_electrode_current(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Covered electrode class and diameter against current."""
    electrode, current = setup.electrode, setup.current
    if exercise.process != "SMAW" or not electrode or not current:
        return
    data = table("smaw_current")
    rows = [row for row in data["range"] if row["classification"] == _covered_class(electrode)]
    subject = f"an {electrode.type} of {_size(electrode.diameter.value)}"
    envelope = _envelope(rows, electrode.diameter.value, data["titles"])
    yield _capacity("covered_electrode_current", subject, current, envelope)


def filler_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Filler rod against sheet: outside only over 1.25 times the thickness."""
    if exercise.process not in ("GTAW", "OFW") or not setup.filler:
        return
    rule, rod, sheet = table("rules")["filler"], setup.filler.diameter.value, setup.thickness.value
    share = rod / sheet
    level: Level = "ok"
    factor = rule["look_over"]
    if share > rule["outside_over"]:
        level, factor = "outside", rule["outside_over"]
    elif share > rule["look_over"] * (1 + rule["nominal"]):
        level = "look"
    words = {
        "ok": "suits",
        "look": "is thicker than",
        "outside": "is far too thick for",
    }[level]
    tail = "" if level == "ok" else " It takes the heat of the puddle: take a thinner one."
    yield Finding(
        rule="filler_thickness",
        level=level,
        value=rod,
        limit=factor * sheet,
        unit=METRES,
        source=rule["source"],
        message=f"A rod of {_size(rod)} {words} {_size(sheet)} metal.{tail}",
    )


def _share(name: str, gas: str) -> float:
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


def _viscosity(gas: Gas) -> float:
    """Kinematic viscosity in m2/s of the main gas."""
    values = {row["gas"]: row["value"] for row in table("nozzle_flow")["viscosity"]}
    if _share(gas.name, "He") > 0.5:
        return float(values["helium"])
    return float(values["carbon dioxide" if _share(gas.name, "CO2") > 0.5 else "argon"])


def nozzle_flow(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Gas flow against nozzle bore, by the Reynolds number in the bore.

    Outside where the flow is turbulent for certain; GTAW is looked at from the end of laminar
    flow on. Other processes are judged by the upper limit only: their nozzle is an annulus.
    """
    if exercise.process not in ("GTAW", "GMAW", "FCAW") or not setup.nozzle or not setup.gas:
        return
    data, bore, flow = table("nozzle_flow"), setup.nozzle.value, _high(setup.gas.flow)
    per_reynolds = math.pi * bore * _viscosity(setup.gas) / 4
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
        "ok": f"leaves a nozzle of {_size(bore)} calmly, up to {limit_cfh:.0f} ft3/h",
        "look": f"may swirl in a nozzle of {_size(bore)}: calm up to {limit_cfh:.0f} ft3/h",
        "outside": f"is turbulent in a nozzle of {_size(bore)}, at most {limit_cfh:.0f} ft3/h: "
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
        message=f"A nozzle of {_size(bore)} is {'narrow' if tight else 'wide enough'} for a "
        f"tungsten of {_size(setup.electrode.diameter.value)}: at least {_size(least)}.",
    )


def postflow(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Postflow against current: looked at under half of 1 s for 10 A (at least 8 s)."""
    if exercise.process != "GTAW" or not setup.postflow or not setup.current:
        return
    rule, time = table("rules")["postflow"], _low(setup.postflow)
    usual = max(rule["least_s"], rule["seconds_per_amp"] * _high(setup.current))
    short = time < rule["look_under"] * usual
    tail = " The tungsten and the end of the weld turn blue in air." if short else ""
    yield Finding(
        rule="postflow_current",
        level="look" if short else "ok",
        value=time,
        limit=usual,
        unit=SECONDS,
        source=rule["source"],
        message=f"Postflow {time:g} s at {_high(setup.current):g} A, usual is {usual:g} s.{tail}",
    )


def current_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """GTAW current against sheet thickness, by the rule of thumb; never outside."""
    rule, sheet = table("rules")["thickness"], setup.thickness.value
    if exercise.process != "GTAW" or not setup.current or sheet > rule["up_to_m"]:
        return
    per_m = rule["aluminium_a_per_m" if setup.metal == "aluminium" else "steel_a_per_m"]
    usual, low, high = per_m * sheet, _low(setup.current), _high(setup.current)
    level: Level = "ok"
    value, factor = high, rule["look_over"]
    if high > usual * rule["look_over"]:
        level = "look"
    elif low < usual * rule["look_under"]:
        level, value, factor = "look", low, rule["look_under"]
    yield Finding(
        rule="current_thickness",
        level=level,
        value=value,
        limit=factor * usual,
        unit=AMPS,
        source=rule["source"],
        message=f"{value:g} A on {_size(sheet)} {setup.metal}; the rule of thumb says about "
        f"{usual:.0f} A.",
    )


def stickout(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Tungsten stickout: outside over the nozzle bore, looked at over two diameters."""
    if exercise.process != "GTAW" or not setup.stickout or not setup.electrode:
        return
    rule, out = table("rules")["stickout"], _high(setup.stickout)
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
        message=f"Stickout {_size(out)}, at most {_size(limit)}.{tail}",
    )


def shielding_gas(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Gas against process, metal and transfer mode."""
    if not setup.gas or exercise.process not in ("GTAW", "GMAW"):
        return
    rule, name = table("rules")["gas"], setup.gas.name
    carbon, active = _share(name, "CO2"), _share(name, "CO2") + _share(name, "O2")
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


def polarity(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Polarity against electrode class (SMAW), wire (GMAW) and metal (GTAW on aluminium)."""
    if not setup.polarity:
        return
    rules = table("rules")["polarity"]
    level: Level
    if exercise.process == "SMAW" and setup.electrode:
        data, name = table("smaw_current"), _covered_class(setup.electrode)
        row = next((r for r in data["polarity"] if r["classification"] == name), None)
        if row is None:
            return
        allowed = row["allowed"].split(", ")
        # Tables agree only on E6010; for the others one table or another lists more.
        wrong: Level = "outside" if name == "E6010" else "look"
        level = "ok" if setup.polarity in allowed else wrong
        source = data["titles"][row["source"]]
    elif exercise.process == "GMAW":
        allowed, name, source = ["DCEP"], "Solid wire", rules["wire_source"]
        level = "ok" if setup.polarity == "DCEP" else "outside"
    elif exercise.process == "GTAW" and setup.metal == "aluminium":
        allowed, name, source = ["AC"], "Aluminium", rules["aluminium_source"]
        level = "ok" if setup.polarity == "AC" else "look"
    else:
        return
    yield Finding(
        rule="polarity",
        level=level,
        value=None,
        limit=None,
        unit="",
        source=source,
        message=f"{name} on {setup.polarity}; it runs on {' or '.join(allowed)}.",
    )


def coating(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A coated metal is always looked at: its fumes are poisonous."""
    if setup.coating:
        yield Finding(
            rule="coating",
            level="look",
            value=None,
            limit=None,
            unit="",
            source=table("rules")["coating"]["source"],
            message=f"The metal is {setup.coating}: take the coating off well back from the weld, "
            "or weld under local exhaust.",
        )


Rule = Callable[[Exercise, Setup], Iterator[Finding]]
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
