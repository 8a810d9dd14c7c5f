"""What two standards say differently: where sides stand and how figures and tails are written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from ...sentence import Sentence as _
from ..words import Quantity
from .model import Symbol, Weld

Write = Callable[[Quantity], str]
"""Writes a figure without its unit, as symbols carry it: the drawing's unit holds for all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """A way to draw symbols."""

    name: str
    arrow_up: bool  # the arrow side stands over the reference line
    dashed: bool  # a second, dashed line carries the other side
    letters: bool  # a finish letter stands by its contour
    blended: bool  # blended toes have a sign
    stem: bool  # a groove prepared in part has a sign of its own: it stands on a stem
    crossed: bool  # a Z crosses the line where welds are staggered
    box: Mapping[str, str]  # what a backing's box holds
    size: Callable[[Weld, Write], str]  # left of the sign
    run: Callable[[Weld, Write], tuple[str, str]]  # right of it: length, and what a Z parts from it
    tail: Callable[[Symbol], str]


def notes(symbol: Symbol, standard: Standard) -> list[str]:
    """Return what no sign says: it stands under the process in the tail."""
    said: list[str] = []
    if symbol.back:
        said.append(_("back weld") if symbol.back == "back" else _("backing weld"))
    if symbol.arrow.blended and not standard.blended:
        said.append(_("toes blended"))
    return [*said, *filter(None, [symbol.note])]
