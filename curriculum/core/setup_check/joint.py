"""The joint: legs, gaps, grooves and reinforcement against the thickness."""

from __future__ import annotations

import math
from collections.abc import Iterator

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import ARCS, FILLETS, GROOVES, Exercise, Setup
from shared.units import Range

from .finding import (
    METRES,
    SAME_SIZE,
    Finding,
    length,
    most,
    rule_of,
    sheet,
    thick_as_said,
    usual,
    words,
)

NOMINAL = 0.05  # 5/64 in and 14 gauge are one nominal size


def _thicknesses(setup: Setup) -> list[float]:
    """Return the thicknesses that meet in the joint, m: the setup's and those of its parts."""
    return [setup.thickness.value, *(piece.thickness.value for piece in setup.parts)]


def _legs(setup: Setup) -> list[float]:
    return [most(leg) for leg in (setup.joint.leg, setup.joint.leg_2) if leg]


def _size(setup: Setup) -> float:
    """Return the size of a fillet: its smaller leg, of a hollow one the leg of its throat."""
    hollow = setup.joint.convexity if setup.joint.contour == "concave" else None
    return min(_legs(setup)) - (math.sqrt(2) * hollow.value if hollow else 0.0)


def leg_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Leg against the thinner part: over a lapped edge, or far over a plate, is looked at."""
    if setup.joint.kind not in FILLETS or not setup.joint.leg:
        return
    leg = max(_legs(setup))
    rule, thin = rule_of("leg"), min(_thicknesses(setup))
    lap = setup.joint.kind == "lap fillet"
    limit = thin if lap else rule["look_over"] * thin
    over = leg > limit * (1 + NOMINAL)
    parts = {
        "leg": length(leg),
        "limit": thick_as_said(limit, setup),
        "sheet": thick_as_said(thin, setup),
    }
    if over and lap:
        message = _(
            "A leg of %(leg)s on an edge of %(sheet)s: the edge melts away. A leg is no larger "
            "than the edge is thick.",
            **parts,
        )
    elif over:
        message = _(
            "A leg of %(leg)s on %(sheet)s metal is far too large, at most %(limit)s.", **parts
        )
    else:
        message = _("A leg of %(leg)s suits %(sheet)s metal, at most %(limit)s.", **parts)
    yield Finding(
        rule="leg_thickness",
        level="look" if over else "ok",
        value=leg,
        limit=limit,
        unit=METRES,
        source=rule["lap_source" if lap else "far_source"],
        message=message,
    )


def least_leg(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Size of a fillet against the smallest for the thicker part; steel plate from 1/8 in on."""
    rule = rule_of("leg")
    thick = max(_thicknesses(setup))
    thin = min(_thicknesses(setup))
    if setup.joint.kind not in FILLETS or not setup.joint.leg or exercise.process not in ARCS:
        return
    if setup.metal != "steel" or thin < rule["least_from_m"] * (1 - SAME_SIZE):
        return
    wanted = next(size for upto, size in rule["least_m"] if thick <= upto * (1 + SAME_SIZE))
    wanted = min(wanted, thin)
    leg = _size(setup)
    small = leg < wanted * (1 - SAME_SIZE)
    parts = {"leg": length(leg), "limit": length(wanted), "sheet": thick_as_said(thick, setup)}
    yield Finding(
        rule="least_leg",
        level="look" if small else "ok",
        value=leg,
        limit=wanted,
        unit=METRES,
        source=rule["least_source"],
        message=_(
            "A fillet of %(leg)s on %(sheet)s plate cools too fast and cracks: at least %(limit)s.",
            **parts,
        )
        if small
        else _("A fillet of %(leg)s on %(sheet)s plate, at least %(limit)s.", **parts),
    )


def lap_overlap(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Overlap of a lap against five times the thinner part and 1 in; plate from 1/8 in on."""
    rule, overlap = rule_of("lap"), setup.joint.overlap
    thin = min(_thicknesses(setup))
    if setup.joint.kind != "lap fillet" or not overlap or thin < rule["from_m"] * (1 - SAME_SIZE):
        return
    yield usual(
        "lap_overlap",
        _("Overlap"),
        overlap,
        rule["source"],
        low=max(rule["least_m"], rule["times"] * thin),
        advice=_("The lap turns and opens at the root."),
    )


def fillet_gap(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Gap under a fillet."""
    if setup.joint.kind not in FILLETS or not setup.joint.gap:
        return
    rule = rule_of("gap")
    yield usual(
        "fillet_gap",
        _("Gap"),
        setup.joint.gap,
        rule["source"],
        high=rule["look_over_m"],
        advice=_("Close it, or make the leg larger by it."),
    )


def groove_angle(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Groove angle, on backing together with its root opening: narrow ones are looked at."""
    joint, rule = setup.joint, rule_of("groove")
    angle = joint.groove_angle
    if joint.kind not in ("single V", "double V") or angle is None:
        return
    advice = _("The electrode doesn't reach the root.")
    if not joint.backing:
        yield usual(
            "groove_angle",
            _("Groove angle"),
            angle,
            rule["source"],
            low=rule["open_angle_deg"],
            advice=advice,
        )
        return
    rows = [row for row in rule["backed"] if row[0] <= angle.value * (1 + 1e-9)]
    if not rows:
        yield usual(
            "groove_angle",
            _("Groove angle"),
            angle,
            rule["source"],
            low=min(rule["backed"])[0],
            advice=advice,
        )
    elif joint.root_opening:
        yield usual(
            "groove_angle",
            _("Root opening on backing at this groove angle:"),
            joint.root_opening,
            rule["source"],
            low=max(rows)[1] - rule["backed_short_m"],
            advice=advice,
        )


def bevel_angle(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Bevel angle of a groove with one bevelled side: a narrow one is looked at."""
    joint, rule = setup.joint, rule_of("groove")
    if joint.kind not in ("single bevel", "double bevel") or not joint.bevel_angle:
        return
    yield usual(
        "bevel_angle",
        _("Bevel angle"),
        joint.bevel_angle,
        rule["source"],
        low=rule["open_bevel_deg"],
        advice=_("The electrode doesn't reach the root."),
    )


def square_groove(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A square groove in thick metal, or one wider than the metal is thick, is looked at."""
    joint, rule = setup.joint, rule_of("groove")
    if joint.kind != "square groove":
        return
    yield usual(
        "square_groove",
        _("Thickness of a square groove"),
        setup.thickness,
        rule["source"],
        high=rule["square_m"],
        advice=_("The arc doesn't reach the root: bevel the edges."),
    )
    if joint.root_opening and not joint.backing:
        wide = most(joint.root_opening) > setup.thickness.value * rule["opening_over"]
        parts = {"opening": length(most(joint.root_opening)), "sheet": sheet(setup)}
        if wide:
            message = _("A root opening of %(opening)s is wider than %(sheet)s is thick.", **parts)
            yield Finding(
                rule="root_opening_thickness",
                level="look",
                value=most(joint.root_opening),
                limit=setup.thickness.value,
                unit=METRES,
                source=rule["source"],
                message=message,
            )


def root_face(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Root face of an open groove: a thick one is not melted through."""
    joint, rule = setup.joint, rule_of("groove")
    if joint.kind not in GROOVES or joint.backing or not joint.root_face:
        return
    yield usual(
        "root_face",
        _("Root face"),
        joint.root_face,
        rule["source"],
        high=rule["root_face_m"],
        advice=_("The root stays unfused."),
    )


def reinforcement(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Face and root reinforcement of a groove weld."""
    joint, rule = setup.joint, rule_of("groove")
    if joint.kind not in GROOVES:
        return
    sides: tuple[tuple[str, str, Range | None], ...] = (
        ("face_reinforcement", _("Face reinforcement"), joint.face_reinforcement),
        ("root_reinforcement", _("Root reinforcement"), joint.root_reinforcement),
    )
    for name, what, high in sides:
        if high:
            yield usual(
                name,
                what,
                high,
                rule["reinforcement_source"],
                high=rule["reinforcement_m"],
                advice=_("More is metal for the grinder."),
            )


def backing(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A joint on backing has backing among its pieces, and no root reinforcement."""
    if not setup.joint.backing or not setup.pieces:
        return
    source = rule_of("backing")["source"]
    if not any(piece.form == "backing" for piece in setup.pieces):
        message = _("The joint is on backing, and no piece is backing.")
        yield words("backing", "look", message, source)
    elif setup.joint.root_reinforcement and most(setup.joint.root_reinforcement) > 0:
        message = _("On backing there is no root reinforcement to measure.")
        yield words("backing", "look", message, source)
    else:
        yield words("backing", "ok", _("The backing is among the pieces."), source)
