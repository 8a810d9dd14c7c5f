"""A sheet to draw on: lines, hatching, figures and dimension lines, in pixels, y downward."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape

from ..sentence import in_words

Point = tuple[float, float]
Box = tuple[float, float, float, float]

FIGURE = 40.0  # read at one metre
OVER, UNDER = 0.76, 0.22  # of the size: what a figure takes over and under its baseline
ARROW, ARROW_HALF = 16.0, 5.0
OUTSIDE_BELOW = 40.0  # a shorter dimension line has its arrows outside, pointing in
TAIL = 24.0
HATCH_STEP = 15.0

INK = {
    "o-line": 'fill="none" stroke="#000" stroke-width="4" stroke-linejoin="miter"',
    "o-edge": 'fill="none" stroke="#000" stroke-width="2"',
    "thin": 'fill="none" stroke="#000" stroke-width="1.5"',
    "thin on": 'fill="none" stroke="#fff" stroke-width="2"',
    "thin dash": 'fill="none" stroke="#000" stroke-width="1.5" stroke-dasharray="9 5"',
    "fine": 'fill="none" stroke="#333" stroke-width="1"',
    "tip": 'fill="#000" stroke="none"',
    "hatch-line": 'fill="none" stroke="#777" stroke-width="1.25"',
    "f-weld": 'fill="#000" stroke="#fff" stroke-width="2"',
    "f-done": 'fill="#f0f0f0" stroke="#000" stroke-width="2"',
    "f-next": 'fill="none" stroke="#333" stroke-width="1.25" stroke-dasharray="5 4"',
    "f-ground": 'fill="#fff" stroke="none"',
    "on-weld": 'fill="#fff" font-weight="700"',
    "strong": 'fill="#000" font-weight="700"',
    "soft": 'fill="#333"',
    "": 'fill="#000"',
}
"""The ink-on-white look of each class of the style sheet."""


@dataclass(frozen=True, slots=True)
class Text:
    """A figure on the sheet with the box it takes."""

    content: str
    box: Box
    in_weld: bool  # a pass's number


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension line: what it measures, its value in metres and its two ends."""

    name: str
    value_m: float
    start: Point
    end: Point


def text_width(text: str, size: float) -> float:
    """Estimate the width of `text`, a little generously, for a humanist sans serif face."""
    narrow, wide = "/-.,'il|° ", "mwMW–"
    units = sum(0.36 if c in narrow else 0.86 if c in wide else 0.6 for c in text)
    return units * size


def figure_width(text: str, unit: str = "", size: float = FIGURE) -> float:
    """Estimate the width of a figure with its unit."""
    return text_width(f"{text} {unit}" if unit else text, size)


def figure_box(at: Point, width: float, size: float = FIGURE) -> Box:
    """Return the box of a figure; `at` is the left end of its baseline."""
    x, y = at
    return (x, y - OVER * size, x + width, y + UNDER * size)


def number(value: float) -> str:
    """Write a coordinate with two decimals at most."""
    return f"{round(value, 2) + 0.0:g}" if abs(value) < 1e4 else f"{value:.2f}"


def path(points: Sequence[Point], *, close: bool = False) -> str:
    """Write a polyline as path data."""
    body = "L".join([f"{x:.2f} {y:.2f}" for x, y in points])
    return f"M{body}{'z' if close else ''}"


def bulge(start: Point, end: Point, height: float, steps: int = 10) -> list[Point]:
    """Points of a parabola from `start` to `end`, `height` to the left of the way (y downward)."""
    (x1, y1), (x2, y2) = start, end
    length = math.hypot(x2 - x1, y2 - y1) or 1.0
    nx, ny = (y2 - y1) / length, -(x2 - x1) / length
    out = []
    for i in range(steps + 1):
        t = i / steps
        h = 4 * height * t * (1 - t)
        out.append((x1 + (x2 - x1) * t + nx * h, y1 + (y2 - y1) * t + ny * h))
    return out


def hatching(points: Sequence[Point], lean: int) -> list[tuple[Point, Point]]:
    """Return the lines that hatch a polygon at 45 degrees, leaning by `lean` (1 or -1)."""
    # At 45 degrees a line is where x + lean * y is constant; HATCH_STEP is measured across it.
    across = [x + lean * y for x, y in points]
    step = HATCH_STEP * math.sqrt(2)
    lines: list[tuple[Point, Point]] = []
    level = math.ceil(min(across) / step) * step
    while level < max(across):
        cuts = []
        for k, (x2, y2) in enumerate(points):
            (x1, y1), d1, d2 = points[k - 1], across[k - 1] - level, across[k] - level
            if (d1 < 0) != (d2 < 0):
                t = d1 / (d1 - d2)
                cuts.append((x1 + (x2 - x1) * t, y1 + (y2 - y1) * t))
        cuts.sort()
        lines += zip(cuts[::2], cuts[1::2], strict=True)
        level += step
    return lines


class Canvas:
    """Collects the elements of one drawing with all that tests and layout ask about them.

    `paper` leaves the classes out, so that nothing but the ink-on-white look applies. `say` puts
    the templates of words into the reader's language.
    """

    def __init__(self, *, paper: bool = False, say: Callable[[str], str] = str) -> None:
        self.paper, self.say = paper, say
        self.elements: list[str] = []
        self.points: list[Point] = []
        self.texts: list[Text] = []
        self.solids: list[list[Point]] = []  # plates and backing
        self.welds: list[list[Point]] = []
        self.dimensions: list[Dimension] = []

    def look(self, cls: str) -> str:
        """Return the attributes of a class, with the class itself on screen."""
        return INK[cls] if self.paper or not cls else f'class="{cls}" {INK[cls]}'

    def line(self, cls: str, points: Sequence[Point], *, close: bool = False) -> None:
        """Draw a polyline."""
        self.points += points
        self.elements.append(f'<path {self.look(cls)} d="{path(points, close=close)}"/>')

    def text(
        self,
        at: Point,
        content: str,
        *,
        unit: str = "",
        size: float = FIGURE,
        anchor: str = "start",
        cls: str = "",
        clear: bool = False,
    ) -> None:
        """Write a figure, its unit softer; `at` is on the baseline.

        `clear` breaks off the lines that were drawn before where they cross the figure.
        """
        content = in_words(content, self.say)
        whole = f"{content} {unit}" if unit else content
        width, (x, y) = text_width(whole, size), at
        left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
        box = figure_box((left, y), width, size)
        self.texts.append(Text(whole, box, size < FIGURE))
        if clear:
            self.elements.append(
                f'<rect {self.look("f-ground")} x="{number(box[0])}" y="{number(box[1])}" '
                f'width="{number(width)}" height="{number(box[3] - box[1])}"/>'
            )
        self.points += [(box[0], box[1]), (box[2], box[3])]
        tail = f" <tspan {self.look('soft')}>{escape(unit)}</tspan>" if unit else ""
        self.elements.append(
            f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size)}" '
            f'text-anchor="{anchor}" {self.look(cls)}>{escape(content)}{tail}</text>'
        )

    def tip(self, at: Point, toward: Point) -> None:
        """Draw a slim filled arrowhead at `at`, coming from the side away from `toward`."""
        (x, y), (tx, ty) = at, toward
        length = math.hypot(tx - x, ty - y) or 1.0
        ux, uy = (tx - x) / length, (ty - y) / length
        back = (x + ux * ARROW, y + uy * ARROW)
        points = [
            at,
            (back[0] - uy * ARROW_HALF, back[1] + ux * ARROW_HALF),
            (back[0] + uy * ARROW_HALF, back[1] - ux * ARROW_HALF),
        ]
        self.points += points
        body = " ".join([f"{px:.2f},{py:.2f}" for px, py in points])
        self.elements.append(f'<polygon {self.look("tip")} points="{body}"/>')

    def plate(self, points: list[Point], edges: Sequence[Sequence[Point]], *, lean: int) -> None:
        """Draw a cut part: hatched at 45 degrees, leaning by `lean` (1 or -1), `edges` heavy.

        The sides of the polygon that are no edge are broken off.
        """
        self.solids.append(points)
        self.points += points
        lines = hatching(points, lean)
        chords = "".join([f"M{a:.1f} {b:.1f}L{c:.1f} {d:.1f}" for (a, b), (c, d) in lines])
        self.elements.append(f'<path {self.look("hatch-line")} d="{chords}"/>')
        for edge in edges:
            self.line("o-line", edge)

    def break_line(self, start: Point, end: Point) -> None:
        """Draw the thin zigzag where a part is broken off, a little longer than the part."""
        (x1, y1), (x2, y2) = start, end
        length = math.hypot(x2 - x1, y2 - y1)
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        size = min(9.0, length / 6)

        def at(along: float, aside: float) -> Point:
            return (x1 + ux * along - uy * aside, y1 + uy * along + ux * aside)

        middle = length / 2
        self.line(
            "thin",
            [
                at(-10, 0),
                at(middle - 1.33 * size, 0),
                at(middle - 0.67 * size, -size),
                at(middle + 0.67 * size, size),
                at(middle + 1.33 * size, 0),
                at(length + 10, 0),
            ],
        )

    def weld(self, points: list[Point], *, cls: str = "f-weld") -> None:
        """Draw a pass."""
        self.welds.append(points)
        self.line(cls, points, close=True)

    def dimension(
        self, name: str, value_m: float, start: Point, end: Point, *, cls: str = "thin"
    ) -> None:
        """Draw a dimension line between two points, arrows outside where it is short.

        The line carries its name and value, and its ends so exactly that both can be compared.
        """
        self.measured(name, value_m, start, end, cls=cls)
        (x1, y1), (x2, y2) = start, end
        length = math.hypot(x2 - x1, y2 - y1)
        if length >= OUTSIDE_BELOW:
            self.tip(start, end)
            self.tip(end, start)
            return
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        before = (x1 - ux * (ARROW + TAIL), y1 - uy * (ARROW + TAIL))
        after = (x2 + ux * (ARROW + TAIL), y2 + uy * (ARROW + TAIL))
        self.line("thin", [before, start])
        self.line("thin", [end, after])
        self.tip(start, before)
        self.tip(end, after)

    def measured(
        self, name: str, value_m: float, start: Point, end: Point, *, cls: str = "thin"
    ) -> None:
        """Draw the line of a dimension alone."""
        self.dimensions.append(Dimension(name, value_m, start, end))
        self.points += [start, end]
        (x1, y1), (x2, y2) = start, end
        self.elements.append(
            f'<line {self.look(cls)} data-dimension="{name}" data-si="{value_m!r}" '
            f'x1="{x1:.9f}" y1="{y1:.9f}" x2="{x2:.9f}" y2="{y2:.9f}"/>'
        )

    def arc(
        self, name: str, degrees: float, apex: Point, radius: float, start: float
    ) -> list[Point]:
        """Measure an angle on an arc round `apex`, clockwise from `start` degrees past upright.

        Returns the points of the arc.
        """
        turns = [math.radians(start + degrees * i / 24) for i in range(25)]
        points = [(apex[0] + radius * math.sin(a), apex[1] - radius * math.cos(a)) for a in turns]
        self.points += points
        self.elements.append(
            f'<path {self.look("thin")} data-angle="{name}" data-deg="{degrees!r}" '
            f'data-apex="{apex[0]:.9f} {apex[1]:.9f}" d="{path(points)}"/>'
        )
        self.tip(points[0], points[3])
        self.tip(points[-1], points[-4])
        return points

    def bounds(self) -> Box:
        """Return the box that holds every point and text, with room for line widths."""
        xs, ys = [x for x, _ in self.points], [y for _, y in self.points]
        return (min(xs) - 4, min(ys) - 4, max(xs) + 4, max(ys) + 4)

    def svg(
        self,
        width: float,
        height: float,
        *,
        title: str,
        ident: str,
        extra: str = "",
        corner: Point = (0.0, 0.0),
    ) -> str:
        """Return the drawing as an SVG element with its description for screen readers.

        `corner` is the upper left point of what is shown.
        """
        cls = "" if self.paper else 'class="drawing" '
        size = f'viewBox="{" ".join(map(number, (*corner, width, height)))}"'
        name = escape(f"{ident}-title")
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {cls}{size} font-family="Atkinson Next" '
            f'role="img" aria-labelledby="{name}"{extra}>'
            f'<title id="{name}">{escape(title)}</title>{"".join(self.elements)}</svg>'
        )
