"""Welds on edges: outside corner (open, half-open, closed), edge weld, flare bevel."""

from __future__ import annotations

import math
from dataclasses import dataclass

from curriculum.core.joints.shapes import (
    FACE_CROWN,
    FACE_WIDTH,
    ROOT_CROWN,
    ROOT_WIDTH,
    SECTION,
    Geometry,
    JointError,
    Point,
    Ring,
    assumed_width,
    at_least,
    check_angle,
    check_crown,
    check_length,
    crown_ring,
    crown_step,
    distinct,
    long,
    melted_edge,
)
from curriculum.core.sentence import Sentence as _
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop

OVERLAPS = (
    _("0 in for an open corner"),
    _("half the thickness for a half-open one"),
    _("the thickness for a closed one"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideCorner(Geometry):
    """Two sheets meeting at `corner_angle` degrees between their inner faces.

    `overlap` is how much of one sheet's edge the other covers: 0 open (inner edges meet), half the
    thickness half-open, the whole thickness closed. The groove lies between the bare parts of the
    edges, and the face reinforcement on the line over it, or on a wider stated width.
    """

    thickness: float
    corner_angle: float = 90.0
    overlap: float = 0.0
    root_opening: float = 0.0
    face_reinforcement: float = 0.0
    root_reinforcement: float = 0.0
    face_width: float | None = None

    def __post_init__(self) -> None:
        check_length("thickness", self.thickness, zero=False)
        check_angle("corner_angle", self.corner_angle, low=30, high=170)
        for name in ("overlap", "root_opening", "face_reinforcement", "root_reinforcement"):
            check_length(name, getattr(self, name))
        if self.overlap > self.thickness:
            raise JointError(
                "overlap",
                _(
                    "%(overlap)s is more than the sheet is thick (%(thickness)s)",
                    overlap=long(self.overlap),
                    thickness=long(self.thickness),
                ),
                OVERLAPS,
            )
        if self.face_width is not None:
            check_length("face_width", self.face_width, zero=False)
            if self.face_width < self.chord * (1 - 1e-9):
                raise JointError(
                    "face_width",
                    _(
                        "%(width)s does not cover the groove, which is %(groove)s wide",
                        width=long(self.face_width),
                        groove=long(self.chord),
                    ),
                    at_least(self.chord),
                )
        check_crown("face_reinforcement", self.face_reinforcement, self.face_width or self.chord)
        check_crown("root_reinforcement", self.root_reinforcement, self.root_chord)

    @property
    def _half(self) -> float:
        return math.radians(180 - self.corner_angle) / 2

    def _corners(self) -> tuple[Point, Point, Point, Point]:
        sine, cosine, half = math.sin(self._half), math.cos(self._half), self.root_opening / 2
        bare = self.thickness - self.overlap
        return (
            (-half, 0.0),
            (half, 0.0),
            (half + bare * sine, bare * cosine),
            (-half - self.thickness * sine, self.thickness * cosine),
        )

    @property
    def chord(self) -> float:
        """Line over the groove from edge to edge, m."""
        _, _, right, left = self._corners()
        return math.dist(right, left)

    @property
    def root_chord(self) -> float:
        """Width of the bead inside the corner, m."""
        return self._root_width(Worksheet()).value

    def _root_width(self, work: Worksheet) -> Step:
        return assumed_width(
            work,
            ROOT_WIDTH,
            self.given("root_opening", self.root_opening),
            self.given("root_reinforcement", self.root_reinforcement),
            melted_edge(self.thickness, 0.5),
        )

    def explain(self) -> list[Step]:
        """Return the steps to the area in m²."""
        work = Worksheet()
        thickness = self.given("thickness", self.thickness)
        bare = work.add(
            gettext_noop("Bare part of the covered sheet's edge"),
            "thickness - overlap",
            "m",
            thickness=thickness,
            overlap=self.given("overlap", self.overlap),
        )
        half = f"{math.degrees(self._half):.6g}"
        parts: dict[str, Input | Step] = {
            "groove": work.add(
                gettext_noop("Groove between the edges"),
                "cosine * (root_opening * (thickness + bare) + 2 * thickness * bare * sine) / 2",
                "m2",
                cosine=Input(
                    math.cos(self._half),
                    "1",
                    _("cosine of %(angle)s deg, half the angle between the edges", angle=half),
                ),
                sine=Input(
                    math.sin(self._half),
                    "1",
                    _("sine of %(angle)s deg, half the angle between the edges", angle=half),
                ),
                root_opening=self.given("root_opening", self.root_opening),
                thickness=thickness,
                bare=bare,
            )
        }
        if self.face_reinforcement:
            width = Input(self.chord, "m", _("line over the groove from edge to edge"))
            if self.face_width is not None:
                width = self.given("face_width", self.face_width)
            height = self.given("face_reinforcement", self.face_reinforcement)
            parts["face_area"] = crown_step(work, FACE_CROWN, width, height)
        if self.root_reinforcement:
            height = self.given("root_reinforcement", self.root_reinforcement)
            parts["root_area"] = crown_step(work, ROOT_CROWN, self._root_width(work), height)
        work.add(SECTION, " + ".join(parts), "m2", **parts)
        return work.steps

    def polygon(self, segments: int = 48) -> list[Ring]:
        """Return groove and reinforcements as rings; the inner corner is at (0, 0), the face up."""
        first, second, right, left = self._corners()
        groove = distinct([first, second, right, left])
        rings = [groove] if len(groove) > 2 else []
        if self.face_width is not None and self.chord:
            grow = (self.face_width / self.chord - 1) / 2
            dx, dy = (right[0] - left[0]) * grow, (right[1] - left[1]) * grow
            left, right = (left[0] - dx, left[1] - dy), (right[0] + dx, right[1] + dy)
        rings += crown_ring(left, right, self.face_reinforcement, segments)
        edge = self.root_chord / 2
        return rings + crown_ring((edge, 0.0), (-edge, 0.0), self.root_reinforcement, segments)


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge(Geometry):
    """A bead over the flush edges of two sheets lying face to face, `gap` apart."""

    thickness: float
    face_reinforcement: float
    gap: float = 0.0
    face_width: float | None = None

    def __post_init__(self) -> None:
        check_length("thickness", self.thickness, zero=False)
        check_length("gap", self.gap)
        check_length("face_reinforcement", self.face_reinforcement, zero=False)
        if self.face_width is not None:
            check_length("face_width", self.face_width, zero=False)
        check_crown("face_reinforcement", self.face_reinforcement, self.width)

    @property
    def width(self) -> float:
        """Width of the bead: stated, else both edges and the gap, m."""
        return 2 * self.thickness + self.gap if self.face_width is None else self.face_width

    def explain(self) -> list[Step]:
        """Return the steps to the area in m²."""
        work = Worksheet()
        width: Input | Step = self.given("face_width", self.width)
        if self.face_width is None:
            width = work.add(
                FACE_WIDTH,
                "2 * thickness + gap",
                "m",
                thickness=self.given("thickness", self.thickness),
                gap=self.given("gap", self.gap),
            )
        height = self.given("face_reinforcement", self.face_reinforcement)
        crown_step(work, SECTION, width, height)
        return work.steps

    def polygon(self, segments: int = 48) -> list[Ring]:
        """Return the bead as one ring on y = 0."""
        edge = self.width / 2
        return crown_ring((-edge, 0.0), (edge, 0.0), self.face_reinforcement, segments)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlareBevel(Geometry):
    """The groove between a flat and a round of `groove_radius`, filled flush with the round."""

    groove_radius: float
    face_reinforcement: float = 0.0

    def __post_init__(self) -> None:
        check_length("groove_radius", self.groove_radius, zero=False)
        check_length("face_reinforcement", self.face_reinforcement)
        check_crown("face_reinforcement", self.face_reinforcement, self.groove_radius)

    def explain(self) -> list[Step]:
        """Return the steps to the area in m²."""
        work = Worksheet()
        radius = self.given("groove_radius", self.groove_radius)
        parts: dict[str, Input | Step] = {
            "groove": work.add(
                gettext_noop("Square of the radius less a quarter of the circle"),
                "radius ** 2 * (1 - pi / 4)",
                "m2",
                radius=radius,
                pi=Input(math.pi, "1", "pi"),
            )
        }
        if self.face_reinforcement:
            height = self.given("face_reinforcement", self.face_reinforcement)
            parts["face_area"] = crown_step(work, FACE_CROWN, radius, height)
        work.add(SECTION, " + ".join(parts), "m2", **parts)
        return work.steps

    def polygon(self, segments: int = 48) -> list[Ring]:
        """Return groove and reinforcement as rings; flat at x = 0, the touching point at (0, 0)."""
        r = self.groove_radius
        turns = [math.pi / 2 * k / segments for k in range(segments + 1)]
        round_side = [(r - r * math.cos(a), r * math.sin(a)) for a in turns]
        return [
            [*round_side, (0.0, r)],
            *crown_ring((0.0, r), (r, r), self.face_reinforcement, segments),
        ]
