"""Grooves in section: square, V, bevel, J and U, prepared from one side or both."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..joints import Groove, Ring
from ..joints.grooves import Flank
from . import weld
from .canvas import FIGURE, Point
from .sheet import (
    BASE,
    HIGHEST,
    INDENT,
    ROW,
    SEGMENTS,
    THICK,
    THICKEST,
    Sheet,
    broken_sides,
    rows,
)
from .words import Quantity, passes_of

DEFAULT_BACKING = (0.00635, 0.0381)  # 1/4 by 1-1/2 in, drawn but not measured
LEAST_ANGLE = 1.0  # degrees; a smaller one is no line on a sheet


@dataclass(frozen=True, slots=True)
class _Edges:
    """The edges of both plates from the back up, in pixels, and where the root faces lie."""

    left: Ring
    right: Ring
    root: tuple[float, float]  # y of the root face, lower and upper end


def draw(sheet: Sheet, joint: Groove) -> None:
    """Draw a groove through the whole thickness with its passes, and measure it."""
    canvas, setup = sheet.canvas, sheet.setup
    count = passes_of(setup)
    thick = min(max(THICK, 28.0 * count), THICKEST)
    face_m, root_m = joint.face_reinforcement, joint.root_reinforcement
    widest = max(joint.face_chord if face_m else joint.face_opening, joint.root_side_opening, 1e-9)
    sheet.scale = min(
        thick / joint.thickness, 0.36 * sheet.width / widest, HIGHEST / max(face_m, root_m, 1e-9)
    )
    sheet.origin = (0.0, joint.thickness * sheet.scale)
    sheet.origin = (_middle(sheet, joint), sheet.origin[1])
    edges = _edges(sheet, joint)
    bottom, top = edges.left[0][1], edges.left[-1][1]
    for side, edge, lean in ((sheet.left, edges.left, 1), (sheet.right, edges.right, -1)):
        outline = [(side, bottom), *edge, (side, top)]
        canvas.plate(outline, [outline], lean=lean)
    under = _backing(sheet, sheet.origin[0], bottom) if setup.joint.backing else bottom
    face, root = _crowns(sheet, joint)
    beads, places = _passes(edges, count, face, root, both=joint.flanks()[2])
    weld.lay(canvas, beads, sheet.pass_no)
    weld.number(canvas, places, sheet.pass_no)
    if sheet.picture:
        return
    broken_sides(sheet, top, bottom)
    crown = min((y for _, y in face), default=top)
    sag = max((y for _, y in root), default=under)
    sheet.thickness(top, bottom)
    _over(sheet, joint, edges, top, crown)
    if face_m and setup.joint.face_reinforcement:
        middle = (face[0][0] + face[-1][0]) / 2
        value = setup.joint.face_reinforcement
        sheet.standing("face_reinforcement", value, face_m, top, crown, middle + 4)
    _under(sheet, joint, edges, max(under, sag), sag)


def _edges(sheet: Sheet, joint: Groove) -> _Edges:
    left, right, both = joint.flanks()
    half = joint.root_opening / 2

    def edge(flank: Flank | None, sign: int) -> Ring:
        if flank is None or not flank.depth:
            return [(sign * half, 0.0), (sign * half, joint.thickness)]
        shape = flank.profile(SEGMENTS)
        base = joint.thickness - flank.depth
        upper = [(sign * (half + back), base + up) for back, up in shape]
        if both:
            return [(sign * (half + back), flank.depth - up) for back, up in shape[::-1]] + upper
        return [(sign * half, 0.0), *upper]

    one = left or right
    depth = one.depth if one else joint.thickness
    ends = (depth if both else 0.0, joint.thickness - depth)
    low, high = (sheet.at((0.0, y))[1] for y in ends)
    return _Edges(sheet.ring(edge(left, -1)), sheet.ring(edge(right, 1)), (low, high))


def _crowns(sheet: Sheet, joint: Groove) -> tuple[Ring, Ring]:
    """What stands out at the face and at the root, each from left to right."""
    rings = joint.polygon(SEGMENTS)
    root = sheet.ring(rings.pop()) if joint.root_reinforcement else []
    face = sheet.ring(rings.pop()) if joint.face_reinforcement else []
    # A ring is its chord's two ends and then the way back along the arc.
    return [face[0], *face[:0:-1]] if face else [], [*root[1:], root[0]] if root else []


def _passes(edges: _Edges, count: int, face: Ring, root: Ring, *, both: bool) -> weld.Beads:
    """Lay passes from the root up; of a double groove the first half on the face's side."""
    if not both or count == 1:
        return weld.groove_beads(edges.left, edges.right, count, face, root)
    middle = sum(edges.root) / 2
    upper = math.ceil(count / 2)

    def split(edge: Ring) -> tuple[Ring, Ring]:
        above = [p for p in edge if p[1] < middle]
        below = [p for p in edge if p[1] >= middle]
        x = below[-1][0]
        return [(x, middle), *above], [*below, (x, middle)]

    (left_up, left_down), (right_up, right_down) = split(edges.left), split(edges.right)
    beads, places = weld.groove_beads(left_up, right_up, upper, face)
    # The back is laid with the plate turned: the same from the root down.
    turned = [_turn(ring, middle) for ring in (left_down[::-1], right_down[::-1], root)]
    back, marks = weld.groove_beads(turned[0], turned[1], count - upper, turned[2])
    beads += [_turn(bead, middle) for bead in back]
    places += [((x, 2 * middle - y), room) for (x, y), room in marks]
    return beads, places


def _turn(ring: Ring, y: float) -> Ring:
    """Mirror a ring across a level line."""
    return [(px, 2 * y - py) for px, py in ring]


def _leans(joint: Groove) -> tuple[float, float]:
    """Bevel of the left and the right edge from upright, degrees."""
    left, right, _both = joint.flanks()
    return (
        left.angle if left and left.depth else 0.0,
        right.angle if right and right.depth else 0.0,
    )


def _middle(sheet: Sheet, joint: Groove) -> float:
    """Where the joint stands across the sheet: in the middle, or left of it for a long figure.

    The figures at both sides of it stay clear of the lines that carry the angle.
    """
    if sheet.picture:
        return sheet.width / 2
    rise = BASE + FIGURE
    chord = joint.face_chord if joint.face_reinforcement else joint.face_opening
    halves = [joint.root_opening / 2 + (one.reach if one else 0.0) for one in joint.flanks()[:2]]
    beyond = max(0.0, (chord - joint.face_opening) / 2)
    lean = [math.tan(math.radians(angle)) * rise for angle in _leans(joint)]
    left, right = ((half + beyond) * sheet.scale for half in halves)
    least = sheet.left + sheet.thickness_wide() + left + lean[0]
    crown = sheet.wide(sheet.setup.joint.face_reinforcement) if joint.face_reinforcement else 0.0
    most = sheet.right + INDENT - crown - right - lean[1]
    return max(least, min(sheet.width / 2, most))


def _over(sheet: Sheet, joint: Groove, edges: _Edges, top: float, crown: float) -> None:
    """The angle over the joint, or the width of the face where there is none."""
    stated = sheet.setup.joint
    left, right = _leans(joint)
    given = stated.groove_angle or stated.bevel_angle
    if given and left + right >= LEAST_ANGLE:
        _angle(sheet, joint, given, edges, (top, crown))
    elif stated.face_width and joint.face_width:
        middle = (edges.left[-1][0] + edges.right[-1][0]) / 2
        half = joint.face_width * sheet.scale / 2
        span = (middle - half, middle + half)
        row = crown - ROW
        sheet.over("face_width", stated.face_width, joint.face_width, span, (top - 6,) * 2, row)


def _angle(
    sheet: Sheet,
    joint: Groove,
    given: Quantity,
    edges: _Edges,
    over: tuple[float, float],
) -> None:
    """The angle on an arc over the joint: between both faces, or one from upright.

    Only an included angle is measured between both faces; a bevel angle from upright.
    """
    top, crown = over
    left, right = (math.radians(angle) for angle in _leans(joint))
    if left and sheet.setup.joint.groove_angle is None:
        # The bevel of one plate alone, from where its wall meets the level of the root.
        left, depth = 0.0, edges.root[1] - top
        apex = (edges.right[-1][0] - math.tan(right) * depth, top + depth)
    else:
        slope = math.tan(left) + math.tan(right)
        down = (edges.right[-1][0] - edges.left[-1][0]) / slope
        apex = (edges.left[-1][0] + math.tan(left) * down, top + down)
    deep = apex[1] - top
    radius = max(deep / math.cos(max(left, right)) + 40, apex[1] - crown + 26)
    for angle in (-left, right):
        begin = (deep + 6) / math.cos(angle)
        sheet.fine([_polar(apex, angle, begin), _polar(apex, angle, radius + 10)])
    whole = math.degrees(left + right)
    arc = sheet.arc("angle", whole, apex, radius, -math.degrees(left))
    x = _polar(apex, (right - left) / 2, radius)[0] - (sheet.wide(given) - INDENT - BASE) / 2
    sheet.figure(given, rows(x, min(y for _, y in arc) - BASE + 2, -1))


def _polar(center: Point, angle: float, radius: float) -> Point:
    """A point at `angle` (radians, clockwise from straight up) and `radius`."""
    return (center[0] + radius * math.sin(angle), center[1] - radius * math.cos(angle))


def _backing(sheet: Sheet, middle: float, bottom: float) -> float:
    """Draw the backing bar under the groove; return its lower side."""
    piece = next((p for p in sheet.setup.pieces if p.form == "backing"), None)
    thick, width = DEFAULT_BACKING
    if piece:
        thick, width = piece.thickness.value, piece.width.value
    half, under = width * sheet.scale / 2, bottom + thick * sheet.scale
    longest = min(middle - sheet.left, sheet.right - middle) - 20
    shown = min(half, longest)
    box = [(middle - shown, bottom), (middle + shown, bottom)]
    box += [(middle + shown, under), (middle - shown, under)]
    if half <= longest:
        sheet.canvas.plate(box, [[*box, box[0]]], lean=-1)
    else:
        sheet.canvas.plate(box, [box[:2], box[2:]], lean=-1)
        if not sheet.picture:
            for x in (middle - shown, middle + shown):
                sheet.canvas.break_line((x, bottom), (x, under))
    if piece and not sheet.picture:
        x = middle + shown + 6
        sheet.standing("backing", piece.thickness, thick, bottom, under, x)
    return under


def _under(sheet: Sheet, joint: Groove, edges: _Edges, under: float, sag: float) -> None:
    """Root face at the left, root reinforcement at the right, the rest below them."""
    stated = sheet.setup.joint
    low, high = edges.root
    bottom = edges.left[0][1]
    row = under + FIGURE
    root_face = getattr(joint, "root_face", 0.0)
    if stated.root_face and root_face:
        x = sheet.left + 30
        for y in (low, high) if low < bottom - 1e-9 else (high,):
            sheet.fine([(x - 8, y), (edges.left[0][0] - 4, y)])
        sheet.measure("root_face", root_face, (x, low), (x, high))
        sheet.figure(stated.root_face, rows(x + INDENT, row, 1))
    if stated.root_reinforcement and joint.root_reinforcement:
        middle = (edges.left[0][0] + edges.right[0][0]) / 2
        value, height = stated.root_reinforcement, joint.root_reinforcement
        sheet.standing("root_reinforcement", value, height, bottom, sag, middle + 4)
    if stated.groove_radius and edges.right[1] != edges.right[-1]:
        _radius(sheet, joint, stated.groove_radius, under)
    if stated.root_opening and joint.root_opening:
        span = (sheet.at((-joint.root_opening / 2, 0))[0], sheet.at((joint.root_opening / 2, 0))[0])
        opening = joint.root_opening
        y = under + BASE + FIGURE + 4
        fall = under + 6
        if joint.flanks()[2]:  # the opening is narrowest at the root faces, up in the joint
            fall = low + 4
        sheet.below("root_opening", stated.root_opening, opening, span, fall, y)


def _radius(sheet: Sheet, joint: Groove, stated: Quantity, under: float) -> None:
    """The radius of the round foot, on a line from its middle through the plate."""
    flank = joint.flanks()[1]
    if flank is None or not flank.radius:
        return
    base = joint.thickness - flank.depth
    center = sheet.at((joint.root_opening / 2, base + flank.radius))
    # Near the wall, beside the numbers of the passes: the foot begins straight below the middle.
    turn = 0.8 * math.radians(90 - flank.angle)
    way = (math.sin(turn), math.cos(turn))
    reach = flank.radius * sheet.scale
    on_arc = (center[0] + way[0] * reach, center[1] + way[1] * reach)
    # Among numbers of passes the part within the weld keeps the weld's colour.
    look = sheet.on_weld if passes_of(sheet.setup) == 1 else "thin"
    sheet.canvas.measured("groove_radius", flank.radius, center, on_arc, cls=look)
    out = (on_arc[0] + way[0] * 24, on_arc[1] + way[1] * 24)
    end = (out[0] + 14, under + 22)
    sheet.canvas.line("thin", [on_arc, out, end])
    sheet.canvas.tip(on_arc, out)
    text, unit = sheet.words(stated)
    sheet.write(f"R {text}", unit, rows(end[0] + 10, under + FIGURE, 1))
