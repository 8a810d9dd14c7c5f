"""Cross-sections of joints to scale, with their measures as dimension lines."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from shared.units import Measure

from ..spec import Exercise, Setup
from . import weld
from .canvas import FIGURE, Canvas, PictureCanvas, Point, bulge
from .sheet import BASE, INDENT, LANE, ROW, THICK, THICKEST, Sheet, broken_sides
from .words import amount, describe, passes_of

DEFAULT_BACKING = (0.00635, 0.0381)  # 1/4 by 1-1/2 in, drawn but not measured
STEEPEST = 80.0  # a flatter bevel is a slip of the pen and has no picture
HIGHEST = 80.0  # a reinforcement on the sheet, at most
DEFAULT_KERF = 0.0024  # 3/32 in, drawn but not measured


@dataclass(frozen=True, slots=True)
class JointDrawing:
    """A drawing with what was drawn: `scale` is pixels per metre."""

    canvas: Canvas
    width: float
    height: float
    scale: float
    title: str

    def svg(self, ident: str) -> str:
        """Return the SVG element; `ident` makes its ids unique on a page."""
        return self.canvas.svg(
            self.width,
            self.height,
            title=self.title,
            ident=ident,
            extra=f' data-scale="{self.scale!r}"',
        )


def _angles(setup: Setup) -> tuple[float, float]:
    """Bevel of the left and the right plate from the vertical, degrees."""
    joint = setup.joint
    if joint.kind == "square groove":
        return 0.0, 0.0
    bevel = joint.bevel_angle.value if joint.bevel_angle else None
    included = joint.groove_angle.value if joint.groove_angle else None
    if joint.kind == "single V":
        angle = included / 2 if included is not None else 30.0 if bevel is None else bevel
    else:
        angle = bevel if bevel is not None else 45.0 if included is None else included
    if not 0 <= angle <= STEEPEST:
        raise ValueError(f"a bevel must be 0 to {STEEPEST:g} degrees, got {angle:g}")
    return (angle, angle) if joint.kind == "single V" else (0.0, angle)


def _groove(sheet: Sheet) -> None:
    """Square groove, single V, single bevel, with or without a backing."""
    setup, joint, canvas = sheet.setup, sheet.setup.joint, sheet.canvas
    t, top = setup.thickness.value, sheet.top
    lean = [math.tan(math.radians(a)) for a in _angles(setup)]
    face_m = min(joint.root_face.value if joint.root_face else 0.0, t)
    gap_m = amount(joint.root_opening) if joint.root_opening else 0.0
    open_m = gap_m + sum(lean) * (t - face_m)
    wanted = amount(joint.face_width) if joint.face_width else 0.0
    count = passes_of(setup)
    thick = min(max(THICK, 28.0 * count), THICKEST)
    stated = (joint.face_reinforcement, joint.root_reinforcement)
    highest = max([amount(r) for r in stated if r], default=0.0)
    sheet.scale = min(
        thick / t,
        0.36 * sheet.width / max(open_m, wanted, 1e-9),
        HIGHEST / max(highest, 1e-9),
    )
    gap, face, depth = gap_m * sheet.scale, face_m * sheet.scale, t * sheet.scale
    bottom, crown = top + depth, sheet.px(joint.face_reinforcement)
    slopes = [k * (depth - face) for k in lean]
    # Where no width is stated the weld laps a little onto the plates, more under a high crown.
    open_px = gap + sum(slopes)
    face_px = wanted * sheet.scale or max(open_px + 0.12 * depth, 3.2 * crown)
    lap = max(0.0, (face_px - open_px) / 2)
    middle = _groove_middle(sheet, [gap / 2 + k + lap for k in slopes], lean, crown)
    xl, xr = middle - gap / 2, middle + gap / 2
    tl, tr = xl - slopes[0], xr + slopes[1]
    left = [(xl, bottom), (xl, bottom - face), (tl, top)]
    right = [(xr, bottom), (xr, bottom - face), (tr, top)]
    for side, edge, slope in ((sheet.left, left, 1), (sheet.right, right, -1)):
        outline = [(side, bottom), *edge, (side, top)]
        canvas.plate(outline, [outline], lean=slope)
    broken_sides(sheet, top, bottom)
    under = bottom
    if joint.backing:
        under = _backing(sheet, middle, bottom)
    root = 0.0 if joint.backing else sheet.px(joint.root_reinforcement)
    root_lap = max(5.0, (2.6 * root - gap) / 2) if root else 0.0
    stands = crown if joint.face_reinforcement else min(lap, 6.0)
    beads, places = weld.groove_beads(left, right, count, (lap, stands), (root_lap, root))
    weld.lay(canvas, beads, sheet.pass_no)
    weld.number(canvas, count, places, sheet.pass_no)
    sheet.thickness(top, bottom)
    given = joint.groove_angle or joint.bevel_angle
    if given and sum(lean):
        _groove_angle(sheet, given, left, right, lean)
    elif joint.face_width and wanted * sheet.scale > open_px - 0.01:
        row = top - crown - ROW - BASE
        sheet.across("face_width", joint.face_width, (tl - lap, tr + lap), row, top - crown - 6)
    if joint.face_reinforcement and crown > 0.5:
        sheet.standing(
            "face_reinforcement", joint.face_reinforcement, top, -crown, (tl + tr) / 2 + 4
        )
    _under_groove(sheet, (xl, xr), bottom, under, root, face)


def _groove_middle(sheet: Sheet, half: list[float], lean: list[float], crown: float) -> float:
    """Where the joint stands across the sheet: in the middle, or left of it for a long figure.

    The figures at both sides of it stay clear of the lines that carry the angle.
    """
    joint, rise = sheet.setup.joint, BASE + FIGURE
    least = sheet.left + sheet.thickness_wide() + half[0] + lean[0] * rise
    most = sheet.right - sheet.wide(joint.face_reinforcement) - half[1] - lean[1] * (crown + rise)
    return max(least, min(sheet.width / 2, most))


def _groove_angle(
    sheet: Sheet, given: Measure, left: list[Point], right: list[Point], lean: list[float]
) -> None:
    """The angle between the faces, on an arc over the joint.

    Only an included angle is measured between both faces; a bevel angle from the vertical.
    """
    joint, canvas, top = sheet.setup.joint, sheet.canvas, sheet.top
    one_sided = joint.kind == "single V" and joint.groove_angle is None
    reach = 70.0 + sheet.px(joint.face_reinforcement)
    if one_sided:
        apex, angles = right[1], (0.0, math.atan(lean[1]))
    else:
        (lx, y), (rx, _) = left[1], right[1]
        down = (rx - lx) / sum(lean)
        apex, angles = (lx + lean[0] * down, y + down), (-math.atan(lean[0]), math.atan(lean[1]))
    radius = min(
        (apex[1] - (top - reach)) / math.cos(a) for a in angles if a or one_sided or not lean[0]
    )
    for angle in angles:
        begin = (apex[1] - top + 6) / math.cos(angle)
        canvas.line("fine", [_polar(apex, angle, begin), _polar(apex, angle, radius + 10)])
    arc = [_polar(apex, angles[0] + (angles[1] - angles[0]) * i / 24, radius) for i in range(25)]
    canvas.line("thin", arc)
    canvas.tip(arc[0], arc[3])
    canvas.tip(arc[-1], arc[-4])
    x, y = _polar(apex, sum(angles) / 2, radius)
    sheet.figure(given, (x, min(y, *(p[1] for p in arc)) - BASE), "middle")


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
        for x in (middle - shown, middle + shown):
            sheet.canvas.break_line((x, bottom), (x, under))
    if piece:
        x = sheet.width - LANE
        sheet.canvas.line("fine", [(sheet.right + 6, bottom), (x + 8, bottom)])
        sheet.canvas.line("fine", [(middle + shown + 6, under), (x + 8, under)])
        sheet.canvas.dimension("backing", thick, (x, bottom), (x, under))
        sheet.figure(piece.thickness, (sheet.right - INDENT, under + FIGURE), "end")
    return under


def _under_groove(
    sheet: Sheet, gap: tuple[float, float], bottom: float, under: float, root: float, face: float
) -> None:
    """Root face at the left, root reinforcement at the right, root opening below them."""
    joint, canvas = sheet.setup.joint, sheet.canvas
    row = under + root + FIGURE
    taken = joint.backing
    if joint.root_face and face > 0.5:
        x = sheet.left + 30
        right = joint.root_reinforcement if root > 0.5 else None
        room = sheet.right - x - INDENT - sheet.wide(right)
        low = row if sheet.wide(joint.root_face) <= room else row + ROW
        canvas.line("fine", [(x - 8, bottom - face), (gap[0] - 4, bottom - face)])
        canvas.dimension("root_face", joint.root_face.value, (x, bottom - face), (x, bottom))
        sheet.figure(joint.root_face, (x + INDENT, low))
        row = low
        taken = True
    if joint.root_reinforcement and root > 0.5:
        middle = (gap[0] + gap[1]) / 2
        sheet.standing("root_reinforcement", joint.root_reinforcement, bottom, root, middle + 4)
        taken = True
    if joint.root_opening and gap[1] - gap[0] > 0.5:
        y = row + BASE + (ROW if taken else 4)
        sheet.below("root_opening", joint.root_opening, gap, y, under + root + 6)


def _rise(sheet: Sheet, chord: float) -> float | None:
    """How far the face of a fillet or corner weld stands out of its chord; None: not stated."""
    joint = sheet.setup.joint
    if joint.contour == "flat":
        return None
    stated = sheet.px(joint.convexity) if joint.convexity else 0.12 * chord
    return stated if joint.contour == "convex" else -stated


def _legs(sheet: Sheet) -> tuple[float, float]:
    """Legs along the lower and the standing plate, metres; the thickness where not stated."""
    joint = sheet.setup.joint
    first = amount(joint.leg) if joint.leg else sheet.setup.thickness.value
    return first, amount(joint.leg_2) if joint.leg_2 else first


def _fillet(sheet: Sheet, corner: Point, along: float, up: float, above: float) -> None:
    """Lay a fillet right of `corner` and measure its legs over `above`."""
    joint, canvas = sheet.setup.joint, sheet.canvas
    count = passes_of(sheet.setup)
    rise = _rise(sheet, math.hypot(along, up))
    beads, places = weld.corner_beads(corner, (along, 0.0), (0.0, -up), count, rise)
    weld.lay(canvas, beads, sheet.pass_no)
    weld.number(canvas, count, places, sheet.pass_no)
    x, y = corner
    if joint.leg:
        row = above - 44
        canvas.line("fine", [(x, above - 10), (x, row - 8)])
        canvas.line("fine", [(x + along, y - 0.4 * up - 6), (x + along, row - 8)])
        canvas.dimension("leg", amount(joint.leg), (x, row), (x + along, row))
        sheet.figure(joint.leg, (x + 12, row - BASE))
    if joint.leg_2:
        far = x + along + 50
        canvas.line("fine", [(x + 8, y - up), (far + 8, y - up)])
        canvas.dimension("leg_2", amount(joint.leg_2), (far, y - up), (far, y))
        sheet.figure(joint.leg_2, (far + INDENT, min(y - up / 2 + 0.36 * FIGURE, y - BASE)))


def _fillet_scale(sheet: Sheet) -> None:
    """Larger where there are more layers to tell apart."""
    rows = len(weld.layers(passes_of(sheet.setup)))
    thick = min(max(THICK, 46.0 * rows), THICKEST)
    sheet.scale = min(thick / sheet.setup.thickness.value, 1.3 * thick / max(_legs(sheet)))


def _tee(sheet: Sheet) -> None:
    """Base plate lying, web standing, fillet at the right."""
    joint, canvas = sheet.setup.joint, sheet.canvas
    _fillet_scale(sheet)
    t, top = sheet.setup.thickness.value * sheet.scale, sheet.top
    along, up = (leg * sheet.scale for leg in _legs(sheet))
    base = [(sheet.left, top), (sheet.right, top), (sheet.right, top + t), (sheet.left, top + t)]
    canvas.plate(base, [base[:2], base[2:]], lean=-1)
    broken_sides(sheet, top, top + t)
    web_x = max(sheet.left + 0.26 * (sheet.right - sheet.left), sheet.thickness(top, top + t) + 20)
    foot, head = top - sheet.px(joint.gap), top - max(up + 130, 190.0)
    web = [(web_x, head), (web_x, foot), (web_x + t, foot), (web_x + t, head)]
    canvas.plate(web, [web], lean=1)
    canvas.break_line((web_x, head), (web_x + t, head))
    _fillet(sheet, (web_x + t, top), along, up, top - up)


def _lap(sheet: Sheet) -> None:
    """Two plates one on the other, fillet at the edge of the upper one."""
    joint, canvas = sheet.setup.joint, sheet.canvas
    _fillet_scale(sheet)
    t, top = sheet.setup.thickness.value * sheet.scale, sheet.top
    along, up = (leg * sheet.scale for leg in _legs(sheet))
    room = sheet.width - along - 50 - sheet.wide(joint.leg_2)  # for the figure at the right
    edge = max(min(0.48 * sheet.width, room), sheet.left + sheet.thickness_wide() + 20)
    seam, bottom = top + t, top + 2 * t
    upper = [(sheet.left, top), (edge, top), (edge, seam), (sheet.left, seam)]
    canvas.plate(upper, [upper], lean=1)
    canvas.break_line((sheet.left, top), (sheet.left, seam))
    lap = sheet.px(joint.overlap)
    ends = 0 < lap <= edge - sheet.left - 30
    start = edge - lap if ends else sheet.left
    lower = [(sheet.right, seam), (start, seam), (start, bottom), (sheet.right, bottom)]
    canvas.plate(lower, [lower if ends else lower[:2], lower[2:]], lean=-1)
    canvas.break_line((sheet.right, seam), (sheet.right, bottom))
    if not ends:
        canvas.break_line((start, seam), (start, bottom))
    sheet.thickness(top, seam)
    if joint.leg_2 is None:  # the edge ends the weld
        up = min(up, t)
    _fillet(sheet, (edge, seam), along, up, min(top, seam - up))
    if ends and joint.overlap:
        y = bottom + FIGURE + 22
        sheet.below("overlap", joint.overlap, (start, edge), y, bottom + 6)


def _corner(sheet: Sheet) -> None:
    """Two plates meeting at their inner corners, open outside."""
    joint, canvas = sheet.setup.joint, sheet.canvas
    t_m = sheet.setup.thickness.value
    sheet.scale = THICK / t_m
    t, top = THICK, sheet.top
    turn = math.radians(joint.corner_angle.value if joint.corner_angle else 90.0)
    ahead, out = (-math.cos(turn), math.sin(turn)), (math.sin(turn), math.cos(turn))
    corner = (0.56 * sheet.width, top + t)
    gap = sheet.px(joint.root_opening)
    first = [(sheet.left, corner[1]), (corner[0] - gap, corner[1])]
    first += [(corner[0] - gap, top), (sheet.left, top)]
    canvas.plate(first, [first], lean=1)
    canvas.break_line((sheet.left, top), (sheet.left, corner[1]))
    long = 150.0

    def at(along: float, aside: float) -> Point:
        return (
            corner[0] + ahead[0] * along + out[0] * aside,
            corner[1] + ahead[1] * along + out[1] * aside,
        )

    second = [at(long, 0), at(0, 0), at(0, t), at(long, t)]
    canvas.plate(second, [second], lean=-1)
    canvas.break_line(at(long, 0), at(long, t))
    count = passes_of(sheet.setup)
    rise = _rise(sheet, math.hypot(out[0] * t, t + out[1] * t))
    legs = ((out[0] * t, out[1] * t), (-gap, -t))
    beads, places = weld.corner_beads(corner, *legs, count, rise)
    if gap:
        beads[0].insert(1, (corner[0] - gap, corner[1]))
    weld.lay(canvas, beads, sheet.pass_no)
    weld.number(canvas, count, places, sheet.pass_no)
    sheet.thickness(top, corner[1])
    if joint.corner_angle:
        radius = 78.0
        inner = (corner[0] - gap, corner[1])
        # From the first plate's underside, pointing left, round to the second plate's face.
        arc = [
            (
                inner[0] - radius * math.cos(turn * i / 24),
                inner[1] + radius * math.sin(turn * i / 24),
            )
            for i in range(25)
        ]
        canvas.line("thin", arc)
        canvas.tip(arc[0], arc[3])
        canvas.tip(arc[-1], arc[-4])
        x, y = arc[9]
        sheet.figure(joint.corner_angle, (x - 12, y + FIGURE), "end")


def _bead(sheet: Sheet) -> None:
    """Beads on a plate, apart or overlapping; as many as there is room for."""
    joint, canvas, setup = sheet.setup.joint, sheet.canvas, sheet.setup
    t_m, top = setup.thickness.value, sheet.top
    width_m = amount(joint.bead_width) if joint.bead_width else max(0.8 * t_m, 0.004)
    height_m = amount(joint.bead_height) if joint.bead_height else width_m / 4
    sheet.scale = min(THICK / t_m, 110 / width_m, 70 / height_m)
    t, width, height = (v * sheet.scale for v in (t_m, width_m, height_m))
    plate = [(sheet.left, top), (sheet.right, top), (sheet.right, top + t), (sheet.left, top + t)]
    canvas.plate(plate, [plate[:2], plate[2:]], lean=1)
    broken_sides(sheet, top, top + t)
    start = sheet.thickness(top, top + t) + 30
    end = sheet.right - 40
    pitch = width * (1 - joint.bead_overlap) if joint.kind == "padding" else 1.5 * width
    shown = max(1, min(joint.beads, int((end - start - width) / pitch) + 1))
    x0 = max(start, (start + end - (shown - 1) * pitch - width) / 2)
    beads = [
        [*bulge((x0 + i * pitch, top), (x0 + i * pitch + width, top), height)] for i in range(shown)
    ]
    for index, bead in enumerate(beads, start=1):  # each over the one before it
        look = "f-weld" if sheet.pass_no in (None, index) else "f-next"
        canvas.weld(bead, cls="f-done" if index < (sheet.pass_no or 0) else look)
    visible = [pitch if i + 1 < shown and pitch < width else width for i in range(shown)]
    places = [
        ((bead[0][0] + room / 2, top - 0.42 * height), min(0.75 * height, 0.9 * room))
        for bead, room in zip(beads, visible, strict=True)
    ]
    weld.number(canvas, shown, places, sheet.pass_no)
    if joint.bead_width:
        row = top - height - ROW - BASE
        sheet.across("bead_width", joint.bead_width, (x0, x0 + width), row, top - height - 6)
    if joint.bead_height:
        middle = x0 + (shown - 1) * pitch + width / 2
        sheet.standing("bead_height", joint.bead_height, top, -height, middle)


def _cut(sheet: Sheet) -> None:
    """A plate with the kerf of a cut, square or bevelled."""
    joint, canvas = sheet.setup.joint, sheet.canvas
    t_m, top, middle = sheet.setup.thickness.value, sheet.top, sheet.width / 2
    sheet.scale = THICK / t_m
    t = THICK
    kerf = min(max(sheet.px(joint.gap, DEFAULT_KERF), 8.0), 120.0)
    lean = math.tan(math.radians(joint.bevel_angle.value)) if joint.bevel_angle else 0.0
    shift = lean * t / 2
    left = [(sheet.left, top), (middle - kerf / 2 - shift, top)]
    left += [(middle - kerf / 2 + shift, top + t), (sheet.left, top + t)]
    right = [(sheet.right, top), (middle + kerf / 2 - shift, top)]
    right += [(middle + kerf / 2 + shift, top + t), (sheet.right, top + t)]
    for half in (left, right):
        canvas.plate(half, [half], lean=1)
    broken_sides(sheet, top, top + t)
    over = 34.0
    slope = shift * (t / 2 + over) / (t / 2)
    canvas.line("thin dash", [(middle - slope, top - over), (middle + slope, top + t + over)])
    sheet.thickness(top, top + t)
    if joint.bevel_angle and lean:
        _bevel_of_cut(sheet, (middle, top + t / 2), joint.bevel_angle, t / 2)


def _bevel_of_cut(sheet: Sheet, center: Point, given: Measure, half: float) -> None:
    canvas, angle = sheet.canvas, math.radians(given.value)
    radius = half + 50
    canvas.line("fine", [(center[0], center[1] - half - 6), (center[0], center[1] - radius - 10)])
    canvas.line(
        "fine",
        [_polar(center, -angle, half / math.cos(angle)), _polar(center, -angle, radius + 10)],
    )
    arc = [_polar(center, -angle * i / 24, radius) for i in range(25)]
    canvas.line("thin", arc)
    canvas.tip(arc[0], arc[3])
    canvas.tip(arc[-1], arc[-4])
    sheet.figure(given, (center[0] + 10, arc[0][1] + 6))


_KINDS: dict[str, Callable[[Sheet], None]] = {
    "square groove": _groove,
    "single V": _groove,
    "single bevel": _groove,
    "tee fillet": _tee,
    "lap fillet": _lap,
    "outside corner": _corner,
    "bead": _bead,
    "padding": _bead,
    "none": _cut,
}
DRAWN = frozenset(_KINDS)
"""Joint kinds that have a drawing."""


def draw_joint(
    exercise: Exercise,
    setup: Setup,
    *,
    system: str = "us",
    paper: bool = False,
    pass_no: int | None = None,
    width: float = 736,
    picture: bool = False,
    say: Callable[[str], str] = str,
) -> JointDrawing:
    """Draw the section of a setup's joint `width` pixels wide, as high as it needs.

    Ranges are drawn at their working value. `pass_no` (1 for the first) shows the joint while
    that pass is laid; a `picture` leaves out the measures; `say` puts the templates of its words
    into the reader's language. Raises ValueError for a kind not in `DRAWN` or a pass there is
    none of.
    """
    if setup.joint.kind not in _KINDS:
        raise ValueError(f"joint must be one of {sorted(DRAWN)}, got {setup.joint.kind!r}")
    if pass_no is not None and not 1 <= pass_no <= passes_of(setup):
        raise ValueError(f"pass_no must be 1 to {passes_of(setup)}, got {pass_no}")

    def draw(top: float) -> Sheet:
        canvas = (PictureCanvas if picture else Canvas)(paper=paper, say=say)
        sheet = Sheet(canvas, setup, system, width, top, pass_no)
        if not picture:
            sheet.width = max(width, sheet.width_for_figures())
        _KINDS[setup.joint.kind](sheet)
        return sheet

    # The height above the plate is known only once all is drawn: draw, then move into the frame.
    _, above, _, _ = draw(0.0).canvas.bounds()
    sheet = draw(-above)
    _, _, right, below = sheet.canvas.bounds()
    # Only figures of uncommon length make a sheet wider than asked for.
    title = describe(exercise, setup, system).in_words(say)
    return JointDrawing(sheet.canvas, max(sheet.width, right), below, sheet.scale, title)


def joint_svg(
    exercise: Exercise,
    setup: Setup,
    *,
    system: str = "us",
    paper: bool = False,
    pass_no: int | None = None,
    width: float = 736,
    ident: str = "joint",
) -> str:
    """Return the section as an SVG element; see `draw_joint`. `ident` is unique on the page."""
    drawing = draw_joint(exercise, setup, system=system, paper=paper, pass_no=pass_no, width=width)
    return drawing.svg(ident)
