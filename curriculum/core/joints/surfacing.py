"""Metal laid on a surface: separate beads, and pads of overlapping beads."""

from __future__ import annotations

import math
from dataclasses import dataclass

from curriculum.core.joints.shapes import (
    SECTION,
    Geometry,
    JointError,
    Point,
    Ring,
    check_crown,
    check_length,
    crown_ring,
    crown_step,
)
from curriculum.core.sentence import Sentence as _
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop

LARGEST_COUNT = 1000
LARGEST_OVERLAP = 0.9
LEAST_OVERLAP = 1e-6  # below it neighbours only touch, and one outline would cross itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Bead(Geometry):
    """`beads` separate runs, each a circular segment of `width` and `height` in m."""

    width: float
    height: float
    beads: int = 1

    def __post_init__(self) -> None:
        self.check()

    def check(self) -> None:
        """Refuse numbers that cannot be, each at its own key."""
        check_length("bead_width", self.width, zero=False)
        check_length("bead_height", self.height)
        check_crown("bead_height", self.height, self.width)
        if not 1 <= self.beads <= LARGEST_COUNT:
            raise JointError(
                "beads",
                _(
                    "must lie between 1 and %(most)s, got %(got)s",
                    most=LARGEST_COUNT,
                    got=self.beads,
                ),
                ("8",),
            )

    def explain(self) -> list[Step]:
        """Return the steps to the area of all runs in m²."""
        work = Worksheet()
        one = crown_step(
            work,
            gettext_noop("One bead, a circular segment"),
            self.given("bead_width", self.width),
            self.given("bead_height", self.height),
        )
        work.add(SECTION, "beads * one", "m2", beads=self.given("beads", self.beads, "1"), one=one)
        return work.steps

    def polygon(self, segments: int = 48) -> list[Ring]:
        """Return a ring for each run, half a width apart, on y = 0."""
        starts = (1.5 * self.width * k for k in range(self.beads))
        return [
            ring
            for x in starts
            for ring in crown_ring((x, 0.0), (x + self.width, 0.0), self.height, segments)
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Padding(Bead):
    """Beads side by side, each over the share `overlap` of the last: the union of their sections.

    A bead laid on its neighbour fills up to the same round top, so only what stands beyond the
    neighbour is new metal.
    """

    overlap: float = 0.0

    def check(self) -> None:
        Bead.check(self)
        if not 0 <= self.overlap <= LARGEST_OVERLAP:
            raise JointError(
                "bead_overlap",
                _("must lie between 0 and 0.9, got %(got)s", got=f"{self.overlap:g}"),
                ("0.4", "40 %"),
            )

    @property
    def pitch(self) -> float:
        """Distance from bead to bead, m."""
        return self.width * (1 - self.overlap)

    def explain(self) -> list[Step]:
        """Return the steps to the area of the pad in m²."""
        work = Worksheet()
        width = self.given("bead_width", self.width)
        height = self.given("bead_height", self.height)
        one = crown_step(work, gettext_noop("First bead, a circular segment"), width, height)
        if self.height == 0 or self.beads == 1:
            work.add(
                SECTION, "beads * one", "m2", beads=self.given("beads", self.beads, "1"), one=one
            )
            return work.steps
        pitch = work.add(
            gettext_noop("From bead to bead"),
            "width * (1 - overlap)",
            "m",
            width=width,
            overlap=self.given("bead_overlap", self.overlap, "1"),
        )
        radius = work.add(
            gettext_noop("Radius of a bead's top"),
            "(width ** 2 / 4 + height ** 2) / (2 * height)",
            "m",
            width=width,
            height=height,
        )
        turn = math.asin(min(1.0, pitch.value / 2 / radius.value))
        strip = work.add(
            gettext_noop("What each further bead adds, the middle strip of a segment"),
            "pitch / 2 * (radius ** 2 - pitch ** 2 / 4) ** 0.5 + radius ** 2 * turn"
            " - (radius - height) * pitch",
            "m2",
            pitch=pitch,
            radius=radius,
            turn=Input(turn, "rad", "asin(pitch / 2 / radius)"),
            height=height,
        )
        work.add(
            SECTION,
            "one + (beads - 1) * strip",
            "m2",
            one=one,
            beads=self.given("beads", self.beads, "1"),
            strip=strip,
        )
        return work.steps

    def polygon(self, segments: int = 48) -> list[Ring]:
        """Return the scalloped pad as one ring on y = 0, side by side a ring for each bead.

        The first bead begins at x = 0.
        """
        if self.height == 0:
            return []
        if self.overlap < LEAST_OVERLAP:
            starts = (self.pitch * k for k in range(self.beads))
            return [
                ring
                for x in starts
                for ring in crown_ring((x, 0.0), (x + self.width, 0.0), self.height, segments)
            ]
        half, pitch = self.width / 2, self.pitch
        radius = (half**2 + self.height**2) / (2 * self.height)

        def top(x: float) -> float:
            return math.sqrt(max(0.0, radius**2 - x**2)) - radius + self.height

        points: list[Point] = []
        for k in range(self.beads):
            low = -half if k == 0 else -pitch / 2
            high = half if k == self.beads - 1 else pitch / 2
            a, b = math.asin(max(-1.0, low / radius)), math.asin(min(1.0, high / radius))
            turns = (a + (b - a) * n / segments for n in range(segments + (k == self.beads - 1)))
            points += [
                (half + k * pitch + x, top(x)) for x in (radius * math.sin(t) for t in turns)
            ]
        return [points[::-1]]
