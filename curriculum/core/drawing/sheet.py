"""The sheet a joint is drawn on: where measures stand round the part, and how."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from ..joints import Ring
from ..sentence import in_words
from ..spec import Setup
from .canvas import (
    ARROW,
    ARROW_HALF,
    FIGURE,
    OUTSIDE_BELOW,
    OVER,
    TAIL,
    UNDER,
    Box,
    Canvas,
    Point,
    figure_box,
    figure_width,
)
from .words import Quantity, figure, thickness_figure

EDGE = 64.0  # from the side of the sheet to where plates break off; dimension lines stand in it
LANE = 22.0  # dimension line of a vertical measure, from the side of the sheet
THICK = 92.0  # thickness of a plate on the sheet, where nothing else is larger
THICKEST = 150.0  # with many passes to tell apart
INDENT = 14.0  # figure from the edge of the plate
BASE = 16.0  # baseline of a figure over a plate or line
ROW = 52.0  # from one line of figures to the next
APART = 16.0  # between two figures beside each other
CLEAR = 3.0  # between a figure and what it must not touch
HIGHEST = 80.0  # what stands out of a plate, on the sheet, at most
SEGMENTS = 16  # chords that stand for an arc: its section comes within 1 % of the joint's
ROWS = 60  # a figure finds its place within so many
FLAT = 0.3  # rise of a leader over its length: below it the way along leads out of the sheet


@dataclass(slots=True)
class Sheet:
    """One drawing in the making; the joint's own (0, 0) lies at `origin`, its face upward."""

    canvas: Canvas
    setup: Setup
    system: str
    width: float
    pass_no: int | None
    picture: bool
    scale: float = 0.0
    origin: Point = (0.0, 0.0)
    taken: list[Box] = field(default_factory=list)
    lines: list[Box] = field(default_factory=list)
    written: list[tuple[Point, str, str]] = field(default_factory=list)

    @property
    def left(self) -> float:
        return EDGE

    @property
    def right(self) -> float:
        return self.width - EDGE

    def at(self, point: Point) -> Point:
        """Return where a point of the joint lies on the sheet."""
        return (
            self.origin[0] + point[0] * self.scale,
            self.origin[1] - point[1] * self.scale,
        )

    def ring(self, points: Iterable[Point]) -> Ring:
        """Return where points of the joint lie on the sheet."""
        return [self.at(point) for point in points]

    def words(self, value: Quantity) -> tuple[str, str]:
        """Return a figure and its unit in the reader's language and units."""
        text, unit = figure(value, self.system)
        return (self.said(text), unit)

    def said(self, text: str) -> str:
        """Return words in the reader's language."""
        return in_words(text, self.canvas.say)

    def wide(self, value: Quantity | None) -> float:
        """Width of a figure with its indent, none where none is stated."""
        if value is None:
            return 0.0
        return figure_width(*self.words(value)) + INDENT + BASE

    def thickness_wide(self) -> float:
        """Width of the thickness with its indent."""
        return INDENT + figure_width(*thickness_figure(self.setup, self.system)) + BASE

    def write(self, text: str, unit: str, spots: Iterable[Point]) -> Box:
        """Write a figure at the first of `spots` (left end of its baseline) where it is free."""
        wide = figure_width(text, unit)
        box = (0.0, 0.0, 0.0, 0.0)
        for x, y in spots:
            x = max(8.0, min(x, self.width - 8 - wide))
            box = figure_box((x, y), wide)
            if self.free(box):
                break
        # Figures side by side are not read as one.
        self.taken.append((box[0] - APART, box[1], box[2] + APART, box[3]))
        self.written.append(((box[0], box[1] + OVER * FIGURE), text, unit))
        return box

    def figure(self, value: Quantity, spots: Iterable[Point]) -> Box:
        """Write a figure in the reader's units; see `write`."""
        return self.write(*self.words(value), spots)

    def free(self, box: Box) -> bool:
        """Say whether nothing but thin lines lies in a box."""
        near = (box[0] - CLEAR, box[1] - CLEAR, box[2] + CLEAR, box[3] + CLEAR)
        if any(_meet(near, other) for other in self.taken):
            return False
        shapes = (*self.canvas.solids, *self.canvas.welds)
        return not any(_touches(near, shape) for shape in shapes)

    def finish(self) -> None:
        """Write the figures over all lines, breaking off those that cross one."""
        for (x, y), text, unit in self.written:
            wide = figure_width(text, unit)
            box = figure_box((x, y), wide)
            crossed = any(_meet(box, line) for line in self.lines)
            self.canvas.text((x, y), text, unit=unit, clear=crossed)

    def fine(self, points: Sequence[Point]) -> None:
        """Draw an extension line; a figure may break it off."""
        self.canvas.line("fine", points)
        self.lines.append(_around(points))

    def measure(self, name: str, value_m: float, start: Point, end: Point) -> None:
        """Draw a dimension line that no figure may cross; nothing where it has no length."""
        length = math.dist(start, end)
        if length < 1e-9:
            return
        self.canvas.dimension(name, value_m, start, end)
        more = ARROW + TAIL if length < OUTSIDE_BELOW else 0.0
        ux, uy = (end[0] - start[0]) / length * more, (end[1] - start[1]) / length * more
        self.taken += _pieces((start[0] - ux, start[1] - uy), (end[0] + ux, end[1] + uy))

    def arc(self, name: str, degrees: float, apex: Point, radius: float, start: float) -> Ring:
        """Measure an angle on an arc that no figure may cross; see `Canvas.arc`."""
        points = self.canvas.arc(name, degrees, apex, radius, start)
        self.taken += [_around([*pair]) for pair in itertools.pairwise(points)]
        return points

    def thickness(self, top: float, bottom: float, *, spots: Iterable[Point] = ()) -> Box:
        """Measure the thickness at the left side, the figure over the plate or at `spots`."""
        for y in (top, bottom):
            self.fine([(self.left - 6, y), (LANE - 8, y)])
        self.measure("thickness", self.setup.thickness.value, (LANE, bottom), (LANE, top))
        text, unit = thickness_figure(self.setup, self.system)
        above = rows(self.left + INDENT, top - BASE, -1)
        return self.write(text, unit, itertools.chain(spots, above))

    def over(
        self,
        name: str,
        value: Quantity,
        value_m: float,
        span: tuple[float, float],
        rise: tuple[float, float],
        y: float,
        *,
        shift: float = 0.0,
    ) -> None:
        """Measure over the part between two x, at `y` or over it, up from `rise` at each.

        The figure stands over the line, `shift` beside its middle.
        """
        text, unit = self.words(value)
        wide = figure_width(text, unit)
        x = (span[0] + span[1] - wide) / 2 + shift
        x = max(8.0, min(x, self.width - 8 - wide))
        for k in range(ROWS):
            row = y - k * ROW / 2
            line = _line_box((span[0], row), (span[1], row))
            box = figure_box((x, row - BASE), wide)
            if self.free(line) and self.free(box):
                break
        for end, foot in zip(span, rise, strict=True):
            self.fine([(end, foot), (end, row - 8)])
        self.measure(name, value_m, (span[0], row), (span[1], row))
        self.write(text, unit, [(x, row - BASE)])

    def below(
        self,
        name: str,
        value: Quantity,
        value_m: float,
        span: tuple[float, float],
        fall: float,
        y: float,
    ) -> None:
        """Measure under the part between two x, at `y` or under it, down from `fall`.

        A figure wider than the span stands beside the extension lines, over a longer line.
        """
        text, unit = self.words(value)
        wide = figure_width(text, unit)
        after, before = span[1] + ARROW + 4, span[0] - ARROW - 4 - wide
        places = [after, before]
        if wide + 16 <= span[1] - span[0]:
            places = [(span[0] + span[1] - wide) / 2]
        fitting = [x for x in places if x >= 8 and x + wide <= self.width - 8]
        fitting = fitting or [max(8.0, min(places[0], self.width - 8 - wide))]
        spots = ((x, y + k * ROW / 2) for k in range(ROWS) for x in fitting)
        for x, row in spots:
            ends = (min(x, span[0]), max(x + wide, span[1]))
            line = _line_box((ends[0], row), (ends[1], row))
            box = figure_box((x, row - BASE), wide)
            if self.free(line) and self.free(box):
                break
        for end in span:
            self.fine([(end, fall), (end, row + 8)])
        self.measure(name, value_m, (span[0], row), (span[1], row))
        if ends[0] < span[0] or ends[1] > span[1]:
            whole = [(min(x, span[1]), row), (max(x + wide, span[0]), row)]
            self.canvas.line("thin", whole)
            self.taken.append(_around(whole))
        self.write(text, unit, [(x, row - BASE)])

    def standing(
        self, name: str, value: Quantity, value_m: float, y: float, far: float, from_x: float
    ) -> None:
        """Measure at the right side from the plate at `y` how far a weld stands out of it.

        `from_x` is where the weld's extension line begins; the figure stands beyond `far`.
        """
        x = self.width - LANE
        self.fine([(self.right + 6, y), (x + 8, y)])
        self.fine([(from_x, far), (x + 8, far)])
        self.measure(name, value_m, (x, max(y, far)), (x, min(y, far)))
        up = far < y
        left, base = self.right + INDENT - self.wide(value), far - BASE if up else far + FIGURE
        box = self.figure(value, rows(left, base, -1 if up else 1))
        if abs(box[3] - UNDER * FIGURE - base) > ROW / 2:
            self.shoulder((x, far), box)

    def shoulder(self, end: Point, box: Box) -> None:
        """Lead from the end of an upright dimension line to its figure, and under it."""
        x, y = end
        away = ARROW + TAIL if box[1] > y else -ARROW - TAIL
        near = box[0] if abs(box[0] - x) < abs(box[2] - x) else box[2]
        far = box[0] + box[2] - near
        self.canvas.line("thin", [(x, y + away), (x, box[3]), (near, box[3]), (far, box[3])])

    def rise(
        self,
        name: str,
        value: Quantity,
        value_m: float,
        foot: Point,
        top: Point,
        *,
        within: bool = True,
        beyond: float = 46.0,
    ) -> None:
        """Measure a height on a line of its own, the figure on a leader beyond its top.

        `within`: the line lies in the weld.
        """
        (x1, y1), (x2, y2) = foot, top
        length = math.dist(foot, top)
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        self.canvas.measured(name, value_m, foot, top, cls=self.on_weld if within else "thin")
        tail = (x2 + ux * beyond, y2 + uy * beyond)
        self.canvas.line("thin", [top, tail])
        self.canvas.tip(top, tail)
        self.taken += _pieces(top, tail)
        x = tail[0] + 8 if ux >= 0 else tail[0] - 8 - self.wide(value) + INDENT + BASE
        # From beside the tail on along the leader, which is drawn as long as that takes; beside a
        # flat one straight up or down.
        flat = abs(uy) < FLAT
        vx, vy = (0.0, math.copysign(1.0, uy)) if flat else (ux, uy)
        spots = [(x + vx * k * 8, tail[1] + vy * k * 8 + 0.27 * FIGURE) for k in range(ROWS)]
        box = self.figure(value, spots)
        moved = box[3] - UNDER * FIGURE - spots[0][1]
        if not moved:
            return
        if flat and box[0] <= tail[0] <= box[2]:
            self.canvas.line("thin", [tail, (tail[0], box[3] if moved < 0 else box[1])])
            return
        # In a narrow corner the way leads out of the sheet: then turn to the figure.
        reach = min(moved / vy, (tail[0] - 10) / -vx) if vx < 0 else moved / vy
        end = (tail[0] + vx * reach, tail[1] + vy * reach)
        near = (box[2] + 8 if ux < 0 else box[0] - 8, (box[1] + box[3]) / 2)
        self.canvas.line("thin", [tail, end, (max(8.0, near[0]), near[1])])

    @property
    def on_weld(self) -> str:
        """The class of a thin line in a weld: in the ground's colour where the weld is solid."""
        return "thin on" if self.pass_no is None else "thin"


def rows(x: float, y: float, way: int) -> Iterator[Point]:
    """Yield spots at `x` from `y` on, each a step further up (-1) or down (1)."""
    return ((x, y + way * k * ROW / 2) for k in range(ROWS))


def broken_sides(sheet: Sheet, top: float, bottom: float) -> None:
    """Break the part off at both sides of the sheet."""
    if not sheet.picture:
        sheet.canvas.break_line((sheet.left, top), (sheet.left, bottom))
        sheet.canvas.break_line((sheet.right, top), (sheet.right, bottom))


def _around(points: Sequence[Point]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs), min(ys), max(xs), max(ys))


def _pieces(start: Point, end: Point) -> list[Box]:
    """Boxes along a line with its arrowheads, several where it slants."""
    (x1, y1), (x2, y2) = start, end
    slants = min(abs(x2 - x1), abs(y2 - y1)) > 1
    count = max(1, round(math.dist(start, end) / 12)) if slants else 1
    ends = [(x1 + (x2 - x1) * k / count, y1 + (y2 - y1) * k / count) for k in range(count + 1)]
    half = ARROW_HALF
    boxes = (_around(pair) for pair in itertools.pairwise(ends))
    return [(a - half, b - half, c + half, d + half) for a, b, c, d in boxes]


def _line_box(start: Point, end: Point) -> Box:
    """The box of a dimension line with its arrowheads, outside where it is short."""
    x1, y1, x2, y2 = _around([start, end])
    length = math.dist(start, end)
    more = ARROW + TAIL if length < OUTSIDE_BELOW else 0.0
    ux, uy = (abs(x2 - x1) / length, abs(y2 - y1) / length) if length else (1.0, 0.0)
    half = ARROW_HALF
    return (
        x1 - more * ux - half * uy,
        y1 - more * uy - half * ux,
        x2 + more * ux + half * uy,
        y2 + more * uy + half * ux,
    )


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _touches(box: Box, shape: Sequence[Point]) -> bool:
    """Say whether a polygon reaches into a box."""
    if not _meet(box, _around(shape)):
        return False
    inside = False  # is the box's first corner inside the polygon
    for k, (x2, y2) in enumerate(shape):
        x1, y1 = shape[k - 1]
        if _crosses(box, x1, y1, x2, y2):
            return True
        if (y1 > box[1]) != (y2 > box[1]):
            inside ^= box[0] < x1 + (x2 - x1) * (box[1] - y1) / (y2 - y1)
    return inside


def _crosses(box: Box, x1: float, y1: float, x2: float, y2: float) -> bool:
    """Say whether a stretch of line enters a box (Liang and Barsky)."""
    enter, leave = 0.0, 1.0
    dx, dy = x2 - x1, y2 - y1
    for step, room in (
        (-dx, x1 - box[0]),
        (dx, box[2] - x1),
        (-dy, y1 - box[1]),
        (dy, box[3] - y1),
    ):
        if step == 0:
            if room < 0:
                return False
        elif step < 0:
            enter = max(enter, room / step)
        else:
            leave = min(leave, room / step)
    return enter <= leave
