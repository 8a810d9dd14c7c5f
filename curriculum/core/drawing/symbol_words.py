"""Welding symbols in words, for those who cannot see them."""

from __future__ import annotations

from ..sentence import Sentence as _
from ..spec import Exercise, Setup
from .words import Quantity, measures_said

SYMBOLS: dict[str, _] = {
    "tee fillet": _("fillet weld"),
    "lap fillet": _("fillet weld"),
    "outside corner": _("square groove weld"),
    "square groove": _("square groove weld"),
    "single V": _("V groove weld"),
    "single bevel": _("bevel groove weld"),
    "bead": _("surfacing weld"),
    "padding": _("surfacing weld"),
}


def describe_symbol(exercise: Exercise, setup: Setup, system: str = "us") -> _:
    """Say in words what the welding symbol says."""
    joint = setup.joint
    if joint.kind == "none":
        return _("No weld, no symbol.")
    kind = SYMBOLS.get(joint.kind) or _("%(kind)s weld", kind=joint.kind)
    said = [_("%(weld)s on the arrow side", weld=kind)]
    fillet = "fillet" in joint.kind
    surfacing = joint.kind in ("bead", "padding")
    angle = joint.groove_angle or joint.bevel_angle
    named: list[tuple[str, Quantity | None]] = [
        (_("leg %(figure)s"), joint.leg if fillet else None),
        (_("other leg %(figure)s"), joint.leg_2 if fillet else None),
        (_("height %(figure)s"), joint.bead_height if surfacing else None),
        (_("root opening %(figure)s"), None if fillet or surfacing else joint.root_opening),
        (_("groove angle %(figure)s"), None if fillet or surfacing else angle),
    ]
    said += measures_said(named, system)
    if joint.backing:
        said.append(_("backing on the other side"))
    elif joint.melt_through:
        said.append(_("melt-through on the other side"))
    if joint.contour != "flat":
        said.append(_("convex contour") if joint.contour == "convex" else _("concave contour"))
    return _(
        "Welding symbol: %(says)s, tail %(process)s.",
        says=_.join(said, ", "),
        process=exercise.process,
    )
