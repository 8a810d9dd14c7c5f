"""Outside corners in section: open, half-open and closed."""

from __future__ import annotations

import math
from collections.abc import Callable

from ..joints import OutsideCorner, Ring
from . import weld
from .canvas import FIGURE, OVER, Point
from .sheet import HIGHEST, INDENT, SEGMENTS, THICK, THICKEST, Sheet, rows
from .words import passes_of

LONG = 170.0  # px of the sheet that turns down, at least

Turn = Callable[[Point], Point]


def draw(sheet: Sheet, joint: OutsideCorner) -> None:
    """Draw one sheet lying, the other turning down from its edge; measure the corner."""
    canvas = sheet.canvas
    width = max(joint.face_width or 0.0, joint.chord, 1e-9)
    highest = max(joint.face_reinforcement, joint.root_reinforcement, 1e-9)
    thick = min(max(THICK, 34.0 * passes_of(sheet.setup)), THICKEST)
    sheet.scale = min(
        thick / joint.thickness,
        0.3 * sheet.width / width,
        HIGHEST / highest,
        110 / (joint.root_opening or 1e-9),
    )
    sine, cosine = _lean(joint)

    def turn(point: Point) -> Point:
        """The joint lies symmetrical; here its left sheet lies level."""
        x, y = point
        return sheet.at((x * cosine + y * sine, y * cosine - x * sine))

    beads, places, hanging = _corner_parts(sheet, joint, turn)
    xs = [x for ring in (hanging, *beads) for x, _ in ring]
    wide = max(xs)
    least = sheet.left + sheet.thickness_wide() + 30
    least = max(least, 20 - min(xs), 30 + _radius(sheet, joint))
    sheet.origin = (max(least, min(0.56 * sheet.width, sheet.width - wide - 90)), 0.0)
    beads, places, hanging = _corner_parts(sheet, joint, turn)
    gap, t = joint.root_opening / 2, joint.thickness
    (x, bottom), (_, top) = turn((-gap, 0.0)), turn((-gap - t * sine, t * cosine))
    lying = [(sheet.left, bottom), (x, bottom), (x, top), (sheet.left, top)]
    canvas.plate(lying, [lying], lean=1)
    canvas.plate(hanging, [hanging], lean=-1)
    weld.lay(canvas, beads, sheet.pass_no)
    weld.number(canvas, places, sheet.pass_no)
    if sheet.picture:
        return
    canvas.break_line((sheet.left, top), (sheet.left, bottom))
    canvas.break_line(hanging[-1], hanging[0])
    sheet.thickness(top, bottom)
    _measure_corner(sheet, joint, turn, hanging)


def _lean(joint: OutsideCorner) -> tuple[float, float]:
    """Sine and cosine of how far each sheet turns down from the line across the corner."""
    half = math.radians(180 - joint.corner_angle) / 2
    return math.sin(half), math.cos(half)


def _on(joint: OutsideCorner, aside: float, along: float) -> Point:
    """A point of the right sheet: out of its face at the root opening, and along it."""
    sine, cosine = _lean(joint)
    return (joint.root_opening / 2 + aside * sine + along * cosine, aside * cosine - along * sine)


def _chord(joint: OutsideCorner) -> tuple[Point, Point]:
    """The ends of the line over the groove, left and right."""
    (sine, cosine), gap = _lean(joint), joint.root_opening / 2
    return (
        (-gap - joint.thickness * sine, joint.thickness * cosine),
        _on(joint, joint.thickness - joint.overlap, 0.0),
    )


def _middle(a: Point, b: Point) -> Point:
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)


def _long(sheet: Sheet, joint: OutsideCorner) -> float:
    """How much is drawn of the sheet that turns down, px."""
    return max(LONG, _radius(sheet, joint) + 50)


def _corner_parts(
    sheet: Sheet, joint: OutsideCorner, turn: Turn
) -> tuple[list[Ring], list[tuple[Point, float]], Ring]:
    """The passes, the places of their numbers, and the sheet that turns down, on the sheet."""
    (sine, cosine), gap = _lean(joint), joint.root_opening / 2
    bare, covered = joint.thickness - joint.overlap, joint.overlap
    long = _long(sheet, joint) / sheet.scale
    # The covered edge is cut back where it would reach into the sheet that covers it.
    reach = covered * (cosine**2 - sine**2) + 2 * gap * sine
    back = max(0.0, -reach / (2 * sine * cosine))
    corners = ((bare, long), (bare, 0.0), (0.0, 0.0), (-covered, back), (-covered, long))
    hanging = [_on(joint, *corner) for corner in corners]
    rings = joint.polygon(SEGMENTS)
    under = rings.pop() if joint.root_reinforcement else []
    crown = rings.pop() if joint.face_reinforcement else []
    left, right = _chord(joint)
    if crown:
        crown = [right, *crown[1:], crown[0], left]
    if under:
        under = [*under[1:], under[0]]
    beads, places = weld.fan_beads(
        [turn((gap, 0.0)), turn((-gap, 0.0))],
        [turn(right), turn(left)],
        passes_of(sheet.setup),
        crown=[turn(point) for point in crown],
        under=[turn(point) for point in under],
    )
    return beads, places, [turn(point) for point in hanging]


def _measure_corner(sheet: Sheet, joint: OutsideCorner, turn: Turn, hanging: Ring) -> None:
    stated = sheet.setup.joint
    left, right = _chord(joint)
    if stated.face_reinforcement and joint.face_reinforcement:
        height, (x, y) = joint.face_reinforcement, _middle(left, right)
        slope = math.atan2(right[1] - left[1], right[0] - left[0])
        top = (x - height * math.sin(slope), y + height * math.cos(slope))
        value = stated.face_reinforcement
        sheet.rise("face_reinforcement", value, height, turn((x, y)), turn(top))
    # The arc first: what is measured inside it keeps clear of it.
    spots = _angle(sheet, joint, turn) if stated.corner_angle else []
    if stated.root_reinforcement and joint.root_reinforcement:
        ends = turn((0.0, 0.0)), turn((0.0, -joint.root_reinforcement))
        sheet.rise(
            "root_reinforcement",
            stated.root_reinforcement,
            joint.root_reinforcement,
            *ends,
            beyond=110.0 if stated.root_opening and joint.root_opening else 46.0,
        )
    if stated.root_opening and joint.root_opening:
        _root_opening(sheet, joint, turn, joint.root_reinforcement * sheet.scale + 44)
    if stated.corner_angle:
        sheet.figure(stated.corner_angle, spots)
    if stated.overlap and joint.overlap:
        _overlap(sheet, joint, turn, hanging)


def _radius(sheet: Sheet, joint: OutsideCorner) -> float:
    """Radius of the arc that carries the angle, wider where more is measured inside it."""
    inside = sheet.setup.joint.root_opening and joint.root_opening
    return joint.root_reinforcement * sheet.scale + (200.0 if inside else 84.0)


def _root_opening(sheet: Sheet, joint: OutsideCorner, turn: Turn, inward: float) -> None:
    """The root opening, measured inside the corner where there is room for it."""
    stated, gap = sheet.setup.joint.root_opening, joint.root_opening / 2
    ends = [turn((x, -inward / sheet.scale)) for x in (gap, -gap)]
    for end, x in zip(ends, (gap, -gap), strict=True):
        sheet.fine([turn((x, -4 / sheet.scale)), end])
    sheet.measure("root_opening", joint.root_opening, ends[0], ends[1])
    if stated:
        x, y = turn((-gap, -(inward + 12) / sheet.scale))
        wide, y = sheet.wide(stated), y + 0.5 * FIGURE
        left = x - wide + INDENT
        inside = [(left + 15 * aside, y + 6 * k) for k in range(16) for aside in range(8)]
        box = sheet.figure(stated, [*inside, *_down_left(x, y, wide)])
        if box[1] - max(ends[0][1], ends[1][1]) > FIGURE:
            sheet.canvas.line("thin", [_middle(*ends), ((box[0] + box[2]) / 2, box[1] - 2)])


def _overlap(sheet: Sheet, joint: OutsideCorner, turn: Turn, hanging: Ring) -> None:
    """How much of the edge is covered, past the broken end of the sheet that turns down."""
    stated, long = sheet.setup.joint.overlap, (_long(sheet, joint) + 36) / sheet.scale
    ends = [turn(_on(joint, aside, long)) for aside in (0.0, -joint.overlap)]
    sheet.fine([turn(_on(joint, 0.0, 0.0)), ends[0]])
    sheet.fine([hanging[-1], ends[1]])
    sheet.measure("overlap", joint.overlap, ends[0], ends[1])
    if stated:
        low = max(y for _, y in ends) + 16
        x = _middle(*ends)[0] - sheet.wide(stated) / 2
        sheet.figure(stated, rows(x, low + OVER * FIGURE, 1))


def _angle(sheet: Sheet, joint: OutsideCorner, turn: Turn) -> list[Point]:
    """Draw the arc between the inner faces; return the spots for its figure."""
    (sine, cosine), covered = _lean(joint), joint.overlap
    # Along the inner face of the covered sheet to where it meets that of the other.
    back = -(covered * (cosine**2 - sine**2) / sine + joint.root_opening) / (2 * cosine)
    apex = turn(_on(joint, -covered, back))
    begin, radius = 270 - joint.corner_angle, _radius(sheet, joint)
    sheet.arc("corner_angle", joint.corner_angle, apex, radius, begin)
    bearing = math.radians(begin + joint.corner_angle / 2)
    x = apex[0] + (radius + 8) * math.sin(bearing)
    y = apex[1] - (radius + 8) * math.cos(bearing)
    wide = sheet.wide(sheet.setup.joint.corner_angle)
    return _down_left(x, y + 0.6 * FIGURE, wide)


def _down_left(x: float, y: float, wide: float) -> list[Point]:
    """Spots for a figure that ends at `x`, each a step further down and left."""
    return [(x - wide + INDENT - 3 * k, y + 6.0 * k) for k in range(120)]
