"""The two views of a torch, gun or electrode: along the weld, and from the side.

Each is drawn round the point the tool is aimed at, in a frame of its own: the first number runs
along the plate (in the side view along the weld, the hand at its positive end), the second stands
out of the plate. A turn puts the frame onto the page as the position lies, and a left hand is the
mirror of a right one. Figures are written last, outside a circle that all of the tool is inside.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shared.units import Range

from ..sentence import in_words
from ..spec import CUTTING, RODS, Exercise, Setup
from .canvas import ARROW, FIGURE, OVER, UNDER, Canvas, Point, bulge, figure_width, number
from .technique import (
    DRAG,
    HORIZONTAL,
    OVERHEAD,
    PUSH,
    VERTICAL,
    Angles,
    describe_angles,
    heading,
    place_of,
)
from .technique_joint import Plates, plates_of
from .technique_tools import Tool, handle, on_axis, tool_of, touch
from .words import figure

BIG = 52.0  # a figure in a drawing that is half a tablet wide
AXIS = 238.0  # how far the lines of an angle reach
ARC = 222.0
FREE = 246.0  # all but figures and the arrow of travel is inside this circle
LONG = 236.0  # half of the plate in the side view
THICK = 36.0
BEAD = 12.0
AROUND = 6.0  # a face may run wider than is reckoned
WIDTH = 500.0  # of a view on its page, so that both views have one scale
GAPS = (8.0, 16.0, 24.0, 32.0, 44.0, 56.0)  # a tool between plates is drawn farther out
CLEAR = 3.0
ARROW_AT, ARROW_LONG = -THICK - 30, 120.0
STEEPEST_ROD = 60.0
CORNERS = ((-1, -1), (1, -1), (1, 1), (-1, 1))
FILLER = (14.0, 150.0, 4.5)  # rod: from the point it is laid in, how long, half as thick

Turn = Callable[[Point], Point]


@dataclass(frozen=True, slots=True)
class View:
    """A view with what was drawn; `degrees` is the angle it shows."""

    name: str
    canvas: Canvas
    degrees: float
    title: str

    def svg(self, ident: str) -> str:
        """Return the SVG element; `ident` makes its ids unique on a page."""
        return framed(self.canvas, f"{ident}-{self.name}", self.title, WIDTH)


def framed(canvas: Canvas, ident: str, title: str, width: float) -> str:
    """Return a canvas as SVG in a frame that holds all of it, at least `width` wide."""
    left, top, right, bottom = canvas.bounds()
    more = max(AROUND, (width - (right - left)) / 2)
    whole = (right - left + 2 * more, bottom - top)
    return canvas.svg(*whole, title=title, ident=ident, corner=(left - more, top))


def end_view(
    exercise: Exercise,
    setup: Setup,
    held: Angles,
    *,
    system: str = "us",
    paper: bool = False,
    say: Callable[[str], str] = str,
) -> View | None:
    """Return the view along the weld with the work angle, the same for either hand.

    None where no work angle is stated, or where the tool at that angle would stand in the plates.
    """
    if held.work is None:
        return None
    degrees, plates = held.work.working, plates_of(setup.joint)
    tool = _clear_tool(exercise.process, setup, degrees, plates.solids, plates.aim)
    if tool is None:
        return None
    turn = _end_turn(exercise, plates)
    canvas = Canvas(paper=paper, say=say)
    for place, solid in enumerate(plates.solids):
        _plate(canvas, [turn(p) for p in solid], plates.broken[place], 1 if place else -1)
    for weld in plates.welds:
        canvas.weld([turn(p) for p in weld], cls="f-weld")

    def at(point: Point) -> Point:
        return turn((point[0] + plates.aim[0], point[1] + plates.aim[1]))

    if exercise.process in CUTTING:
        _jet(canvas, at, degrees)
    _parts(canvas, tool, degrees, at)
    _angle(canvas, "work", (0.0, degrees), at, held.work, system, from_t=plates.surface)
    title = describe_angles(exercise, held, system).in_words(say)
    return View("end", canvas, degrees, title)


def side_view(
    exercise: Exercise,
    setup: Setup,
    held: Angles,
    *,
    left_handed: bool = False,
    system: str = "us",
    paper: bool = False,
    say: Callable[[str], str] = str,
) -> View | None:
    """Return the view from the side with the travel angle and the way of travel.

    None where neither is stated, or where the tool at that angle would stand in the plate.
    """
    if held.travel is None and not held.direction:
        return None
    degrees = held.travel.working if held.travel else 0.0
    rise = 90.0 - degrees
    solid = [(-LONG, -THICK), (LONG, -THICK), (LONG, 0.0), (-LONG, 0.0)]
    tool = _clear_tool(exercise.process, setup, rise, [solid], (0.0, 0.0)) if rise > 0 else None
    if tool is None or touch(handle(tool, rise), solid, CLEAR):
        return None
    place = place_of(exercise.position)
    at = _side_turn(place.turn, place.way, held.direction, left_handed=left_handed)
    # The hand is at the positive end: pushed, the weld grows away from it.
    ahead = {PUSH: -1, DRAG: 1}.get(held.direction, 0)
    canvas = Canvas(paper=paper, say=say)
    _plate(canvas, [at(p) for p in solid], (1, 3), -1)
    if exercise.process in CUTTING:
        _jet(canvas, at, rise)
    elif setup.joint.kind != "none":
        canvas.weld([at(p) for p in _bead(ahead)])
    grip = [at(p) for p in handle(tool, rise)]
    canvas.line("f-done", grip, close=True)
    _parts(canvas, tool, rise, at)
    if held.travel:
        _angle(canvas, "travel", (90.0, rise), at, held.travel, system)
    if held.rod and ahead and exercise.process in RODS:
        taken = [on_axis(part.outline, rise) for part in tool.parts if part.metal]
        _rod(canvas, held.rod, ahead, at, [*taken, handle(tool, rise)], system)
    if heading(place, held.direction, left_handed=left_handed):
        _arrow(canvas, at, ahead or 1)
    title = describe_angles(exercise, held, system, left_handed=left_handed).in_words(say)
    return View("side", canvas, degrees, title)


def _end_turn(exercise: Exercise, plates: Plates) -> Turn:
    """Fillets lie in a trough when flat; what is vertical is seen from above, welder below."""
    turn = place_of(exercise.position).turn
    if turn in (VERTICAL, OVERHEAD):
        return lambda p: p
    if turn == HORIZONTAL and not plates.corner:
        return lambda p: (p[1], p[0])
    if turn != HORIZONTAL and plates.corner:
        lean = math.radians(plates.corner)
        c, s = math.cos(lean), math.sin(lean)
        return lambda p: (p[0] * c - p[1] * s, -p[0] * s - p[1] * c)
    return lambda p: (p[0], -p[1])


def _side_turn(turn: str, way: str, direction: str, *, left_handed: bool) -> Turn:
    mirror = -1.0 if left_handed else 1.0
    if turn == VERTICAL:
        # Upward the hand is under a pushed tip; it stays there when the tip is dragged down.
        below = (way == "down") == (direction == DRAG) or not direction
        end = 1.0 if below else -1.0
        return lambda p: (mirror * p[1], end * p[0])
    out = 1.0 if turn == OVERHEAD else -1.0
    return lambda p: (mirror * p[0], out * p[1])


def _clear_tool(
    process: str, setup: Setup, degrees: float, solids: Sequence[Sequence[Point]], aim: Point
) -> Tool | None:
    """Return the tool as near as it goes without touching a plate, None where it cannot."""
    for gap in GAPS:
        tool = tool_of(process, setup, gap)
        outlines = [
            [(x + aim[0], y + aim[1]) for x, y in on_axis(part.outline, degrees)]
            for part in tool.parts
            if part.metal
        ]
        if not any(touch(one, solid, CLEAR) for one in outlines for solid in solids):
            return tool
    return None


def _plate(canvas: Canvas, outline: list[Point], broken: tuple[int, ...], lean: int) -> None:
    """Draw a plate; `broken` are the places of its sides that are broken off."""
    count = len(outline)
    sides = [(outline[k], outline[(k + 1) % count]) for k in range(count)]
    canvas.plate(outline, [side for k, side in enumerate(sides) if k not in broken], lean=lean)
    for k in broken:
        canvas.break_line(*sides[k])


def _parts(canvas: Canvas, tool: Tool, degrees: float, at: Turn) -> None:
    for part in tool.parts:
        points = [at(p) for p in on_axis(part.outline, degrees)]
        canvas.line(part.cls, points, close=True)


def _jet(canvas: Canvas, at: Turn, degrees: float) -> None:
    """The cutting oxygen through the plate."""
    canvas.line("thin dash", [at(p) for p in on_axis([(12.0, 0.0), (-THICK - 16, 0.0)], degrees)])


def _bead(ahead: int) -> list[Point]:
    """The weld behind the puddle; only the puddle where the way is not stated."""
    front = bulge((16.0, 0.0), (-16.0, 0.0), -BEAD)
    if not ahead:
        return front
    back = -ahead * LONG
    nose = [(ahead * (4 + 14 * math.cos(a)), BEAD * math.sin(a)) for a in _quarter()]
    return [(back, 0.0), *nose, (back, BEAD)]


def _quarter() -> list[float]:
    return [math.pi / 2 * k / 6 for k in range(7)]


def _angle(
    canvas: Canvas,
    name: str,
    span: tuple[float, float],
    at: Turn,
    value: Range,
    system: str,
    *,
    from_t: float = 0.0,
) -> None:
    """Draw the two lines of an angle with its arc, and write its figure outside."""
    start, end = span
    for role, degrees, cls, near in (
        ("from", start, "thin dash", from_t),
        ("axis", end, "thin", 196.0),
    ):
        (x1, y1), (x2, y2) = (at(p) for p in on_axis([(near, 0.0), (AXIS, 0.0)], degrees))
        canvas.points += [(x1, y1), (x2, y2)]
        canvas.elements.append(
            f'<line {canvas.look(cls)} data-angle="{name}" data-role="{role}" '
            f'x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}"/>'
        )
    steps = [start + (end - start) * k / 24 for k in range(25)]
    arc = [at(on_axis([(ARC, 0.0)], one)[0]) for one in steps]
    canvas.line("thin", arc)
    if abs(end - start) * math.pi / 180 * ARC > 2.5 * ARROW:
        canvas.tip(arc[-1], arc[-3])
        canvas.tip(arc[0], arc[2])
    (ox, oy), (mx, my) = at((0.0, 0.0)), arc[12]
    _outside(canvas, (ox, oy), math.atan2(my - oy, mx - ox), value, system)


def _outside(canvas: Canvas, origin: Point, way: float, value: Range, system: str) -> None:
    """Write a figure beyond the circle, wholly over its tangent."""
    text, unit = figure(value, system)
    wide, high = _size(canvas, text, unit, BIG)
    dx, dy = math.cos(way), math.sin(way)
    far = FREE + abs(dx) * wide / 2 + abs(dy) * high / 2
    _centred(canvas, (origin[0] + far * dx, origin[1] + far * dy), text, unit, BIG)


def _size(canvas: Canvas, text: str, unit: str, size: float) -> tuple[float, float]:
    """Width and height of a figure in the reader's language."""
    return figure_width(in_words(text, canvas.say), unit, size), (OVER + UNDER) * size


def _centred(canvas: Canvas, at: Point, text: str, unit: str, size: float) -> None:
    canvas.text((at[0], at[1] + 0.27 * size), text, unit=unit, size=size, anchor="middle")


def _rod(
    canvas: Canvas,
    value: Range,
    ahead: int,
    at: Turn,
    taken: Sequence[Sequence[Point]],
    system: str,
) -> None:
    """Draw the rod ahead of the puddle, and its angle over it, where the tool leaves room."""
    degrees, (near, length, half) = value.working, FILLER
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def along(t: float, aside: float) -> Point:
        return (ahead * (near + t * c - aside * s), 8 + t * s + aside * c)

    outline = [along(0, half), along(length, half), along(length, -half), along(0, -half)]
    if degrees > STEEPEST_ROD or any(touch(one, outline, CLEAR) for one in taken):
        return
    canvas.line("f-done", [at(p) for p in outline], close=True)
    text, unit = figure(value, system)
    wide, high = _size(canvas, text, unit, FIGURE)
    if abs(at((1.0, 0.0))[1]) > 0.5:  # the weld stands upright on the page, figures do not
        wide, high = high, wide
    # The figure slides along the rod until it is clear of the tool and of the upright.
    over = half + 8 + s * wide / 2 + c * high / 2
    for t in range(0, int(length) + 1, 4):
        x, y = along(t, over)
        box = [(x + i * wide / 2, y + j * high / 2) for i, j in CORNERS]
        free = abs(x) - wide / 2 > 10 and max(math.hypot(*p) for p in box) < ARC - 4
        if free and not any(touch(one, box, CLEAR) for one in taken):
            _centred(canvas, at((x, y)), text, unit, FIGURE)
            return


def _arrow(canvas: Canvas, at: Turn, ahead: int) -> None:
    """Draw the arrow of travel along the plate's far side."""
    y, tip = ARROW_AT, ahead * ARROW_LONG
    canvas.line("o-line", [at((-tip, y)), at((tip - ahead * 26, y))])
    head = [(tip, y), (tip - ahead * 34, y + 13), (tip - ahead * 34, y - 13)]
    canvas.line("tip", [at(p) for p in head], close=True)
