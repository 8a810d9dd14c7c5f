"""Welds on edges in section: edge weld, flare bevel."""

from __future__ import annotations

import math

from ..joints import Edge, FlareBevel
from . import weld
from .canvas import FIGURE, OUTSIDE_BELOW, figure_width
from .sheet import HIGHEST, ROW, SEGMENTS, THICK, Sheet, rows
from .words import passes_of, thickness_figure


def edge(sheet: Sheet, joint: Edge) -> None:
    """Draw two sheets standing face to face with the bead over their edges; measure them."""
    canvas, stated = sheet.canvas, sheet.setup.joint
    thick = min(THICK, 80.0 + 10 * passes_of(sheet.setup))
    across = max(2 * joint.thickness + joint.gap, joint.width)
    sheet.scale = min(
        thick / joint.thickness, 0.4 * sheet.width / across, HIGHEST / joint.face_reinforcement
    )
    sheet.origin = (sheet.width / 2, 0.0)
    (ring,) = joint.polygon(SEGMENTS)
    ring = sheet.ring(ring)
    gap, t = joint.gap * sheet.scale, joint.thickness * sheet.scale
    middle, foot = sheet.origin[0], 200.0
    for side, lean in ((-1, 1), (1, -1)):
        inner, outer = middle + side * gap / 2, middle + side * (gap / 2 + t)
        box = [(inner, foot), (inner, 0.0), (outer, 0.0), (outer, foot)]
        canvas.plate(box, [box], lean=lean)
    beads, places = weld.fan_beads(
        ring[:2], [ring[0], *ring[:1:-1], ring[1]], passes_of(sheet.setup)
    )
    weld.lay(canvas, beads, sheet.pass_no)
    weld.number(canvas, places, sheet.pass_no)
    if sheet.picture:
        return
    for x in (middle - gap / 2 - t, middle + gap / 2):
        canvas.break_line((x, foot), (x + t, foot))
    crown = min(y for _, y in ring)
    if stated.face_width and joint.face_width:
        span = (ring[0][0], ring[1][0])
        sheet.over("face_width", stated.face_width, joint.face_width, span, (-6, -6), crown - ROW)
    if stated.face_reinforcement:
        value, height = stated.face_reinforcement, joint.face_reinforcement
        sheet.standing("face_reinforcement", value, height, 0.0, crown, middle + 4)
    _edge_feet(sheet, joint, middle, foot)


def _edge_feet(sheet: Sheet, joint: Edge, middle: float, foot: float) -> None:
    """Thickness and gap, measured under the broken ends."""
    stated = sheet.setup.joint
    gap, t = joint.gap * sheet.scale, joint.thickness * sheet.scale
    row = _thickness_below(sheet, middle - gap / 2 - t, middle - gap / 2, foot)
    if stated.gap and joint.gap:
        between = (middle - gap / 2, middle + gap / 2)
        sheet.below("gap", stated.gap, joint.gap, between, foot + 10, row + ROW)


def _thickness_below(sheet: Sheet, left: float, right: float, foot: float) -> float:
    """Measure the thickness of an upright part under its foot; return the height of the line."""
    y = foot + 40
    for x in (left, right):
        sheet.fine([(x, foot + 10), (x, y + 8)])
    sheet.measure("thickness", sheet.setup.thickness.value, (left, y), (right, y))
    text, unit = thickness_figure(sheet.setup, sheet.system)
    wide = figure_width(text, unit)
    beside = 52 if right - left < OUTSIDE_BELOW else 14
    sheet.write(text, unit, rows(left - wide - beside, y + 14, 1))
    return y


def flare(sheet: Sheet, joint: FlareBevel) -> None:
    """Draw a flat part standing and a bent one against it, the groove between; measure it."""
    canvas, stated = sheet.canvas, sheet.setup.joint
    count = passes_of(sheet.setup)
    t, radius = sheet.setup.thickness.value, joint.groove_radius
    highest = joint.face_reinforcement or 1e-9
    deep = min(max(120.0, 50.0 * count), 190.0)
    sheet.scale = min(deep / radius, 150 / t, HIGHEST / highest)
    r, wall = radius * sheet.scale, t * sheet.scale
    least = sheet.left + sheet.thickness_wide() + wall
    sheet.origin = (max(0.3 * sheet.width, least), 0.0)
    x = sheet.origin[0]
    rings = [sheet.ring(ring) for ring in joint.polygon(SEGMENTS)]
    head, foot = -r - max(70.0, HIGHEST), max(90.0, wall - r + 90.0)
    flat = [(x - wall, head), (x, head), (x, foot), (x - wall, foot)]
    canvas.plate(flat, [flat[1:3], [flat[3], flat[0]]], lean=1)
    bend = rings[0][: SEGMENTS + 1]
    outer = [(x, foot), *bend, (sheet.right, -r)]
    hollow = max(r - wall, 0.0)
    bent = [(x + r - hollow * math.sin(a), -hollow * math.cos(a)) for a in _quarter()]
    if not hollow:  # the inside of a thick wall is sharp
        bent = [(x + wall, wall - r)]
    inner = [(sheet.right, wall - r), *bent, (x + wall, foot)]
    canvas.plate([*outer, *inner], [outer, inner], lean=-1)
    crown = [rings[1][0], *rings[1][:1:-1], rings[1][1]] if len(rings) > 1 else []
    left = [(x, 0.0), (x, -r)]
    beads, places = weld.groove_beads(left, bend, count, crown, even=True)
    weld.lay(canvas, beads, sheet.pass_no)
    weld.number(canvas, places, sheet.pass_no)
    if sheet.picture:
        return
    canvas.break_line(flat[0], flat[1])
    canvas.break_line(flat[3], flat[2])
    canvas.break_line((x, foot), (x + wall, foot))
    canvas.break_line((sheet.right, -r), (sheet.right, wall - r))
    _thickness_below(sheet, x - wall, x, foot)
    if stated.face_reinforcement and joint.face_reinforcement:
        value, top = stated.face_reinforcement, min(y for _, y in crown)
        height = joint.face_reinforcement
        sheet.standing("face_reinforcement", value, height, -r, top, x + r / 2 + 4)
    if stated.groove_radius:
        # From the middle of the bend to the groove, the figure at the other end of the line.
        center, on_arc = (x + r, 0.0), (x + r - r * math.sqrt(0.5), -r * math.sqrt(0.5))
        canvas.measured("groove_radius", radius, center, on_arc)
        canvas.tip(on_arc, center)
        text, unit = sheet.words(stated.groove_radius)
        start = max(x + r, x + wall + 24) + 14
        spots = rows(start, max(0.36 * FIGURE, wall - r + FIGURE), 1)
        box = sheet.write(f"R {text}", unit, spots)
        canvas.line("thin", [center, (box[0] - 6, (box[1] + box[3]) / 2)])


def _quarter() -> list[float]:
    return [math.pi / 2 * k / SEGMENTS for k in range(SEGMENTS + 1)]
