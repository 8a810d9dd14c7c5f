"""Symbols after AWS A2.4:2020.

The arrow side stands under the line, the other side over it (6.1); where the parts of a symbol
stand round the line is its figure 4.3; a size stands left of its sign, the depth of a groove's
preparation before its effective size in brackets (7.2), length and pitch right of it; a backing
that is removed has an R in its box. Clause numbers from published references to the standard, the
arrangement within them from memory.
"""

from __future__ import annotations

from .model import Symbol, Weld
from .standard import Standard, Write


def _size(weld: Weld, write: Write) -> str:
    depth = write(weld.depth) if weld.depth else ""
    effective = f"({write(weld.effective)})" if weld.effective else ""
    if depth or effective:
        return " ".join(filter(None, (depth, effective)))
    return write(weld.height) if weld.height else " × ".join(write(leg) for leg in weld.legs)


def _run(weld: Weld, write: Write) -> tuple[str, str]:
    if weld.length is None:
        return "", ""
    length = write(weld.length)
    return (f"{length}–{write(weld.pitch)}" if weld.pitch else length), ""


def _tail(symbol: Symbol) -> str:
    return " ".join(filter(None, (symbol.process, quality(symbol))))


def quality(symbol: Symbol) -> str:
    """Return the quality level as tails name it, empty where none is asked for."""
    return f"ISO 5817-{symbol.quality}" if symbol.quality else ""


AWS = Standard(
    name="AWS A2.4",
    arrow_up=False,
    dashed=False,
    letters=True,
    blended=False,
    stem=False,
    crossed=False,
    box={"permanent": "", "temporary": "R"},
    size=_size,
    run=_run,
    tail=_tail,
)
