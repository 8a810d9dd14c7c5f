"""Fillets in section: a tee, and a lap of two plates."""

from __future__ import annotations

from ..joints import Fillet, LapFillet, Ring
from . import weld
from .canvas import FIGURE
from .sheet import BASE, INDENT, LANE, SEGMENTS, THICK, THICKEST, Sheet, broken_sides, rows
from .words import passes_of


def tee(sheet: Sheet, joint: Fillet) -> None:
    """Draw a base plate lying and a web standing on it, the fillet at the right; measure it."""
    canvas = sheet.canvas
    _scale(sheet, joint)
    t, gap = joint.thickness * sheet.scale, joint.gap * sheet.scale
    stated = sheet.setup.joint
    room = sheet.thickness_wide()
    if stated.gap and joint.gap:
        room = max(room, 40 + sheet.wide(stated.gap))
    foot_x = max(0.26 * (sheet.right - sheet.left), room) + sheet.left + t
    along = joint.leg * sheet.scale
    right = sheet.width - along - 60 - (sheet.wide(stated.leg_2) if stated.leg_2 else 0.0)
    sheet.origin = (max(min(foot_x, right), sheet.left + t + 60), 0.0)
    x = sheet.origin[0]
    base = [(sheet.left, 0.0), (sheet.right, 0.0), (sheet.right, t), (sheet.left, t)]
    canvas.plate(base, [base[:2], base[2:]], lean=-1)
    head = -max(gap + 150, joint.upright * sheet.scale + 110, 190.0)
    web = [(x - t, head), (x - t, -gap), (x, -gap), (x, head)]
    canvas.plate(web, [web], lean=1)
    _lay(sheet, joint)
    if sheet.picture:
        return
    broken_sides(sheet, 0.0, t)
    canvas.break_line((x - t, head), (x, head))
    spots = rows(sheet.left + INDENT, t + FIGURE, 1) if stated.gap and joint.gap else ()
    sheet.thickness(0.0, t, spots=spots)
    if stated.gap and joint.gap:
        lane = x - t - 30
        sheet.fine([(x - t - 4, -gap), (lane - 8, -gap)])
        sheet.measure("gap", joint.gap, (lane, 0.0), (lane, -gap))
        start = lane + INDENT - sheet.wide(stated.gap)
        sheet.figure(stated.gap, rows(start - 8, -gap / 2 + 0.3 * FIGURE - BASE - 20, -1))
    _legs(sheet, joint, -joint.upright * sheet.scale)


def lap(sheet: Sheet, joint: LapFillet) -> None:
    """Draw two plates one on the other, the fillet at the edge of the upper one; measure it."""
    canvas, stated = sheet.canvas, sheet.setup.joint
    _scale(sheet, joint)
    t, gap = joint.thickness * sheet.scale, joint.gap * sheet.scale
    along = joint.leg * sheet.scale
    room = sheet.width - along - 60 - (sheet.wide(stated.leg_2) if stated.leg_2 else 0.0)
    edge = max(min(0.48 * sheet.width, room), sheet.left + sheet.thickness_wide() + 20)
    sheet.origin = (edge, 0.0)
    top, seam, bottom = -gap - t, -gap, t
    upper = [(sheet.left, top), (edge, top), (edge, seam), (sheet.left, seam)]
    canvas.plate(upper, [upper], lean=1)
    covered = (joint.overlap or 0.0) * sheet.scale
    ends = 0 < covered <= edge - sheet.left - 30
    start = edge - covered if ends else sheet.left
    lower = [(sheet.right, 0.0), (start, 0.0), (start, bottom), (sheet.right, bottom)]
    canvas.plate(lower, [lower] if ends else [lower[:2], lower[2:]], lean=-1)
    _lay(sheet, joint)
    if sheet.picture:
        return
    canvas.break_line((sheet.left, top), (sheet.left, seam))
    canvas.break_line((sheet.right, 0.0), (sheet.right, bottom))
    if not ends:
        canvas.break_line((start, 0.0), (start, bottom))
    sheet.thickness(top, seam)
    if stated.gap and joint.gap:
        # In the lane of the thickness, the figure under the upper plate or under both.
        for y in (seam, 0.0) if not ends else (0.0,):
            sheet.fine([(start - 6 if y else sheet.left - 6, y), (LANE - 8, y)])
        if ends:
            sheet.fine([(start - 4, 0.0), (sheet.left, 0.0)])
        sheet.measure("gap", joint.gap, (LANE, 0.0), (LANE, seam))
        box = sheet.figure(stated.gap, rows(sheet.left + INDENT, FIGURE + 6, 1))
        sheet.shoulder((LANE, 0.0), box)
    _legs(sheet, joint, min(top, -joint.upright * sheet.scale))
    if ends and stated.overlap:
        y = bottom + FIGURE + 22
        sheet.below("overlap", stated.overlap, joint.overlap or 0.0, (start, edge), bottom + 6, y)


def _scale(sheet: Sheet, joint: Fillet) -> None:
    """Larger where there are more layers to tell apart."""
    deep = len(weld.layers(passes_of(sheet.setup)))
    thick = min(max(THICK, 46.0 * deep), THICKEST)
    leg = max(joint.leg, joint.upright)
    sheet.scale = min(thick / joint.thickness, 1.3 * thick / leg, 90 / max(joint.gap, 1e-9))


def _lay(sheet: Sheet, joint: Fillet) -> None:
    face = _face(sheet, joint)
    count = passes_of(sheet.setup)
    beads, places = weld.fan_beads([sheet.origin, sheet.origin], face, count)
    weld.lay(sheet.canvas, beads, sheet.pass_no)
    weld.number(sheet.canvas, places, sheet.pass_no)


def _face(sheet: Sheet, joint: Fillet) -> Ring:
    """The face from the toe on the base to the upper toe."""
    (ring,) = joint.polygon(SEGMENTS)
    return sheet.ring(ring[1:])


def _legs(sheet: Sheet, joint: Fillet, above: float) -> None:
    """Measure the legs and how far the face stands out of the line from toe to toe."""
    stated, x = sheet.setup.joint, sheet.origin[0]
    along, up = joint.leg * sheet.scale, joint.upright * sheet.scale
    if stated.leg:
        wide = sheet.wide(stated.leg) - INDENT - BASE
        # The figure stands beside the web, not across it.
        shift = max(0.0, x + 12 + wide / 2 - (x + along / 2))
        rise = (above - 10, -6.0)
        sheet.over("leg", stated.leg, joint.leg, (x, x + along), rise, above - 44, shift=shift)
    far = x + along + 50
    if stated.leg_2:
        sheet.fine([(x + 8, -up), (far + 8, -up)])
        sheet.measure("leg_2", joint.upright, (far, 0.0), (far, -up))
        y = min(-up / 2 + 0.36 * FIGURE, -BASE)
        sheet.figure(stated.leg_2, rows(far + INDENT, y, -1))
    if stated.convexity and joint.bulge:
        _convexity(sheet, joint)


def _convexity(sheet: Sheet, joint: Fillet) -> None:
    """Measure the face's rise or hollow square to the line from toe to toe, at its middle."""
    stated = sheet.setup.joint.convexity
    toe, head = sheet.at((joint.leg, 0.0)), sheet.at((0.0, joint.upright))
    middle = ((toe[0] + head[0]) / 2, (toe[1] + head[1]) / 2)
    bulge = joint.bulge * sheet.scale
    # Away from the root, square to the line.
    top = (
        middle[0] + bulge * joint.upright / joint.face,
        middle[1] - bulge * joint.leg / joint.face,
    )
    sheet.canvas.line(sheet.on_weld if bulge > 0 else "fine", [toe, head])
    if stated:
        ends = (middle, top) if bulge > 0 else (top, middle)
        sheet.rise("convexity", stated, abs(joint.bulge), *ends, within=bulge > 0)
