"""Filler rod, electrode and wire against sheet, root opening, metal and process."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import GROOVES, RODS, WIRES, Exercise, Setup

from .finding import (
    METRES,
    SAME_SIZE,
    Finding,
    Level,
    length,
    most,
    rule_of,
    sheet,
    words,
)
from .kinds import kind_of, metal_of_filler


def filler_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Filler rod against sheet: outside only over 1.25 times the thickness."""
    if exercise.process not in RODS or not setup.filler:
        return
    rule, rod, thick = rule_of("filler"), setup.filler.diameter.value, setup.thickness.value
    parts = {"rod": Figure(setup.filler.diameter), "sheet": sheet(setup)}
    level: Level = "ok"
    factor = rule["look_over"]
    if rod > rule["outside_over"] * thick:
        level, factor = "outside", rule["outside_over"]
        message = _(
            "A rod of %(rod)s is far too thick for %(sheet)s metal. It takes the heat of the "
            "puddle: take a thinner one.",
            **parts,
        )
    elif rod > rule["look_over"] * (1 + rule["nominal"]) * thick:
        level = "look"
        message = _(
            "A rod of %(rod)s is thicker than %(sheet)s metal. It takes the heat of the puddle: "
            "take a thinner one.",
            **parts,
        )
    else:
        message = _("A rod of %(rod)s suits %(sheet)s metal.", **parts)
    yield Finding(
        rule="filler_thickness",
        level=level,
        value=rod,
        limit=factor * thick,
        unit=METRES,
        source=rule["source"],
        message=message,
    )


def filler_root_opening(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Rod, electrode or wire against an open root: an opening that it can't bridge is looked at.

    A root on backing is not judged: there the opening is made for the electrode to get in.
    """
    joint = setup.joint
    opening = joint.root_opening
    used = setup.filler if exercise.process in RODS else setup.electrode
    if joint.kind not in GROOVES or joint.backing or opening is None or used is None:
        return
    rule, wide = rule_of("root_opening"), most(opening)
    wire = exercise.process in WIRES
    limit = rule["wire_m"] if wire else rule["look_over_diameters"] * used.diameter.value
    open_ = wide > limit * (1 + SAME_SIZE)
    parts = {"opening": length(wide), "size": Figure(used.diameter)}
    yield Finding(
        rule="filler_root_opening",
        level="look" if open_ else "ok",
        value=wide,
        limit=limit,
        unit=METRES,
        source=rule["source"],
        message=_(
            "A root opening of %(opening)s is wide for a diameter of %(size)s: the puddle falls "
            "through. Close the gap or take a thicker one.",
            **parts,
        )
        if open_
        else _("A diameter of %(size)s bridges a root opening of %(opening)s.", **parts),
    )


def filler_metal(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Metal of rod, electrode or wire against the base metal, by its class."""
    rule = rule_of("filler_metal")
    name = _filler_name(exercise, setup)
    filler = metal_of_filler(name)
    bases = {setup.metal} | {p.metal for p in setup.pieces if p.metal in rule["metals"]}
    if not filler or not bases <= set(rule["metals"]):
        return
    parts = {"name": name, "metal": metal_word(filler), "base": metal_word(setup.metal)}
    if bases == {filler}:
        yield words("filler_metal", "ok", _("%(name)s suits %(base)s.", **parts), rule["source"])
        return
    apart = "aluminium" in (bases | {filler})
    diluted = filler == "steel" and filler not in bases
    level: Level = "outside" if apart or diluted else "look"
    yield words(
        "filler_metal",
        level,
        _("%(name)s is %(metal)s, the base metal is %(base)s.", **parts)
        if len(bases) == 1
        else _("%(name)s is %(metal)s, and the pieces are of different metals.", **parts),
        rule["source"],
    )


def metal_word(name: str) -> str:
    """Return a metal in words."""
    return {
        "steel": _("steel"),
        "stainless": _("stainless steel"),
        "aluminium": _("aluminium"),
    }.get(name, name)


def _filler_name(exercise: Exercise, setup: Setup) -> str:
    if exercise.process in ("SMAW", *WIRES):
        return setup.electrode.type if setup.electrode else ""
    return setup.filler.filler_class if setup.filler else ""


def electrode_kind(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Electrode and rod against the process: a covered electrode is no TIG rod."""
    rule = rule_of("kinds")
    fits = rule["fits"].get(exercise.process)
    if not fits:
        return
    for slot, name in (
        ("electrode", setup.electrode.type if setup.electrode else ""),
        ("filler", setup.filler.filler_class if setup.filler else ""),
    ):
        kind = kind_of(name)
        if not kind or slot not in fits:
            continue
        parts = {"name": name, "kind": _kind(kind), "process": exercise.process}
        if kind in fits[slot]:
            message = _("%(name)s, %(kind)s, suits %(process)s.", **parts)
            yield words(f"{slot}_kind", "ok", message, rule["source"])
        else:
            message = _(
                "%(name)s is %(kind)s; %(process)s takes %(wanted)s.",
                wanted=_kind(fits[slot][0]),
                **parts,
            )
            yield words(f"{slot}_kind", "outside", message, rule["source"])


def _kind(kind: str) -> str:
    return {
        "tungsten": _("a tungsten"),
        "covered": _("a covered electrode"),
        "cored": _("a flux cored wire"),
        "metal cored": _("a metal cored wire"),
        "solid": _("a bare rod or solid wire"),
        "gas rod": _("a bare rod for oxy-fuel welding"),
    }[kind]


def electrode_length(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Length of electrode and rod against the lengths they are sold in."""
    rule = rule_of("electrode_length")
    bounds = rule["metres"].get(exercise.process)
    used = setup.electrode if exercise.process in ("SMAW", "GTAW") else None
    if not bounds or not used or not used.length:
        return
    low, high = bounds
    fits = low <= used.length.value <= high
    yield Finding(
        rule="electrode_length",
        level="ok" if fits else "look",
        value=used.length.value,
        limit=high if used.length.value > low else low,
        unit=METRES,
        source=rule["source"],
        message=_(
            "Electrode length %(figure)s; they are sold from %(low)s to %(high)s.",
            figure=Figure(used.length),
            low=length(low),
            high=length(high),
        ),
    )
