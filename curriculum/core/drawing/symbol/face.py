"""One side of the reference line: distances count away from it, so that one text draws both."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from ..canvas import OVER, UNDER, Canvas, Point, text_width

SIZE = 32.0  # figures of a symbol
HEIGHT = SIZE * (OVER + UNDER)
PAD = 7.0


@dataclass(slots=True)
class Face:
    """The side of `line` that is up or down on the sheet; it holds what is meant by `side`."""

    canvas: Canvas
    side: str  # arrow, other
    line: float  # y of the reference line this side stands on
    up: bool

    def at(self, point: Point) -> Point:
        """A place on the sheet, from x and the distance to the line."""
        x, away = point
        return (x, self.line - away if self.up else self.line + away)

    def stroke(
        self, points: Sequence[Point], x: float = 0.0, *, cls: str = "o-edge", close: bool = False
    ) -> None:
        """Draw a polyline of (x, distance), moved by `x` along the line."""
        self.canvas.line(cls, [self.at((x + px, away)) for px, away in points], close=close)

    def text(self, x: float, near: float, content: str, anchor: str = "start") -> float:
        """Write a figure whose near edge is `near` from the line; return its far edge."""
        away = near + SIZE * (UNDER if self.up else OVER)
        self.canvas.text(self.at((x, away)), content, size=SIZE, anchor=anchor)
        return near + HEIGHT

    @contextmanager
    def part(self, name: str) -> Iterator[None]:
        """Mark what is drawn meanwhile as a part of this side: "sign", "opening", "size" …"""
        self.canvas.elements.append(f'<g fill="#000" data-side="{self.side}" data-part="{name}">')
        yield
        self.canvas.elements.append("</g>")


def wide(text: str) -> float:
    """Return what a figure takes along the line."""
    return text_width(text, SIZE) if text else 0.0
