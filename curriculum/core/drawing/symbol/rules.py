"""Which marks go with which joint: what a symbol may not say is refused at its key."""

from __future__ import annotations

from ...joints.shapes import JointError, at_most, long
from ...sentence import Sentence as _
from ...spec import Joint, Setup
from .model import DOUBLE, SIGNS

BOTH_SIDES = (
    "square groove",
    "J groove",
    "U groove",
    "flare bevel",
    "tee fillet",
    "lap fillet",
)
"""Kinds with one weld that may be made from the other side too; a double V is both already."""
BACKED = ("square groove", "single V", "single bevel", "J groove", "U groove", "flare bevel")
ON_BACKING = (*BACKED, "outside corner")
WITH_GROOVE = (*ON_BACKING, *DOUBLE)


def check_marks(setup: Setup) -> None:
    """Raise `JointError` (`where` is "symbol.depth" …) for a mark that the joint cannot carry.

    Backing and melt-through are marks too, though a joint states them beside its numbers.
    """
    _root(setup.joint)
    _sides(setup)
    _row(setup)
    _sizes(setup)
    marks = setup.joint.symbol
    if marks.flush and setup.joint.contour != "flat":
        told = _("The face is %(contour)s, so it is not flush.", contour=_(setup.joint.contour))
        raise JointError("symbol.flush", told, ("leave it out",))


def _root(joint: Joint) -> None:
    """What the back of the root may be: on backing, melted through, or welded too."""
    kind = _(joint.kind)
    if joint.kind in DOUBLE:
        for name in ("backing", "melt_through"):
            if getattr(joint, name):
                told = _(
                    "%(joint)s: welded from both sides there is neither backing nor melt-through.",
                    joint=kind,
                )
                raise JointError(name, told, ("leave it out",))
    if joint.backing and joint.kind not in ON_BACKING:
        told = _("%(joint)s: there is no groove to lay on backing.", joint=kind)
        raise JointError("backing", told, ON_BACKING)
    if joint.backing and joint.melt_through:
        told = _("On backing nothing melts through to the other side.")
        raise JointError("melt_through", told, ("leave it out",))


def _sides(setup: Setup) -> None:
    joint, marks = setup.joint, setup.joint.symbol
    kind = _(joint.kind)
    if marks.other_side and joint.kind not in BOTH_SIDES:
        told = _("%(joint)s: it is not welded alike from the other side.", joint=kind)
        raise JointError("symbol.other_side", told, BOTH_SIDES)
    if marks.other_side and (joint.backing or joint.melt_through):
        told = _("Welded from both sides there is neither backing nor melt-through.")
        raise JointError("symbol.other_side", told, ("leave it out",))
    if marks.back and joint.kind not in BACKED:
        told = _("%(joint)s: there is no groove to weld from its back.", joint=kind)
        raise JointError("symbol.back", told, BACKED)
    if marks.back and (joint.backing or joint.melt_through or marks.other_side):
        told = _("The other side says something else already: it has one weld.")
        raise JointError("symbol.back", told, ("leave it out",))
    if marks.backing_removed and not joint.backing:
        told = _("There is no backing to remove: say backing too.")
        raise JointError("symbol.backing_removed", told, ("leave it out",))


def _row(setup: Setup) -> None:
    """Welds in a row: how long, how far apart, how many, and whether by turns."""
    joint, marks = setup.joint, setup.joint.symbol
    stated = (marks.length, marks.pitch, marks.count)
    if SIGNS.get(joint.kind, "surfacing") == "surfacing":
        for name, value in zip(("length", "pitch", "count"), stated, strict=True):
            if value is not None:
                told = _("%(joint)s: it is no row of welds.", joint=_(joint.kind))
                raise JointError(f"symbol.{name}", told, ("leave it out",))
    for name, value in (("pitch", marks.pitch), ("count", marks.count)):
        if value is not None and marks.length is None:
            told = _("Say the length of one weld too.")
            raise JointError(f"symbol.{name}", told, ("length 2 in",))
    if marks.pitch and marks.length and marks.pitch.value <= marks.length.value:
        told = _(
            "%(pitch)s from centre to centre leaves no gap between welds of %(length)s.",
            pitch=long(marks.pitch.value),
            length=long(marks.length.value),
        )
        raise JointError("symbol.pitch", told, ("length 2 in, pitch 5 in",))
    both = marks.other_side and "fillet" in joint.kind
    if marks.staggered and not (both and marks.pitch):
        told = _("Only fillets on both sides, at a pitch, can be staggered.")
        raise JointError("symbol.staggered", told, ("leave it out",))


def _sizes(setup: Setup) -> None:
    joint, marks, thickness = setup.joint, setup.joint.symbol, setup.thickness.value
    for name, value in (("depth", marks.depth), ("effective", marks.effective)):
        if value is None:
            continue
        if joint.kind not in WITH_GROOVE:
            told = _("%(joint)s: there is no groove to measure.", joint=_(joint.kind))
            raise JointError(f"symbol.{name}", told, ("leave it out",))
        # A flare bevel is measured by its radius, which may be more than the wall.
        if value.value > thickness * (1 + 1e-9) and joint.kind != "flare bevel":
            told = _(
                "%(size)s is more than the metal is thick (%(thickness)s).",
                size=long(value.value),
                thickness=long(thickness),
            )
            raise JointError(f"symbol.{name}", told, at_most(thickness))
