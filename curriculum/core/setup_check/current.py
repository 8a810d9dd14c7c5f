"""Current against what the tungsten or the covered electrode carries, and against the sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from curriculum.core.spec import Electrode, Exercise, Setup
from shared.units import Range

from .finding import AMPS, SAME_SIZE, Finding, Level, least, most, size, table


@dataclass(frozen=True, slots=True)
class Envelope:
    low: float
    high: float
    low_source: str
    high_source: str


def envelope(
    rows: list[dict[str, Any]], diameter: float, titles: dict[str, str]
) -> Envelope | None:
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
    lowest = min(used, key=lambda row: row["low_a"])
    highest = max(used, key=lambda row: row["high_a"])
    return Envelope(
        lowest["low_a"], highest["high_a"], titles[lowest["source"]], titles[highest["source"]]
    )


def capacity(rule: str, subject: str, current: Range, envelope: Envelope | None) -> Finding:
    """Compare a current with what `subject` carries."""
    low, high = least(current), most(current)
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
    subject = f"a tungsten of {size(electrode.diameter.value)}{on}"
    carries = envelope(rows, electrode.diameter.value, data["titles"])
    yield capacity("tungsten_current", subject, current, carries)


def covered_class(electrode: Electrode) -> str:
    """The AWS class with its digits alone, "E7018" of "E7018-1 H4R"; empty if it is none."""
    match = re.match(r"E\s?(\d{4,5})(?!\d)", electrode.type.strip(), re.I)
    return f"E{match[1]}" if match else ""


def covered_electrode_current(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Covered electrode class and diameter against current."""
    electrode, current = setup.electrode, setup.current
    if exercise.process != "SMAW" or not electrode or not current:
        return
    data = table("smaw_current")
    rows = [row for row in data["range"] if row["classification"] == covered_class(electrode)]
    subject = f"an {electrode.type} of {size(electrode.diameter.value)}"
    carries = envelope(rows, electrode.diameter.value, data["titles"])
    yield capacity("covered_electrode_current", subject, current, carries)


def current_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """GTAW current against sheet thickness, by the rule of thumb; never outside."""
    rule, sheet = table("rules")["thickness"], setup.thickness.value
    if exercise.process != "GTAW" or not setup.current or sheet > rule["up_to_m"]:
        return
    per_m = rule["aluminium_a_per_m" if setup.metal == "aluminium" else "steel_a_per_m"]
    usual, low, high = per_m * sheet, least(setup.current), most(setup.current)
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
        message=f"{value:g} A on {size(sheet)} {setup.metal}; the rule of thumb says about "
        f"{usual:.0f} A.",
    )
