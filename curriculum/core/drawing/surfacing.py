"""Beads on a plate, pads of them, and cuts, in section."""

from __future__ import annotations

import math

from ..joints import Bead, Padding
from . import weld
from .canvas import Point
from .sheet import BASE, HIGHEST, INDENT, ROW, SEGMENTS, THICK, Sheet, broken_sides, rows

BEAD_WIDEST = 110.0
DEFAULT_KERF = 0.0024  # 3/32 in, drawn but not measured


def bead(sheet: Sheet, joint: Bead) -> None:
    """Draw beads on a plate, apart or overlapping, as many as there is room for; measure one."""
    canvas, stated = sheet.canvas, sheet.setup.joint
    t_m = sheet.setup.thickness.value
    highest = max(joint.height, 1e-9)
    sheet.scale = min(THICK / t_m, BEAD_WIDEST / joint.width, (HIGHEST - 10) / highest)
    t, width, height = (v * sheet.scale for v in (t_m, joint.width, joint.height))
    plate = [(sheet.left, 0.0), (sheet.right, 0.0), (sheet.right, t), (sheet.left, t)]
    canvas.plate(plate, [plate[:2], plate[2:]], lean=1)
    start = sheet.left + sheet.thickness_wide() + 30
    end = sheet.right - 40
    pitch = (joint.pitch if isinstance(joint, Padding) else 1.5 * joint.width) * sheet.scale
    shown = max(1, min(joint.beads, int((end - start - width) / pitch) + 1))
    sheet.origin = (max(start, (start + end - (shown - 1) * pitch - width) / 2), 0.0)
    x0 = sheet.origin[0]
    rings = Bead(width=joint.width, height=joint.height).polygon(SEGMENTS)
    one = sheet.ring(rings[0]) if rings else []
    for index in range(shown if one else 0):  # each over the one before it
        moved = [(x + index * pitch, y) for x, y in one]
        canvas.weld(moved, cls=weld.look_of(index + 1, sheet.pass_no))
    whole = (sheet.pass_no or shown) - 1  # this bead lies over both its neighbours
    visible = [width if i == whole else min(pitch, width) for i in range(shown)]
    # A bead to come shows beyond the one being laid, an earlier one before the next.
    shift = [max(0.0, width - pitch) if i > whole else 0.0 for i in range(shown)]
    places = [
        ((x0 + i * pitch + aside + room / 2, -0.42 * height), min(0.75 * height, 0.9 * room))
        for i, (room, aside) in enumerate(zip(visible, shift, strict=True))
    ]
    weld.number(canvas, places, sheet.pass_no)
    if sheet.picture:
        return
    broken_sides(sheet, 0.0, t)
    sheet.thickness(0.0, t)
    if stated.bead_width:
        span, rise = (x0, x0 + width), (-6.0, -6.0)
        sheet.over("bead_width", stated.bead_width, joint.width, span, rise, -height - ROW)
    if stated.bead_height and joint.height:
        middle = x0 + (shown - 1) * pitch + width / 2
        sheet.standing("bead_height", stated.bead_height, joint.height, 0.0, -height, middle)


def cut(sheet: Sheet) -> None:
    """Draw a plate with the kerf of a cut, square or bevelled."""
    joint, canvas, middle = sheet.setup.joint, sheet.canvas, sheet.width / 2
    angle = math.radians(joint.bevel_angle.value) if joint.bevel_angle else 0.0
    # A flat bevel runs far across the sheet.
    t = min(THICK, 0.5 * sheet.width / max(math.tan(angle), 1e-9))
    sheet.scale = t / sheet.setup.thickness.value
    kerf = min(max((joint.gap.working if joint.gap else DEFAULT_KERF) * sheet.scale, 8.0), 120.0)
    shift = math.tan(angle) * t / 2
    left = [(sheet.left, 0.0), (middle - kerf / 2 - shift, 0.0)]
    left += [(middle - kerf / 2 + shift, t), (sheet.left, t)]
    right = [(sheet.right, 0.0), (middle + kerf / 2 - shift, 0.0)]
    right += [(middle + kerf / 2 + shift, t), (sheet.right, t)]
    for half in (left, right):
        canvas.plate(half, [half], lean=1)
    over = min(34.0, t / 2)
    slope = math.tan(angle) * (t / 2 + over)
    canvas.line("thin dash", [(middle - slope, -over), (middle + slope, t + over)])
    if sheet.picture:
        return
    broken_sides(sheet, 0.0, t)
    sheet.thickness(0.0, t)
    if angle:
        _bevel_of_cut(sheet, (middle, t / 2), t / 2)


def _bevel_of_cut(sheet: Sheet, center: Point, half: float) -> None:
    given = sheet.setup.joint.bevel_angle
    if given is None:
        return
    angle = math.radians(given.value)
    radius = half / math.cos(angle) + 50
    sheet.fine([(center[0], center[1] - half - 6), (center[0], center[1] - radius - 10)])
    ends = [
        (center[0] - reach * math.sin(angle), center[1] - reach * math.cos(angle))
        for reach in (half / math.cos(angle), radius + 10)
    ]
    sheet.fine(ends)
    sheet.arc("bevel_angle", given.value, center, radius, -given.value)
    sheet.figure(given, rows(center[0] + INDENT, center[1] - radius + BASE, -1))
