"""A welding symbol read back from its SVG, for the tests that say where its parts stand."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

from curriculum.core.drawing.symbol import symbol_svg
from curriculum.core.spec import Marks, Setup

from .setups import exercise, length, setup

SVG = "{http://www.w3.org/2000/svg}"
ROW = {"length": length("2 in"), "pitch": length("5 in")}
ROOT = ("backing", "melt_through")
STRIP = ("1/4 in", "1-1/2 in")
NUMBERS: dict[str, dict[str, str]] = {
    "tee fillet": {"leg": "1/4 in"},
    "lap fillet": {"leg": "1/4 in"},
    "square groove": {"root_opening": "1/8 in"},
    "outside corner": {"root_opening": "1/8 in"},
    "flare bevel": {"root_opening": "1/8 in"},
    **{k: {"groove_angle": "60 deg", "root_opening": "1/8 in"}
       for k in ("single V", "double V", "U groove")},
    **{k: {"bevel_angle": "45 deg", "root_opening": "1/8 in"}
       for k in ("single bevel", "double bevel", "J groove")},
    "edge": {},
    "bead": {"bead_height": "1/8 in"},
    "padding": {"bead_height": "1/8 in"},
}  # fmt: skip
"""The least of each kind that its symbol has something to say of."""

Points = list[tuple[float, float]]


def points_of(element: ElementTree.Element) -> Points:
    text = element.get("d") or element.get("points") or ""
    numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", text)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


@dataclass
class Drawn:
    """A symbol read back from its SVG."""

    root: ElementTree.Element

    def part(self, side: str, name: str) -> list[Points]:
        """The strokes of one part of one side."""
        found = self.root.findall(f"{SVG}g[@data-side='{side}'][@data-part='{name}']")
        return [points_of(e) for g in found for e in g if e.tag != f"{SVG}text"]

    def text(self, side: str, name: str) -> tuple[str, float, float]:
        """The one figure of a part, with its place."""
        (found,) = self.root.iterfind(f"{SVG}g[@data-side='{side}'][@data-part='{name}']/{SVG}text")
        return "".join(found.itertext()), float(found.get("x", "")), float(found.get("y", ""))

    @property
    def line(self) -> float:
        """The height of the reference line: the long level one that is not dashed."""
        level = [
            p
            for e in self.root.iterfind(f"{SVG}path")
            if "stroke-dasharray" not in e.attrib and len(p := points_of(e)) == 2
            if p[0][1] == p[1][1]
        ]
        return max(level, key=lambda p: abs(p[1][0] - p[0][0]))[0][1]

    @property
    def dashed(self) -> float | None:
        found = [e for e in self.root.iterfind(f"{SVG}path") if "stroke-dasharray" in e.attrib]
        return points_of(found[0])[0][1] if found else None

    @property
    def tail(self) -> list[str]:
        found = self.root.iterfind(f"{SVG}g[@data-part='tail']/{SVG}text")
        return ["".join(e.itertext()) for e in found]

    @property
    def arrow(self) -> Points:
        """The arrow's line: it begins at the elbow and ends lowest at the left."""
        lines = [points_of(e) for e in self.root.iterfind(f"{SVG}path")]
        return next(p for p in lines if p and p[-1][0] == 8.0)


def drawn(one: Setup, standard: str = "AWS", process: str = "SMAW", system: str = "us") -> Drawn:
    svg = symbol_svg(exercise(process, one), one, standard=standard, system=system)
    return Drawn(ElementTree.fromstring(svg))


def of_kind(kind: str, **marks: Any) -> Setup:
    return setup(kind, symbol=Marks(**marks), **NUMBERS[kind])


def ys(strokes: list[Points]) -> list[float]:
    return [y for stroke in strokes for _, y in stroke]


def xs(strokes: list[Points]) -> list[float]:
    return [x for stroke in strokes for x, _ in stroke]
