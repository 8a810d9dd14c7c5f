"""Welding symbols after AWS A2.4 and ISO 2553, systems A and B, from a setup's own numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ...sentence import in_words
from ...spec import Exercise, Setup
from ..canvas import Canvas
from ..words import Quantity, figure
from .aws import AWS
from .iso import ISO_A, ISO_B
from .layout import Layout
from .model import SIGNS, Symbol, Weld, symbol_of
from .standard import Standard
from .words import describe_symbol

__all__ = [
    "SIGNS",
    "STANDARDS",
    "Symbol",
    "SymbolDrawing",
    "Weld",
    "describe_symbol",
    "draw_symbol",
    "symbol_of",
    "symbol_svg",
]

LONG = 520.0
STANDARDS: dict[str, Standard] = {"AWS": AWS, "ISO-A": ISO_A, "ISO-B": ISO_B}


@dataclass(frozen=True, slots=True)
class SymbolDrawing:
    """A drawn symbol: its canvas, its size in pixels, and what it says in words."""

    canvas: Canvas
    width: float
    height: float
    title: str

    def svg(self, ident: str = "symbol") -> str:
        """Return the symbol as an SVG element; a long one is marked, for pages to give it room."""
        extra = ' data-long=""' if self.width > LONG else ""
        return self.canvas.svg(self.width, self.height, title=self.title, ident=ident, extra=extra)


def draw_symbol(
    exercise: Exercise,
    setup: Setup,
    *,
    system: str = "us",
    standard: str = "AWS",
    paper: bool = False,
    say: Callable[[str], str] = str,
) -> SymbolDrawing | None:
    """Draw the welding symbol of a setup; None where nothing is welded.

    `system` is "us" or "metric", for figures that were not typed in it. `say` puts the templates
    of its words into the reader's language.

    Raises ValueError for a `standard` that is none of `STANDARDS`.
    """
    if standard not in STANDARDS:
        raise ValueError(f"standard must be one of {', '.join(STANDARDS)}, got {standard!r}")
    symbol = symbol_of(exercise, setup)
    if symbol is None:
        return None

    def write(value: Quantity) -> str:
        return in_words(figure(value, system)[0], say)

    layout = Layout(symbol, STANDARDS[standard], write, say)
    trial = Canvas(paper=paper, say=say)
    layout.draw(trial, 0.0)
    canvas = Canvas(paper=paper, say=say)
    width = layout.draw(canvas, -trial.bounds()[1])
    title = describe_symbol(exercise, setup, system, standard).in_words(say)
    return SymbolDrawing(canvas, width, canvas.bounds()[3], title)


def symbol_svg(
    exercise: Exercise,
    setup: Setup,
    *,
    system: str = "us",
    standard: str = "AWS",
    paper: bool = False,
    ident: str = "symbol",
    say: Callable[[str], str] = str,
) -> str:
    """Return the welding symbol as an SVG element, as `draw_symbol` draws it; empty for None."""
    drawn = draw_symbol(exercise, setup, system=system, standard=standard, paper=paper, say=say)
    return "" if drawn is None else drawn.svg(ident)
