"""Fillet welds: tee and lap, equal and unequal legs, flat, convex and concave."""

from __future__ import annotations

import math
from dataclasses import dataclass

from curriculum.core.defaults import defaults
from curriculum.core.joints.shapes import (
    SECTION,
    Geometry,
    JointError,
    Ring,
    arc,
    at_most,
    check_crown,
    check_length,
    crown_step,
    long,
)
from curriculum.core.sentence import Sentence as _
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop

CONTOURS = ("flat", "convex", "concave")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fillet(Geometry):
    """A right-angled fillet. `leg` lies along x on the base, `leg_2` up the web or the edge.

    `convexity` is the height of the face above the line from toe to toe, or its depth below where
    the contour is concave; None takes a planning share of the face. A gap between the members is
    not counted as filled: legs are measured as they stand.
    """

    thickness: float
    leg: float
    leg_2: float | None = None
    contour: str = "flat"
    convexity: float | None = None
    gap: float = 0.0

    def __post_init__(self) -> None:
        self.check()

    def check(self) -> None:
        """Refuse numbers that cannot be, each at its own key."""
        check_length("thickness", self.thickness, zero=False)
        check_length("leg", self.leg, zero=False)
        check_length("leg_2", self.upright, zero=False)
        check_length("gap", self.gap)
        if self.gap >= min(self.leg, self.upright):
            least = min(self.leg, self.upright)
            told = _(
                "a gap of %(gap)s is as wide as the leg (%(leg)s) and leaves no fillet",
                gap=long(self.gap),
                leg=long(least),
            )
            raise JointError("gap", told, ("0 in", "0 to 1/16 in"))
        if self.contour not in CONTOURS:
            told = _("no such contour: %(got)s", got=self.contour)
            raise JointError("contour", told, CONTOURS)
        if self.convexity is None:
            return
        check_length("convexity", self.convexity)
        if self.contour == "flat" and self.convexity:
            raise JointError(
                "convexity",
                _("a flat face has no convexity"),
                ('contour = "convex"', 'contour = "concave"'),
            )
        if self.contour == "convex":
            check_crown("convexity", self.convexity, self.face)
        deepest = self.face / 2 * math.tan(math.atan2(*sorted((self.leg, self.upright))) / 2)
        if self.contour == "concave" and self.convexity > deepest:
            raise JointError(
                "convexity",
                _(
                    "a face %(hollow)s hollow would cut into the plate; these legs carry at most"
                    " %(most)s",
                    hollow=long(self.convexity),
                    most=long(deepest),
                ),
                at_most(deepest),
            )

    @property
    def upright(self) -> float:
        """The leg up the web or the edge, m."""
        return self.leg if self.leg_2 is None else self.leg_2

    @property
    def face(self) -> float:
        """The line from toe to toe, m."""
        return math.hypot(self.leg, self.upright)

    @property
    def bulge(self) -> float:
        """Height of the face over the line from toe to toe, m; below it negative."""
        if self.contour == "flat":
            return 0.0
        height = self.convexity
        if height is None:
            height = defaults()["fillet_contour"].value * self.face
            steepest = math.tan(math.atan2(*sorted((self.leg, self.upright))) / 2)
            height = min(height, self.face / 2 * steepest)
        return height if self.contour == "convex" else -height

    @property
    def throat(self) -> float:
        """Distance from the root to the line from toe to toe, m."""
        return self.leg * self.upright / self.face

    def explain(self) -> list[Step]:
        """Return the steps to the area in m²."""
        work = Worksheet()
        second = "leg" if self.leg_2 is None else "leg_2"
        triangle = work.add(
            gettext_noop("Triangle between the legs"),
            "leg * leg_2 / 2",
            "m2",
            leg=self.given("leg", self.leg),
            leg_2=self.given(second, self.upright),
        )
        if not self.bulge:
            return work.steps
        face = work.add(
            gettext_noop("Face from toe to toe"),
            "(leg ** 2 + leg_2 ** 2) ** 0.5",
            "m",
            leg=self.given("leg", self.leg),
            leg_2=self.given(second, self.upright),
        )
        height = self.given("convexity", abs(self.bulge))
        if self.convexity is None:
            height = Input(abs(self.bulge), "m", _("assumed share of the face"))
        crown = crown_step(
            work, gettext_noop("Rise or hollow of the face, a circular segment"), face, height
        )
        sign = "+" if self.bulge > 0 else "-"
        work.add(SECTION, f"triangle {sign} crown", "m2", triangle=triangle, crown=crown)
        return work.steps

    def polygon(self, segments: int = 48) -> list[Ring]:
        """Return the section as one ring; the root is at (0, 0)."""
        toe, top = (self.leg, 0.0), (0.0, self.upright)
        return [[(0.0, 0.0), toe, *arc(toe, top, self.bulge, segments), top]]


class TeeFillet(Fillet):
    """A fillet in a tee, one side."""

    __slots__ = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LapFillet(Fillet):
    """A fillet on the edge of a lapped sheet: the upright leg ends at that edge's top."""

    overlap: float | None = None

    def check(self) -> None:
        Fillet.check(self)
        if self.overlap is not None:
            check_length("overlap", self.overlap, zero=False)
        most = defaults()["lap_leg_over_edge"].value * self.thickness
        if self.upright > most:
            raise JointError(
                "leg" if self.leg_2 is None else "leg_2",
                _(
                    "%(leg)s does not fit the edge of a sheet %(thickness)s thick",
                    leg=long(self.upright),
                    thickness=long(self.thickness),
                ),
                at_most(most),
            )
