"""How the puddle is led on one pass, seen from over the weld."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from ..spec import SURFACING, Exercise, Joint, Setup
from .canvas import Canvas, Point, bulge
from .technique import VERTICAL, describe_path, direction_of, heading, led, place_of
from .technique_views import framed
from .words import amount, passes_of

LONG = 400.0
END = 44.0  # of the arrow at the end
PER_METRE = 8000.0
NARROW, BROAD = 44.0, 116.0  # of the weld on the strip
ROOM = 150.0  # of the strip across the weld, so that every pass has one scale
DAB = 5.0
STEP = 34.0  # from one side to the other and back, or from one dab to the next


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip with what was drawn: the path's points, and half of the weld's width."""

    canvas: Canvas
    route: list[Point]
    half: float
    title: str

    def svg(self, ident: str) -> str:
        """Return the SVG element; `ident` makes its ids unique on a page."""
        return framed(self.canvas, ident, self.title, 0.0)


def path_strip(
    exercise: Exercise,
    setup: Setup,
    pass_no: int,
    *,
    left_handed: bool = False,
    paper: bool = False,
    say: Callable[[str], str] = str,
) -> Strip:
    """Return the strip of a pass; `pass_no` counts from 1 for the first of `setup.passes`.

    The two thin lines are the sides of the weld as wide as it is after this pass, by the joint's
    own numbers; the heavy line is the way of the puddle, its arrow the way of travel. Raises
    `ValueError` where the setup has no such pass.
    """
    if not 1 <= pass_no <= len(setup.passes):
        raise ValueError(f"pass_no must be 1 to {len(setup.passes)}, got {pass_no}")
    one = setup.passes[pass_no - 1]
    path, marks = led(one.technique)
    half = width_after(setup, pass_no) * PER_METRE / 2
    half = min(max(half, NARROW / 2), BROAD / 2)
    place = place_of(exercise.position)
    to = heading(place, direction_of(setup, one), left_handed=left_handed)
    at = _turn(to, vertical=place.turn == VERTICAL, left_handed=left_handed)
    canvas = Canvas(paper=paper, say=say)
    for side in (-half, half):
        canvas.line("thin dash", [at((0.0, side)), at((LONG, side))])
    canvas.points += [at((0.0, -ROOM / 2)), at((LONG, ROOM / 2))]
    route = [at(p) for p in _route(path, half)]
    canvas.line("o-line", route)
    if "wire" in marks:
        canvas.line("o-edge", [at(p) for p in ((0.0, 9.0), (LONG - END + 8, 9.0))])
    if "dabs" in marks:
        for k in range(1, int((LONG - END) / STEP)):
            canvas.line("tip", [at(p) for p in _ring((k * STEP, 0.0), DAB + 4)], close=True)
    if "keyhole" in marks:
        hole = [at(p) for p in _ring((LONG - END + 14, 0.0), 11.0)]
        canvas.line("f-ground", hole, close=True)
        canvas.line("o-line", hole, close=True)
    if to:
        _arrow(canvas, at, LONG - END + (30 if "keyhole" in marks else 4))
    return Strip(canvas, route, half, describe_path(one.technique).in_words(say))


def width_after(setup: Setup, pass_no: int) -> float:
    """Return how wide the weld is after a pass, in metres, by the joint's own numbers.

    The last pass is as wide as the weld; those before it share the way from the root opening in
    equal steps, which is a picture and not a measure.
    """
    joint = setup.joint
    narrow = amount(joint.root_opening) if joint.root_opening else 0.0
    broad = max(_face(joint, setup.thickness.value), narrow)
    if joint.kind in SURFACING:
        return broad
    laid = sum(one.count for one in setup.passes[:pass_no])
    return narrow + (broad - narrow) * laid / passes_of(setup)


def _face(joint: Joint, thickness: float) -> float:
    """Width of the finished weld as stated, or as the joint's numbers make it."""
    if joint.face_width:
        return amount(joint.face_width)
    if joint.leg:
        return math.hypot(amount(joint.leg), amount(joint.leg_2 or joint.leg))
    if joint.bead_width:
        return amount(joint.bead_width)
    opening = amount(joint.root_opening) if joint.root_opening else 0.0
    given = joint.groove_angle or joint.bevel_angle
    if given is None:
        return opening + thickness
    sides = 1 if joint.groove_angle is None and joint.kind == "single bevel" else 2
    each = given.value / 2 if joint.groove_angle else given.value
    return opening + sides * thickness * math.tan(math.radians(min(each, 80.0)))


def _turn(to: str, *, vertical: bool, left_handed: bool) -> Callable[[Point], Point]:
    if vertical:
        along = 1.0 if to == "down" else -1.0
        mirror = -1.0 if left_handed else 1.0
        return lambda p: (mirror * p[1], along * p[0])
    way = -1.0 if to == "left" else 1.0
    return lambda p: (way * p[0], p[1])


def _route(path: str, half: float) -> list[Point]:
    """Points along the weld and across it, from 0 to the arrow."""
    end, out = LONG - END, half - 6
    draw = {
        "zigzag": _zigzag,
        "crescent": _crescent,
        "triangles": _triangles,
        "circles": _circles,
        "whip": _whip,
    }.get(path)
    if draw is None:
        return [(0.0, 0.0), (end, 0.0)]
    return [(min(max(s, 0.0), end), w) for s, w in draw(end, out)] + [(end, 0.0)]


def _zigzag(end: float, out: float) -> list[Point]:
    points: list[Point] = [(0.0, 0.0)]
    for k in range(int(end / STEP)):
        side = out if k % 2 else -out
        points += [(k * STEP + 14, side), (k * STEP + 26, side)]
    return points


def _crescent(end: float, out: float) -> list[Point]:
    points: list[Point] = []
    for k in range(int(end / STEP)):
        side = 1.0 if k % 2 else -1.0
        for j in range(13):
            turn = math.pi * j / 12
            points.append(
                (k * STEP + 30 * math.sin(turn) + 10 * j / 12, side * out * math.cos(turn))
            )
    return points


def _triangles(end: float, out: float) -> list[Point]:
    points: list[Point] = []
    for k in range(int((end - STEP) / STEP)):
        points += [(k * STEP, -out), (k * STEP, out), ((k + 1.5) * STEP, 0.0)]
    return points


def _circles(end: float, out: float) -> list[Point]:
    radius, step, fine = min(out, 22.0), 24.0, 20
    laps = int((end - 2 * radius) / step)
    points = []
    for k in range(laps * fine + 1):
        turn = 2 * math.pi * k / fine
        along = radius + step * k / fine - radius * math.cos(turn)
        points.append((along, radius * math.sin(turn)))
    return points


def _whip(end: float, out: float) -> list[Point]:
    """Long arcs forward, half as long straight back."""
    forward, rise, points = 2 * STEP, min(out, 16.0), [(0.0, 0.0)]
    for k in range(int((end - forward) / STEP) + 1):
        points += bulge((k * STEP, 0.0), (k * STEP + forward, 0.0), rise)
        points.append(((k + 1) * STEP, 0.0))
    return points


def _ring(middle: Point, radius: float) -> list[Point]:
    return [
        (middle[0] + radius * math.cos(a), middle[1] + radius * math.sin(a))
        for a in (2 * math.pi * k / 24 for k in range(24))
    ]


def _arrow(canvas: Canvas, at: Callable[[Point], Point], start: float) -> None:
    head = [(start + 36, 0.0), (start, 14.0), (start, -14.0)]
    canvas.points.append(at((LONG + 24, 0.0)))
    canvas.line("tip", [at(p) for p in head], close=True)
