"""Groove welds: square, V, bevel, J and U, single and double, with face and root reinforcement."""

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


@dataclass(frozen=True, slots=True)
class Flank:
    """One prepared edge: `depth` in m, `angle` degrees from upright, `radius` at its foot."""

    depth: float
    angle: float = 0.0
    radius: float = 0.0

    @property
    def foot(self) -> float:
        """Height in m of the round foot, up to where the straight wall begins."""
        return self.radius * (1 - math.sin(math.radians(self.angle)))

    @property
    def reach(self) -> float:
        """How far in m the edge has moved back at the plate's surface."""
        lean = math.radians(self.angle)
        return self.radius * math.cos(lean) + (self.depth - self.foot) * math.tan(lean)

    def profile(self, segments: int) -> Ring:
        """Return (back, up) points from the foot to the surface."""
        points = [(0.0, 0.0)]
        if self.radius:
            end = math.pi / 2 - math.radians(self.angle)
            points += [
                (self.radius * math.sin(a), self.radius * (1 - math.cos(a)))
                for a in (end * k / segments for k in range(1, segments + 1))
            ]
        return [*points, (self.reach, self.depth)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove(Geometry):
    """A groove through the whole thickness; the subclasses say how the edges are prepared.

    Not stated face and root widths (None) are taken as the opening there and what melts of the
    edges: up to 1.6 mm each side on the face, half of that at the root.
    """

    thickness: float
    root_opening: float = 0.0
    face_reinforcement: float = 0.0
    root_reinforcement: float = 0.0
    face_width: float | None = None
    root_width: float | None = None

    def __post_init__(self) -> None:
        self.check()

    def check(self) -> None:
        """Refuse numbers that cannot be, each at its own key."""
        check_length("thickness", self.thickness, zero=False)
        for name in ("root_opening", "face_reinforcement", "root_reinforcement"):
            check_length(name, getattr(self, name))
        self.check_flanks()
        for name, stated, side in (
            ("face_width", self.face_width, self.face_opening),
            ("root_width", self.root_width, self.root_side_opening),
        ):
            if stated is not None:
                check_length(name, stated, zero=False)
                if stated < side * (1 - 1e-9):
                    raise JointError(
                        name,
                        _(
                            "%(width)s is narrower than the groove, which is %(groove)s wide there",
                            width=long(stated),
                            groove=long(side),
                        ),
                        at_least(side),
                    )
        check_crown("face_reinforcement", self.face_reinforcement, self.face_chord)
        check_crown("root_reinforcement", self.root_reinforcement, self.root_chord)

    def check_flanks(self) -> None:
        """Refuse angles, root faces and radii that cannot be."""

    def flanks(self) -> tuple[Flank | None, Flank | None, bool]:
        """Return the left and right edge above the root face, and whether below it is the same."""
        return None, None, False

    @property
    def face_opening(self) -> float:
        """Width of the groove at the face, m."""
        left, right, _both = self.flanks()
        return self.root_opening + sum(one.reach for one in (left, right) if one)

    @property
    def root_side_opening(self) -> float:
        """Width of the groove at the back of the plate, m."""
        return self.face_opening if self.flanks()[2] else self.root_opening

    @property
    def face_chord(self) -> float:
        """Width of the face reinforcement, stated or assumed, m."""
        return self._face_width(Worksheet(), self.given("opening", self.face_opening)).value

    @property
    def root_chord(self) -> float:
        """Width of the root reinforcement, stated or assumed, m."""
        opening = self.given("opening", self.root_side_opening)
        return self._root_width(Worksheet(), opening).value

    def _face_width(self, work: Worksheet, opening: Input | Step) -> Input | Step:
        if self.face_width is not None:
            return self.given("face_width", self.face_width)
        height = self.given("face_reinforcement", self.face_reinforcement)
        return assumed_width(work, FACE_WIDTH, opening, height, melted_edge(self.thickness, 1.0))

    def _root_width(self, work: Worksheet, opening: Input | Step) -> Input | Step:
        if self.root_width is not None:
            return self.given("root_width", self.root_width)
        height = self.given("root_reinforcement", self.root_reinforcement)
        share = 1.0 if self.flanks()[2] else 0.5
        return assumed_width(work, ROOT_WIDTH, opening, height, melted_edge(self.thickness, share))

    def explain(self) -> list[Step]:
        """Return the steps to the area in m²."""
        work = Worksheet()
        opening = self.given("root_opening", self.root_opening)
        thickness = self.given("thickness", self.thickness)
        parts: dict[str, Input | Step] = {
            "opening_area": work.add(
                gettext_noop("Root opening through the thickness"),
                "root_opening * thickness",
                "m2",
                root_opening=opening,
                thickness=thickness,
            )
        }
        left, right, both_sides = self.flanks()
        flank = left or right
        width: Input | Step = opening
        if flank and flank.depth:
            count = Input((1 + (left is right)) * (1 + both_sides), "1", _("prepared edges"))
            parts["edges_area"] = self._edges(work, flank, count, both_sides)
            if self.face_width is None and self.face_reinforcement:
                width = work.add(
                    gettext_noop("Width of the groove at the face"),
                    "root_opening + edges * reach",
                    "m",
                    root_opening=opening,
                    edges=Input(1 + (left is right), "1", _("prepared edges at the face")),
                    reach=Input(flank.reach, "m", _("how far a prepared edge leans back")),
                )
        if self.face_reinforcement:
            chord = self._face_width(work, width)
            height = self.given("face_reinforcement", self.face_reinforcement)
            parts["face_area"] = crown_step(work, FACE_CROWN, chord, height)
        if self.root_reinforcement:
            side = width if both_sides else opening
            if both_sides and side is opening:
                side = Input(self.root_side_opening, "m", _("width of the groove at the back"))
            chord = self._root_width(work, side)
            height = self.given("root_reinforcement", self.root_reinforcement)
            parts["root_area"] = crown_step(work, ROOT_CROWN, chord, height)
        work.add(SECTION, " + ".join(parts), "m2", **parts)
        return work.steps

    def _edges(self, work: Worksheet, flank: Flank, count: Input, both_sides: bool) -> Step:
        lean = math.radians(flank.angle)
        root_face = getattr(self, "root_face", 0.0)
        depth = work.add(
            gettext_noop("Depth of the preparation"),
            "(thickness - root_face) / sides",
            "m",
            thickness=self.given("thickness", self.thickness),
            root_face=self.given("root_face", root_face),
            sides=Input(1 + both_sides, "1", _("prepared from so many sides")),
        )
        angle = f"{flank.angle:.6g}"
        told = _("tangent of %(angle)s deg, the bevel of an edge", angle=angle)
        tangent = Input(math.tan(lean), "1", told)
        if not flank.radius:
            return work.add(
                gettext_noop("Triangles of the bevelled edges"),
                "edges * depth ** 2 * tangent / 2",
                "m2",
                edges=count,
                depth=depth,
                tangent=tangent,
            )
        told = _("sine of %(angle)s deg, the bevel of an edge", angle=angle)
        sine = Input(math.sin(lean), "1", told)
        told = _("cosine of %(angle)s deg, the bevel of an edge", angle=angle)
        cosine = Input(math.cos(lean), "1", told)
        radius = self.given("groove_radius", flank.radius)
        wall = work.add(
            gettext_noop("Height of the straight wall above the round foot"),
            "depth - radius * (1 - sine)",
            "m",
            depth=depth,
            radius=radius,
            sine=sine,
        )
        return work.add(
            gettext_noop("Round foot and wall of the prepared edges"),
            "edges * (radius ** 2 * (turn - sine * cosine) / 2"
            " + radius * cosine * wall + wall ** 2 * tangent / 2)",
            "m2",
            edges=count,
            radius=radius,
            turn=Input(math.pi / 2 - lean, "rad", _("angle the round foot turns through")),
            sine=sine,
            cosine=cosine,
            wall=wall,
            tangent=tangent,
        )

    def polygon(self, segments: int = 48) -> list[Ring]:
        """Return body, face and root reinforcement as rings; x = 0 is the middle of the opening."""
        left, right, both_sides = self.flanks()
        half = self.root_opening / 2

        def side(flank: Flank | None, sign: int) -> tuple[Ring, Ring]:
            if flank is None or not flank.depth:
                return [(sign * half, self.thickness)], [(sign * half, 0.0)]
            base = self.thickness - flank.depth
            shape = flank.profile(segments)
            upper = [(sign * (half + back), base + up) for back, up in shape]
            if not both_sides:
                return upper, [(sign * half, 0.0)]
            return upper, [(sign * (half + back), flank.depth - up) for back, up in shape]

        (left_up, left_down), (right_up, right_down) = side(left, -1), side(right, 1)
        rings: list[Ring] = []
        if self.root_opening:
            rings.append([*left_down, *right_down[::-1], *right_up, *left_up[::-1]])
        elif left or right:
            foot = (0.0, right_up[0][1] if right else left_up[0][1])
            rings.append([foot, *right_up, *left_up[::-1]])
            if both_sides:
                foot = (0.0, right_down[0][1] if right else left_down[0][1])
                rings.append([foot, *left_down, *right_down[::-1]])
        middle = (left_up[-1][0] + right_up[-1][0]) / 2
        edge = self.face_chord / 2
        rings += crown_ring(
            (middle - edge, self.thickness),
            (middle + edge, self.thickness),
            self.face_reinforcement,
            segments,
        )
        middle = middle if both_sides else 0.0
        edge = self.root_chord / 2
        rings += crown_ring(
            (middle + edge, 0.0), (middle - edge, 0.0), self.root_reinforcement, segments
        )
        return [ring for ring in map(distinct, rings) if len(ring) > 2]


class SquareGroove(Groove):
    """Edges left square: root opening times thickness, and the reinforcements."""

    __slots__ = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Prepared(Groove):
    """A groove with prepared edges above a root face."""

    root_face: float = 0.0

    def check_flanks(self) -> None:
        check_length("root_face", self.root_face)
        if self.root_face > self.thickness:
            raise JointError(
                "root_face",
                _(
                    "a root face of %(face)s is more than the plate is thick (%(thickness)s)",
                    face=long(self.root_face),
                    thickness=long(self.thickness),
                ),
                ("0 in", "3/32 in"),
            )
        self.check_angles()
        left, right, _both = self.flanks()
        flank = left or right
        if flank and flank.foot > flank.depth:
            raise JointError(
                "groove_radius",
                _(
                    "a radius of %(radius)s does not fit a depth of %(depth)s",
                    radius=long(flank.radius),
                    depth=long(flank.depth),
                ),
                ("1/8 in", "4 mm"),
            )

    def check_angles(self) -> None:
        """Refuse an angle or radius that cannot be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleV(_Prepared):
    """Both edges bevelled from the face; `groove_angle` is the included angle, degrees."""

    groove_angle: float

    def check_angles(self) -> None:
        check_angle("groove_angle", self.groove_angle, high=150)

    def flanks(self) -> tuple[Flank | None, Flank | None, bool]:
        flank = Flank(self.thickness - self.root_face, self.groove_angle / 2)
        return flank, flank, False


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubleV(_Prepared):
    """Both edges bevelled alike from both sides; the root face stands in the middle."""

    groove_angle: float

    def check_angles(self) -> None:
        check_angle("groove_angle", self.groove_angle, high=150)

    def flanks(self) -> tuple[Flank | None, Flank | None, bool]:
        flank = Flank((self.thickness - self.root_face) / 2, self.groove_angle / 2)
        return flank, flank, True


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleBevel(_Prepared):
    """One edge bevelled from the face, `bevel_angle` degrees from square; the other is square."""

    bevel_angle: float

    def check_angles(self) -> None:
        check_angle("bevel_angle", self.bevel_angle, high=75)

    def flanks(self) -> tuple[Flank | None, Flank | None, bool]:
        return None, Flank(self.thickness - self.root_face, self.bevel_angle), False


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubleBevel(_Prepared):
    """One edge bevelled alike from both sides; the other is square."""

    bevel_angle: float

    def check_angles(self) -> None:
        check_angle("bevel_angle", self.bevel_angle, high=75)

    def flanks(self) -> tuple[Flank | None, Flank | None, bool]:
        return None, Flank((self.thickness - self.root_face) / 2, self.bevel_angle), True


@dataclass(frozen=True, slots=True, kw_only=True)
class JGroove(_Prepared):
    """One edge with a round foot of `groove_radius` and a wall of `bevel_angle` degrees."""

    bevel_angle: float
    groove_radius: float

    def check_angles(self) -> None:
        check_angle("bevel_angle", self.bevel_angle, high=75)
        check_length("groove_radius", self.groove_radius, zero=False)

    def flanks(self) -> tuple[Flank | None, Flank | None, bool]:
        depth = self.thickness - self.root_face
        return None, Flank(depth, self.bevel_angle, self.groove_radius), False


@dataclass(frozen=True, slots=True, kw_only=True)
class UGroove(_Prepared):
    """Both edges with a round foot of `groove_radius`; `groove_angle` is the included angle."""

    groove_angle: float
    groove_radius: float

    def check_angles(self) -> None:
        check_angle("groove_angle", self.groove_angle, high=150)
        check_length("groove_radius", self.groove_radius, zero=False)

    def flanks(self) -> tuple[Flank | None, Flank | None, bool]:
        flank = Flank(self.thickness - self.root_face, self.groove_angle / 2, self.groove_radius)
        return flank, flank, False
