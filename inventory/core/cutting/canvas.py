"""What a sheet is drawn with: boxes to scale, hatching, rings with numbers, text along an edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from curriculum.core.drawing.canvas import INK, Box, Canvas, Point, Text, number, path, text_width

RING = 30.0  # high; numbers are read at arm's length
RING_TEXT, NOTE, LETTER, FIGURE = 19.0, 19.0, 22.0, 22.0
GAP = 4.0  # between what stands side by side
KEPT, SCRAP = 16.0, 6.0  # px between the lines of a hatching

LOOKS = {
    **INK,
    "c-blank": 'fill="#fff" stroke="none"',
    "c-tone": 'fill="#e4e4e4" stroke="none"',
    "c-cut": 'fill="#000" stroke="none"',
    "c-ring": 'fill="#fff" stroke="#000" stroke-width="2"',
}


class SheetCanvas(Canvas):
    """A canvas in pixels; every box keeps six decimals, so that it can be measured."""

    def __init__(self, *, paper: bool, say: object = str) -> None:
        super().__init__(paper=paper, say=say)  # type: ignore[arg-type]
        self.rings: list[tuple[str, Box]] = []

    def look(self, cls: str) -> str:
        return LOOKS[cls] if self.paper or not cls else f'class="{cls}" {LOOKS[cls]}'

    def box(self, cls: str, box: Box, data: str = "") -> None:
        """Draw a rectangle; `data` is attributes."""
        x1, y1, x2, y2 = box
        self.points += [(x1, y1), (x2, y2)]
        self.elements.append(
            f'<rect {self.look(cls)}{data} x="{_exact(x1)}" y="{_exact(y1)}" '
            f'width="{_exact(x2 - x1)}" height="{_exact(y2 - y1)}"/>'
        )

    def hatch(self, box: Box, step: float, lean: int) -> None:
        """Hatch a box with lines `step` apart at 45°, rising to the right with `lean` 1."""
        x1, y1, x2, y2 = box
        wide, high, across = x2 - x1, y2 - y1, step * math.sqrt(2)
        lines = []
        along = across / 2
        while along < wide + high:
            a, b = max(0.0, along - high), min(along, wide)  # where it enters and leaves
            start, end = (x1 + a, y1 + along - a), (x1 + b, y1 + along - b)
            if lean < 0:
                start, end = (x1 + x2 - start[0], start[1]), (x1 + x2 - end[0], end[1])
            lines.append(path([start, end]))
            along += across
        self.elements.append(f'<path {self.look("hatch-line")} d="{"".join(lines)}"/>')

    def ring(self, text: str, middle: Point) -> None:
        """Draw numbers of cuts in a ring, a longer one for a run of them."""
        box = ring_box(text, middle)
        self.rings.append((text, box))
        x1, y1, x2, y2 = box
        self.points += [(x1, y1), (x2, y2)]
        self.elements.append(
            f'<rect {self.look("c-ring")} data-cuts="{text}" x="{number(x1)}" y="{number(y1)}" '
            f'width="{number(x2 - x1)}" height="{number(y2 - y1)}" rx="{RING / 2:g}"/>'
        )
        self.text(
            (middle[0], middle[1] + 0.35 * RING_TEXT),
            text,
            size=RING_TEXT,
            anchor="middle",
            cls="strong",
        )

    def upright_text(
        self, at: Point, content: str, *, size: float, anchor: str = "middle", cls: str = ""
    ) -> None:
        """Write a line that is read from below upward; `at` is on its baseline."""
        (x, y), width = at, text_width(content, size)
        low = y + {"start": 0.0, "middle": width / 2, "end": width}[anchor]
        box = (x - 0.76 * size, low - width, x + 0.22 * size, low)
        self.texts.append(Text(content, box, in_weld=False))
        self.points += [(box[0], box[1]), (box[2], box[3])]
        self.elements.append(
            f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size)}" '
            f'text-anchor="{anchor}" {self.look(cls)} '
            f'transform="rotate(-90 {number(x)} {number(y)})">{escape(content)}</text>'
        )

    def leader(self, points: Sequence[Point]) -> None:
        self.line("fine", points)


def ring_width(text: str) -> float:
    return max(RING, text_width(text, RING_TEXT) + 14)


def ring_box(text: str, middle: Point) -> Box:
    (x, y), wide = middle, ring_width(text)
    return (x - wide / 2, y - RING / 2, x + wide / 2, y + RING / 2)


def apart(one: Box, other: Box) -> bool:
    """Say whether two boxes have room between them."""
    return (
        one[2] + GAP <= other[0]
        or other[2] + GAP <= one[0]
        or one[3] + GAP <= other[1]
        or other[3] + GAP <= one[1]
    )


def inside(one: Box, other: Box) -> bool:
    """Say whether `one` lies within `other`."""
    return other[0] <= one[0] and other[1] <= one[1] and one[2] <= other[2] and one[3] <= other[3]


def spread(wanted: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Return middles near the rising ones wanted, so that nothing of these sizes overlaps.

    What would overlap is moved together, as little as it can be, and keeps its order.
    """
    groups: list[tuple[float, float, list[float]]] = []  # middle, size, offsets of its members
    for middle, size in zip(wanted, sizes, strict=True):
        group = (middle, size + GAP, [0.0])
        while groups and groups[-1][0] + groups[-1][1] / 2 > group[0] - group[1] / 2:
            last = groups.pop()
            total = last[1] + group[1]
            first, then = len(last[2]), len(group[2])
            # where each group wants its own middle, weighed by its members
            low = last[0] - last[1] / 2
            other = group[0] - group[1] / 2 - last[1]
            start = (low * first + other * then) / (first + then)
            offsets = [one - total / 2 + last[1] / 2 for one in last[2]]
            offsets += [one + total / 2 - group[1] / 2 for one in group[2]]
            group = (start + total / 2, total, offsets)
        groups.append(group)
    return [middle + offset for middle, _, offsets in groups for offset in offsets]


def _exact(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")
