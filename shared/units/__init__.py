"""Quantities as the trade writes them: reading, keeping and showing them. Pure, without Django.

    parse_measure("1-1/2 in", "length")   → Measure(0.0381, "m", "1-1/2 in")
    parse_range("85-95 A", "current")     → Range(85.0, 95.0, None, "A", "85-95 A")
    str(show(measure, system="us"))       → "1-1/2 in"

What was typed is kept, so that 1/16 in comes back as 1/16 in. The grammar is our own: pint reads
"1 1/2 in" as half an inch and "nan mm" as a length.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shared.units.reading import Pipe, parse_measure, parse_pipe, parse_range
from shared.units.showing import Shown, show, show_range
from shared.units.tables import DIMENSIONS, gauge_metals, gauges
from shared.units.values import Measure, Range, UnitError

if TYPE_CHECKING:
    from shared.units.registry import ureg

__all__ = [
    "DIMENSIONS",
    "Measure",
    "Pipe",
    "Range",
    "Shown",
    "UnitError",
    "gauge_metals",
    "gauges",
    "parse_measure",
    "parse_pipe",
    "parse_range",
    "show",
    "show_range",
    "ureg",
]


def __getattr__(name: str) -> Any:
    """Load pint's registry at first use: importing it costs a third of a second."""
    if name == "ureg":
        from shared.units.registry import ureg

        return ureg
    raise AttributeError(name)
