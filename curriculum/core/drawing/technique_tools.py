"""Outlines of torches, guns and electrodes, from the tip outward, in the units of the drawing.

A tool is made of convex parts along its axis: `t` counts from the point that the tool is aimed at,
`s` to the side. Its handle leaves the axis toward the hand. Sizes are of a common tool (from
memory); what the setup states of tungsten, nozzle and stickout is drawn in proportion.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..spec import WIRES, Setup
from .canvas import Point

REACH = 205.0  # where an axis without handle ends
HANDLE_REACH = 240.0  # no handle ends farther out
NOZZLE = 30.0  # inside of a nozzle; what is stated beside it is drawn in proportion
STICKOUT = (14.0, 54.0)


@dataclass(frozen=True, slots=True)
class Part:
    """A convex outline in (t, s) with its class; `metal` may not touch the plates."""

    cls: str
    outline: tuple[Point, ...]
    metal: bool = True


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool's parts on its axis, and where and how thick its handle leaves it."""

    parts: tuple[Part, ...]
    handle_at: float
    handle_half: float


def tool_of(process: str, setup: Setup, gap: float) -> Tool:
    """Return the tool of a process, its tip `gap` units from the point it is aimed at.

    Raises `ValueError` for letters that are not a process.
    """
    if process == "GTAW":
        return _tungsten_torch(setup, gap)
    if process == "SMAW":
        return _covered_electrode(gap)
    if process in WIRES:
        return _gun(setup, gap)
    if process == "OFW":
        return _flame_torch(gap)
    if process == "OFC":
        return _cutting_torch(gap)
    if process == "PAC":
        return _plasma_torch(gap)
    raise ValueError(f"process must be one whose tool is drawn, got {process!r}")


def stickout(setup: Setup, usual: float) -> float:
    """Return how far the electrode stands out of a nozzle of `NOZZLE` units, within limits."""
    if not (setup.stickout and setup.nozzle and setup.nozzle.value):
        return usual
    drawn = NOZZLE * setup.stickout.working / setup.nozzle.value
    return min(max(drawn, STICKOUT[0]), STICKOUT[1])


def _tungsten_torch(setup: Setup, gap: float) -> Tool:
    half = 3.5
    if setup.electrode and setup.nozzle and setup.nozzle.value:
        half = min(max(NOZZLE * setup.electrode.diameter.value / setup.nozzle.value / 2, 2.5), 7.0)
    cup = gap + stickout(setup, 24.0)
    return Tool(
        (
            Part(
                "tip", ((gap, 0.0), (gap + 12, half), (cup, half), (cup, -half), (gap + 12, -half))
            ),
            _taper("f-done", (cup, NOZZLE / 2 + 3), (cup + 48, NOZZLE / 2 + 7)),
            _taper("f-done", (cup + 48, 13.0), (cup + 60, 13.0)),
            _taper("f-done", (cup + 60, 19.0), (cup + 98, 19.0)),
            _taper("f-done", (cup + 98, 10.0), (max(cup + 118, REACH), 7.0)),
        ),
        cup + 78,
        12.0,
    )


def _covered_electrode(gap: float) -> Tool:
    return Tool(
        (
            _taper("f-done", (gap, 6.0), (160.0, 6.0)),
            _taper("f-done", (150.0, 15.0), (192.0, 15.0)),
        ),
        172.0,
        11.0,
    )


def _gun(setup: Setup, gap: float) -> Tool:
    nozzle = gap + stickout(setup, 34.0)
    return Tool(
        (
            _taper("tip", (gap, 2.5), (nozzle, 2.5)),
            _taper("f-done", (nozzle, NOZZLE / 2 + 4), (nozzle + 62, NOZZLE / 2 + 7)),
            _taper("f-done", (nozzle + 62, 12.0), (max(nozzle + 82, 178.0), 12.0)),
        ),
        max(nozzle + 70, 166.0),
        12.0,
    )


def _flame_torch(gap: float) -> Tool:
    tip = gap + 34
    return Tool(
        (
            Part("thin", tuple(_teardrop(2.0, tip, 13.0)), metal=False),
            Part("f-weld", ((gap, 0.0), (tip, 5.0), (tip, -5.0)), metal=False),
            _taper("f-done", (tip, 5.0), (tip + 96, 9.0)),
            _taper("f-done", (tip + 96, 13.0), (max(tip + 118, 180.0), 13.0)),
        ),
        tip + 106,
        11.0,
    )


def _cutting_torch(gap: float) -> Tool:
    tip = gap + 16
    return Tool(
        (
            Part("thin", tuple(_teardrop(gap, tip, 9.0)), metal=False),
            _taper("f-done", (tip, 9.0), (tip + 66, 16.0)),
            _taper("f-done", (tip + 66, 24.0), (tip + 108, 24.0)),
        ),
        tip + 88,
        16.0,
    )


def _plasma_torch(gap: float) -> Tool:
    return Tool(
        (
            _taper("f-done", (gap, 7.0), (gap + 26, 17.0)),
            _taper("f-done", (gap + 26, 20.0), (gap + 84, 20.0)),
            _taper("f-done", (gap + 84, 16.0), (gap + 118, 16.0)),
        ),
        gap + 100,
        14.0,
    )


def _taper(cls: str, start: Point, end: Point) -> Part:
    (t1, half1), (t2, half2) = start, end
    return Part(cls, ((t1, half1), (t2, half2), (t2, -half2), (t1, -half1)))


def _teardrop(start: float, end: float, half: float) -> list[Point]:
    """A flame's outer shape, its point at `start`."""
    side = [
        (start + (end - start) * k / 8, half * math.sin(math.pi / 2 * (k / 8) ** 0.7))
        for k in range(9)
    ]
    return [*side, *((t, -s) for t, s in reversed(side[1:]))]


def on_axis(outline: Sequence[Point], degrees: float) -> list[Point]:
    """Turn an outline onto an axis that rises `degrees` from the surface, from the right."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [(t * c + aside * s, t * s - aside * c) for t, aside in outline]


def handle(tool: Tool, degrees: float) -> list[Point]:
    """Return the handle's outline: it leaves the axis at a third of its rise, toward the hand."""
    (x, y) = on_axis([(tool.handle_at, 0.0)], degrees)[0]
    rise = math.radians(degrees / 3)
    c, s, half = math.cos(rise), math.sin(rise), tool.handle_half
    along = x * c + y * s
    free = HANDLE_REACH - half
    length = -along + math.sqrt(max(along**2 - (x * x + y * y) + free**2, 0.0))
    ends = (x + length * c, y + length * s)
    return [
        (x - half * s, y + half * c),
        (ends[0] - half * s, ends[1] + half * c),
        (ends[0] + half * s, ends[1] - half * c),
        (x + half * s, y - half * c),
    ]


def touch(one: Sequence[Point], other: Sequence[Point], clear: float = 0.0) -> bool:
    """Say whether two convex outlines come nearer than `clear` along every side's direction."""
    for outline in (one, other):
        for (x1, y1), (x2, y2) in zip(outline, [*outline[1:], outline[0]], strict=True):
            length = math.hypot(x2 - x1, y2 - y1)
            if not length:
                continue
            nx, ny = (y2 - y1) / length, (x1 - x2) / length
            mine = [x * nx + y * ny for x, y in one]
            theirs = [x * nx + y * ny for x, y in other]
            if min(theirs) - max(mine) >= clear or min(mine) - max(theirs) >= clear:
                return False
    return True
