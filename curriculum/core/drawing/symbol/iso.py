"""Symbols after ISO 2553:2019, systems A and B.

System A has two lines: what concerns the arrow side stands on the continuous one, what concerns
the other side on the dashed one, which is left out where both sides say the same. System B has one
line, the arrow side under it (published articles on the standard). A leg is written with z, a depth
of preparation with h, a penetration with s; welds in a row as n × l (e), where e is the gap between
their ends and not the pitch; M in a backing's box stays, MR is removed (from memory).
"""

from __future__ import annotations

from dataclasses import replace

from shared.units import Measure

from ..words import amount
from .aws import quality
from .model import Symbol, Weld
from .standard import Standard, Write


def _size(weld: Weld, write: Write) -> str:
    if weld.legs:
        return f"z{'×'.join(write(leg) for leg in weld.legs)}"
    parts = [
        f"{letter}{write(value)}"
        for letter, value in (("h", weld.depth), ("s", weld.effective))
        if value
    ]
    return " ".join(parts) or (write(weld.height) if weld.height else "")


def gap(weld: Weld) -> Measure | None:
    """Return the clear distance between the ends of welds in a row, None where there is no row."""
    if weld.pitch is None or weld.length is None:
        return None
    return Measure.of(amount(weld.pitch) - amount(weld.length), "m")


def _run(weld: Weld, write: Write) -> tuple[str, str]:
    if weld.length is None:
        return "", ""
    length = write(weld.length)
    first = f"{weld.count} × {length}" if weld.count else length
    between = gap(weld)
    return first, f"({write(between)})" if between else ""


def _tail(symbol: Symbol) -> str:
    return "/".join(filter(None, (symbol.iso4063 or symbol.process, quality(symbol))))


ISO_B = Standard(
    name="ISO 2553 B",
    arrow_up=False,
    dashed=False,
    letters=False,
    blended=True,
    stem=True,
    crossed=True,
    box={"permanent": "M", "temporary": "MR"},
    size=_size,
    run=_run,
    tail=_tail,
)
ISO_A = replace(ISO_B, name="ISO 2553 A", arrow_up=True, dashed=True)
