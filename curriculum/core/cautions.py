"""The cautions that stand with a setup, and the filter shade, both with their published sources."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from .defaults import table
from .sentence import Sentence as _
from .spec import ARCS, Exercise, Setup
from .spec_key import is_air

ARC = (*ARCS, "PAC")
_CONFINED = re.compile(r"\b(confined|tank|vessel|pit|manhole)\b")
# Low-hydrogen coverings (AWS A5.1, last digit 5, 6 or 8), those of stainless steel (A5.4) and the
# flux in cored wire (A5.20) hold fluorides: data sheets, from memory.
_FLUORIDE = re.compile(r"E\s?(?:\d{2,3}[1-4][568]\b|\d{2,3}T|\d{3}\w*-1[567])", re.IGNORECASE)


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
    named = (setup.electrode, *(one.electrode for one in setup.passes))
    electrodes = [one.type for one in named if one]
    gases = (setup.gas, setup.fuel, setup.oxygen, setup.cutting_oxygen, setup.purge)
    tests = (word for one in exercise.criteria for word in (one.kind, one.tool))
    said = (*exercise.tools, *exercise.steps, *exercise.signoffs, *exercise.cautions, *tests)
    text = " ".join((*said, *(piece.prep for piece in setup.pieces))).lower()
    facts = {
        "process": [exercise.process],
        "metal": [setup.metal],
        "coated": bool(setup.coating),
        "confined": bool(setup.purge or _CONFINED.search(f"{text} {setup.fit_up.lower()}")),
        "fluoride": any(_FLUORIDE.match(one) for one in electrodes),
        "gas": any(one and not is_air(one.name) for one in gases),
        "shielded": any(one and not is_air(one.name) for one in (setup.gas, setup.purge)),
        "fuel": [setup.fuel.name.lower()] if setup.fuel else [],
        "tungsten": [t[:4] for t in electrodes],
    }
    return [_caution(row) for row in table("cautions")["caution"] if _holds(row, facts, text)]


def cautions_at(
    tools: Iterable[str], *, noise: bool = True, process: str = "", metal: str = ""
) -> list[Caution]:
    """Return the cautions for machines alone ("shear", "saw", "bend press", "grinder"): cut lists.

    `noise` puts the caution on it first. With a thermal cutting process ("OFC", "PAC") those of
    its flame or arc come too, for a sheet of `metal` and, with a flame, for acetylene as its fuel.
    """
    text = " ".join(tools).lower()
    gas = process == "OFC"
    facts = {
        "process": [process],
        "metal": [metal],
        "coated": False,
        "gas": gas,
        "fuel": ["acetylene"] if gas else [],
    }

    def stands(row: dict[str, Any]) -> bool:
        if "tools" in row.get("when", {}):
            return _holds(row, {}, text)
        return (bool(process) and _holds(row, facts, text)) or (noise and row["key"] == "noise")

    return [_caution(row) for row in table("cautions")["caution"] if stands(row)]


def _caution(row: dict[str, Any]) -> Caution:
    source = _(row["source"])
    if row["status"] == "memory" and "memory" not in source:
        source = _("%(source)s (from memory)", source=source)
    return Caution(key=row["key"], heading=row["heading"], text=row["text"], source=source)


def _holds(row: dict[str, Any], facts: dict[str, Any], text: str) -> bool:
    for name, wanted in row.get("when", {}).items():
        if name == "tools":
            if not _named(wanted, text):
                return False
        elif isinstance(wanted, bool):
            if facts.get(name) is not wanted:
                return False
        elif not set(wanted) & set(facts.get(name, ())):
            return False
    return True


def _named(words: Iterable[str], text: str) -> bool:
    return any(re.search(rf"\b{re.escape(word)}\b", text) for word in words)


class Asking(Protocol):
    """What names sign-offs and machines: an exercise of a file, or a version of the database."""

    @property
    def signoffs(self) -> Sequence[str]: ...
    @property
    def tools(self) -> Sequence[str]: ...


class Read(Protocol):
    """A criterion, with the tool it is read with."""

    @property
    def tool(self) -> str: ...


def signoffs_for(exercise: Asking, criteria: Iterable[Read]) -> list[str]:
    """Return the sign-offs a student needs: those the exercise asks for, and one a machine.

    Machines are the tools of the exercise and of its criteria whose caution asks for a sign-off;
    what its steps say ("press the lever") is too loose for that. A machine that a sign-off asked
    for names ("tungsten grinding", "bandsaw") needs no other.
    """
    needed = list(dict.fromkeys(exercise.signoffs))
    text = " ".join((*exercise.tools, *(one.tool for one in criteria))).lower()
    named = " ".join(needed).lower()
    for row in table("cautions")["caution"]:
        words = row.get("when", {}).get("tools", ())
        if "signoff" in row and _named(words, text) and not _named(words, named):
            needed.append(row["signoff"])
    return needed


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
    start = max([*guide, minimum])
    source = (
        data["minimum_source"]
        if not guide
        else _(
            "%(least)s (never below); %(guide)s (start)",
            least=data["minimum_source"],
            guide=data["guide_source"],
        )
    )
    return Shade(start=start, minimum=minimum, source=source)
