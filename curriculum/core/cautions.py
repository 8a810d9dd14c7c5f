"""The cautions that stand with a setup, and the filter shade, both with their published sources."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from .sentence import Sentence as _
from .setup_check import table
from .spec import Exercise, Setup

ARC = ("GTAW", "SMAW", "GMAW", "FCAW")


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution: a heading, what to do in plain words, and where it is published."""

    key: str
    heading: str
    text: str
    source: str

    @property
    def lead(self) -> str:
        """The first sentence, for where the whole text stands a tap away."""
        return self.text.split(". ")[0].rstrip(".") + "."


@dataclass(frozen=True, slots=True, kw_only=True)
class Shade:
    """Filter shade numbers: the one to start with and the one never to go below."""

    start: int
    minimum: int
    source: str

    @property
    def text(self) -> str:
        """The sentence that stands beside a setup."""
        return str(table("cautions")["shade"]).format(start=self.start, minimum=self.minimum)


def precedence() -> str:
    """Return the sentence that puts shop, maker, code and qualified person before this tool."""
    return str(table("cautions")["first"])


def cautions_for(exercise: Exercise, setup: Setup) -> list[Caution]:
    """Return the cautions of a setup in the order they are shown, electric shock first."""
    electrode = setup.electrode.type if setup.electrode else ""
    electrodes = [electrode, *(p.electrode.type for p in setup.passes if p.electrode)]
    gases = (setup.gas, setup.fuel, setup.oxygen, setup.cutting_oxygen, setup.purge)
    text = " ".join(
        (
            *exercise.tools,
            *exercise.steps,
            *exercise.signoffs,
            *exercise.cautions,
            *(criterion.kind for criterion in exercise.criteria),
            *(criterion.tool for criterion in exercise.criteria),
            *(piece.prep for piece in setup.pieces),
        )
    ).lower()
    facts = {
        "process": [exercise.process],
        "metal": [setup.metal],
        "coated": bool(setup.coating),
        "gas": any(gases),
        "shielded": bool(setup.gas or setup.purge),
        "fuel": [setup.fuel.name.lower()] if setup.fuel else [],
        "tungsten": [t[:4] for t in electrodes],
    }
    return [_caution(row) for row in table("cautions")["caution"] if _holds(row, facts, text)]


def cautions_at(tools: Iterable[str]) -> list[Caution]:
    """Return the cautions for machines alone ("shear", "saw", "press", "grinder"): cut lists."""
    text = " ".join(tools).lower()
    rows = table("cautions")["caution"]
    chosen = [row for row in rows if "tools" in row.get("when", {}) and _holds(row, {}, text)]
    return [_caution(row) for row in rows if row in chosen or row["key"] == "noise"]


def _caution(row: dict[str, Any]) -> Caution:
    source = row["source"]
    if row["status"] == "memory" and "memory" not in source:
        source = _("%(source)s (from memory)", source=source)
    return Caution(key=row["key"], heading=row["heading"], text=row["text"], source=source)


def _holds(row: dict[str, Any], facts: dict[str, Any], text: str) -> bool:
    for name, wanted in row.get("when", {}).items():
        if name == "tools":
            if not any(re.search(rf"\b{re.escape(word)}\b", text) for word in wanted):
                return False
        elif isinstance(wanted, bool):
            if facts.get(name) is not wanted:
                return False
        elif not set(wanted) & set(facts.get(name, ())):
            return False
    return True


def shade_for(exercise: Exercise, setup: Setup) -> Shade:
    """Return the filter shade to start with and the minimum.

    The minimum follows 29 CFR 1910.133 by the highest current and the thickest electrode of all
    passes (arc) or by the thickness (flame); where two rows meet, the darker stands. Where an arc
    setup states no current, the darkest minimum of its process is taken. The start is the darker
    of the guide of 1910.252 and that minimum.
    """
    data, process = table("lens_shade"), exercise.process
    if process in ARC:
        ranges = [r for r in (setup.current, *(p.current for p in setup.passes)) if r]
        amps = max((r.working if r.high is None else r.high for r in ranges), default=float("inf"))
        rods = [e for e in (setup.electrode, *(p.electrode for p in setup.passes)) if e]
        size = max((e.diameter.value * 1000 for e in rods), default=0.0)
        least = [
            row["shade"]
            for row in data["minimum_arc"]
            if row["process"] == process
            and (amps >= row["over_a"] or ("over_mm" in row and size >= row["over_mm"]))
        ]
        kind = "other" if setup.metal == "aluminium" else "ferrous"
        guide = [
            row["shade"]
            for row in data["guide_arc"]
            if row["process"] == process
            and row["metal"] in ("any", kind)
            and (process == "GTAW" or size >= row["over_mm"])
        ]
    else:
        size = setup.thickness.value * 1000
        least, guide = (
            [r["shade"] for r in data[key] if r["process"] == process and size >= r["over_mm"]]
            for key in ("minimum_gas", "guide_gas")
        )
    if not least:
        raise ValueError(f"process must be one of {', '.join(ARC)}, OFW, OFC, got {process}")
    minimum = max(least)
    start = max(*guide, minimum)
    source = _(
        "%(least)s (never below); %(guide)s (start)",
        least=data["minimum_source"],
        guide=data["guide_source"],
    )
    return Shade(start=start, minimum=minimum, source=source)
