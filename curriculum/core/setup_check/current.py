"""Current against what the electrode or wire carries, and against the sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from curriculum.core.defaults import table
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import WIRES, Electrode, Exercise, Setup
from shared.units import Range

from .finding import (
    AMPS,
    IN_PER_MIN,
    Finding,
    Level,
    least,
    most,
    rule_of,
    same_size,
    sheet,
    usual,
)
from .kinds import covered_class, metal_of_filler


@dataclass(frozen=True, slots=True)
class Envelope:
    """The widest published range, in amperes, with the source of each bound."""

    low: float
    high: float
    low_source: str
    high_source: str


def envelope(
    rows: list[dict[str, Any]], diameter: float, titles: dict[str, str]
) -> Envelope | None:
    """Return the widest range of the rows of one diameter; between two sizes, of both neighbours.

    `diameter` in metres; rows of a table with `diameter_mm`, `low_a`, `high_a` and `source`, which
    is a key of `titles`. None where the diameter lies beyond all rows: nothing is published for it.
    """
    sizes = sorted({row["diameter_mm"] / 1000 for row in rows})
    near = [size for size in sizes if same_size(diameter, size)]
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


def capacity(
    rule: str, subject: str, current: Range, carries: Envelope | None, *, spare: float = 1.0
) -> Finding:
    """Compare a current with what `subject` carries.

    `spare` is how far over the largest figure a current is still only looked at: 1 for ranges
    that were read, more for ranges from memory.
    """
    low, high = least(current), most(current)
    if carries is None:
        return Finding(
            rule=rule,
            level="look",
            value=high,
            unit=AMPS,
            source=_("no published range"),
            message=_("No published current range for %(subject)s.", subject=subject),
        )
    level: Level = "ok"
    value, limit, source = high, carries.high, carries.high_source
    parts = {"subject": subject, "low": Figure.of(carries.low, AMPS)}
    parts["high"] = Figure.of(carries.high, AMPS)
    if high > carries.high:
        level = "outside" if high > carries.high * spare else "look"
        message = _(
            "%(figure)s is more than %(subject)s carries: at most %(high)s.",
            figure=Figure.of(high, AMPS),
            **parts,
        )
    elif low < carries.low:
        level, value, limit, source = "look", low, carries.low, carries.low_source
        message = _(
            "%(figure)s is little for %(subject)s, used from %(low)s: a smaller one starts and "
            "holds the arc more easily.",
            figure=Figure.of(low, AMPS),
            **parts,
        )
    else:
        message = _(
            "%(figure)s suits %(subject)s: %(low)s to %(high)s.", figure=Figure(current), **parts
        )
    return Finding(
        rule=rule,
        level=level,
        value=value,
        limit=limit,
        unit=AMPS,
        source=source,
        message=message,
    )


def tungsten_current(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Tungsten diameter against current, by polarity; pure tungsten by its own rows."""
    electrode, current = setup.electrode, setup.current
    if exercise.process != "GTAW" or not electrode or not current:
        return
    data = table("tungsten_current")
    kind = "pure" if re.fullmatch(r"(EWP|WP|pure)", electrode.type.strip(), re.I) else "oxide"
    rows = [row for row in data["range"] if row["electrode"] in (kind, "any")]
    size = Figure(electrode.diameter)
    if setup.polarity:
        rows = [row for row in rows if row["polarity"] == setup.polarity]
        subject = _("a tungsten of %(size)s on %(polarity)s", size=size, polarity=setup.polarity)
    else:
        subject = _("a tungsten of %(size)s, polarity not stated", size=size)
    carries = envelope(rows, electrode.diameter.value, data["titles"])
    yield capacity("tungsten_current", subject, current, carries)


def covered_electrode_current(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Covered electrode class and diameter against current."""
    electrode, current = setup.electrode, setup.current
    if exercise.process != "SMAW" or not electrode or not current:
        return
    data, name = table("smaw_current"), covered_class(electrode.type)
    rows = [row for row in data["range"] if row["classification"] == name]
    carries = envelope(rows, electrode.diameter.value, data["titles"])
    yield capacity("covered_electrode_current", _rod(electrode), current, carries)


def _rod(electrode: Electrode) -> str:
    size = Figure(electrode.diameter)
    return _("an electrode %(type)s of %(size)s", type=electrode.type, size=size)


def wire_current(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Wire diameter against current; ranges from memory, so outside only far over them."""
    wire, current = setup.electrode, setup.current
    if exercise.process not in WIRES or not wire or not current:
        return
    data = table("wire_current")
    metal = metal_of_filler(wire.type) or setup.metal
    kind = "cored" if exercise.process == "FCAW" else metal
    rows = [row for row in data["range"] if row["wire"] == kind]
    size = Figure(wire.diameter)
    subject = _("a wire %(type)s of %(size)s", type=wire.type, size=size)
    carries = envelope(rows, wire.diameter.value, data["titles"])
    yield capacity("wire_current", subject, current, carries, spare=data["spare"])


def spray_transition(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Spray transfer against the current from which a wire sprays; under it is looked at."""
    wire, current = setup.electrode, setup.current
    if exercise.process != "GMAW" or "spray" not in setup.transfer.lower():
        return
    if not wire or not current or "puls" in setup.transfer.lower():
        return
    data = table("wire_current")
    for row in data["spray"]:
        size = row["diameter_mm"] / 1000
        if row["metal"] == setup.metal and same_size(wire.diameter.value, size):
            yield usual(
                "spray_transition",
                _("Current for spray transfer"),
                current,
                data["titles"][row["source"]],
                low=row["from_a"],
                advice=_("Below it the metal falls in drops and spatters."),
            )
            return


def wire_feed_current(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Wire feed against current: both are one dial, so they must belong together."""
    wire, current, feed = setup.electrode, setup.current, setup.wire_feed
    if exercise.process != "GMAW" or setup.metal == "aluminium":
        return
    if not wire or not current or not feed or not current.working > 0:
        return
    rule = rule_of("wire_feed")
    for row in rule["per_ampere"]:
        if same_size(wire.diameter.value, row["diameter_mm"] / 1000):
            about = row["in_per_min"] * IN_PER_MIN * current.working
            yield usual(
                "wire_feed_current",
                _("Wire feed at %(current)s:", current=Figure.of(current.working, AMPS)),
                feed,
                rule["source"],
                low=rule["look_under"] * about,
                high=rule["look_over"] * about,
                advice=_("One of the two does not belong to this wire."),
            )
            return


def current_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Current against sheet thickness, by the rule of thumb; never outside."""
    rule = rule_of("thickness").get(exercise.process)
    if not rule or not setup.current or setup.thickness.value > rule["up_to_m"]:
        return
    per_m = rule["aluminium_a_per_m" if setup.metal == "aluminium" else "steel_a_per_m"]
    about = per_m * setup.thickness.value
    low, high = least(setup.current), most(setup.current)
    level: Level = "ok"
    value, factor = high, rule["look_over"]
    if high > about * rule["look_over"]:
        level = "look"
    elif low < about * rule["look_under"]:
        level, value, factor = "look", low, rule["look_under"]
    yield Finding(
        rule="current_thickness",
        level=level,
        value=value,
        limit=factor * about,
        unit=AMPS,
        source=rule["source"],
        message=_(
            "%(figure)s on %(sheet)s; the rule of thumb says about %(about)s.",
            figure=Figure.of(value, AMPS),
            sheet=sheet(setup),
            about=Figure.of(round(about), AMPS),
        ),
    )


def electrode_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Covered electrode against thin metal: a rod thicker than the sheet is looked at."""
    electrode = setup.electrode
    rule = rule_of("electrode_thickness")
    if exercise.process != "SMAW" or not electrode or setup.thickness.value > rule["up_to_m"]:
        return
    yield usual(
        "electrode_thickness",
        _("Electrode"),
        electrode.diameter,
        rule["source"],
        high=rule["look_over"] * setup.thickness.value,
        advice=_("It burns through: take a thinner one."),
    )
