"""Welding symbols in words, for those who cannot see them: all that the symbol says."""

from __future__ import annotations

from ...sentence import Sentence as _
from ...spec import Exercise, Setup
from ..words import Quantity, figure, measures_said
from .iso import gap
from .model import Symbol, Weld, symbol_of

WELDS: dict[str, _] = {
    "square": _("square groove weld"),
    "V": _("V groove weld"),
    "bevel": _("bevel groove weld"),
    "U": _("U groove weld"),
    "J": _("J groove weld"),
    "flare bevel": _("flare bevel weld"),
    "fillet": _("fillet weld"),
    "edge": _("edge weld"),
    "surfacing": _("surfacing weld"),
}
CONTOURS: dict[str, _] = {
    "flush": _("flush contour"),
    "convex": _("convex contour"),
    "concave": _("concave contour"),
}
FINISHES: dict[str, _] = {
    "G": _("made by grinding"),
    "C": _("made by chipping"),
    "M": _("made by machining"),
    "R": _("made by rolling"),
    "H": _("made by hammering"),
    "U": _("made in any way"),
    "P": _("made by planishing"),
}
STANDARDS: dict[str, _] = {
    "AWS": _("After AWS A2.4."),
    "ISO-A": _("After ISO 2553, system A."),
    "ISO-B": _("After ISO 2553, system B."),
}


def describe_symbol(
    exercise: Exercise, setup: Setup, system: str = "us", standard: str = "AWS"
) -> _:
    """Say in words what the welding symbol says, after a standard ("AWS", "ISO-A", "ISO-B")."""
    symbol = symbol_of(exercise, setup)
    if symbol is None:
        return _("No weld, no symbol.")
    iso = standard != "AWS"
    tail = symbol.iso4063 or symbol.process if iso else symbol.process
    says = _(
        "Welding symbol: %(says)s, tail %(process)s.",
        says=_.join(_sides(symbol, system, iso=iso), ", "),
        process=_.join([tail, *_rest(symbol)], ", "),
    )
    return _.join([says, STANDARDS[standard]])


def _sides(symbol: Symbol, system: str, *, iso: bool) -> list[str]:
    kind = WELDS[symbol.arrow.sign]
    both = symbol.other is not None
    said: list[str] = [
        _("%(weld)s on both sides", weld=kind)
        if both
        else _("%(weld)s on the arrow side", weld=kind)
    ]
    said += _weld(symbol.arrow, system, iso=iso)
    if symbol.staggered:
        said.append(_("staggered"))
    if symbol.backing:
        said.append(_("backing on the other side"))
        if symbol.backing == "temporary":
            said.append(_("removed after welding"))
    elif symbol.back:
        # Which of the two it is stands in the tail.
        said.append(_("weld on the back"))
    elif symbol.melt_through:
        said.append(_("melt-through on the other side"))
        said += measures_said([(_("%(figure)s high"), symbol.root_height)], system)
    if symbol.broken_arrow:
        said.append(_("arrow to the part that is prepared"))
    if symbol.all_around:
        said.append(_("all around"))
    if symbol.field:
        said.append(_("welded on site"))
    return said


def _weld(weld: Weld, system: str, *, iso: bool) -> list[str]:
    legs: list[Quantity | None] = [*weld.legs, None, None]
    named: list[tuple[str, Quantity | None]] = [
        (_("leg %(figure)s"), legs[0]),
        (_("other leg %(figure)s"), legs[1]),
        (_("prepared %(figure)s deep"), weld.depth),
        (_("effective size %(figure)s"), weld.effective),
        (_("height %(figure)s"), weld.height),
        (_("root opening %(figure)s"), weld.opening),
        (_("groove angle %(figure)s"), weld.angle),
    ]
    said: list[str] = [*measures_said(named, system)]
    if weld.length is not None:
        long = _.join(figure(weld.length, system))
        count = weld.count if iso else None
        said.append(
            _("%(count)s welds of %(figure)s", count=count, figure=long)
            if count
            else _("length %(figure)s", figure=long)
        )
    if iso:
        said += measures_said([(_("%(figure)s between them"), gap(weld))], system)
    else:
        said += measures_said([(_("pitch %(figure)s"), weld.pitch)], system)
    if weld.contour:
        said.append(CONTOURS[weld.contour])
    if weld.finish and not iso:
        said.append(FINISHES[weld.finish])
    if weld.blended:
        said.append(_("toes blended smoothly"))
    return said


def _rest(symbol: Symbol) -> list[str]:
    said: list[str] = []
    if symbol.quality:
        said.append(_("quality level %(level)s of ISO 5817", level=symbol.quality))
    if symbol.back:
        said.append(_("back weld") if symbol.back == "back" else _("backing weld"))
    return [*said, *filter(None, [symbol.note])]
