"""What every joint shares: its faults, arcs, circular segments and the face of a `Geometry`."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field

from curriculum.core.defaults import defaults
from curriculum.core.sentence import Figure, Sentence
from curriculum.core.sentence import Sentence as _
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop

Point = tuple[float, float]
Ring = list[Point]

LARGEST_M = 1.0
LEAST_CROWN_M = 1e-6


class JointError(ValueError):
    """A number of the joint that cannot be; `where` names the key, `accepts` shows what can.

    `message` is a `Sentence` that a page translates; `str()` of the error is its English.
    """

    def __init__(self, where: str, message: Sentence, accepts: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.where = where
        self.message = message
        self.accepts = accepts


def long(metres: float) -> Figure:
    """Return a length for a message, written in the reader's units."""
    return Figure.of(metres, "m")


def at_most(metres: float) -> tuple[str]:
    """Return what would be accepted where a length is too large."""
    return (f"{math.floor(metres * 1e5) / 100:g} mm",)


def at_least(metres: float) -> tuple[str]:
    """Return what would be accepted where a length is too small."""
    return (f"{math.ceil(metres * 1e5) / 100:g} mm",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Geometry(ABC):
    """The deposited cross-section of one joint: metres, y upwards, the weld's face on top.

    `sources` says of a number (by its name in the joint) where it was stated.
    """

    sources: Mapping[str, str] = field(default_factory=dict, compare=False, repr=False)

    @abstractmethod
    def explain(self) -> list[Step]:
        """Return the steps to the area; the last one is the area in m²."""

    @abstractmethod
    def polygon(self, segments: int = 48) -> list[Ring]:
        """Return the section as rings that do not overlap; `segments` chords stand for an arc."""

    @property
    def area(self) -> float:
        """Deposited cross-section in m²."""
        return self.explain()[-1].value

    def given(self, name: str, value: float, unit: str = "m") -> Input:
        """Return a number of the joint as an input of a step."""
        return Input(
            value,
            unit,
            self.sources.get(name) or _("joint: %(key)s", key=_(name.replace("_", " "))),
        )


def check_length(where: str, value: float, *, zero: bool = True) -> None:
    """Refuse a length that is negative, a metre and more or no number; nought only if `zero`."""
    if not (0 <= value < LARGEST_M) or (value == 0 and not zero):
        told = (
            _("must be 0 or more and under 1 m, got %(got)s m", got=f"{value:g}")
            if zero
            else _("must be more than 0 and under 1 m, got %(got)s m", got=f"{value:g}")
        )
        raise JointError(where, told, ("1/16 in", "3 mm"))


def check_angle(where: str, value: float, *, low: float = 0.0, high: float) -> None:
    """Refuse an angle outside `low` to `high` degrees."""
    if not low <= value <= high:
        raise JointError(
            where,
            _(
                "must lie between %(low)s and %(high)s deg, got %(got)s",
                low=f"{low:g}",
                high=f"{high:g}",
                got=f"{value:g}",
            ),
            (f"{high / 2:g} deg",),
        )


def check_crown(where: str, height: float, width: float) -> None:
    """Refuse a crown higher than half its width: no circular segment stands so steep."""
    if 0 < height < LEAST_CROWN_M:
        told = _("a height under 0.001 mm is none: state 0")
        raise JointError(where, told, ("0 mm", "1/32 in"))
    if height > width / 2:
        raise JointError(
            where,
            _(
                "a height of %(height)s does not fit a width of %(width)s: it is at most half"
                " the width",
                height=long(height),
                width=long(width),
            ),
            at_most(width / 2),
        )


def arc(start: Point, end: Point, height: float, segments: int) -> Ring:
    """Return the points between `start` and `end` on an arc bulging right by `height`."""
    (x0, y0), (x1, y1) = start, end
    chord = math.hypot(x1 - x0, y1 - y0)
    if chord == 0 or height == 0:
        return []
    ux, uy = (x1 - x0) / chord, (y1 - y0) / chord
    rise = abs(height)
    radius = (chord**2 / 4 + rise**2) / (2 * rise)
    half = 2 * math.atan2(2 * rise, chord)
    sign = math.copysign(1.0, height)
    points = []
    for k in range(1, segments):
        angle = half * (2 * k / segments - 1)
        along = chord / 2 + radius * math.sin(angle)
        out = sign * (radius * math.cos(angle) - radius + rise)
        points.append((x0 + ux * along + uy * out, y0 + uy * along - ux * out))
    return points


def crown_ring(start: Point, end: Point, height: float, segments: int) -> list[Ring]:
    """Return the segment on the chord start–end, bulging left of it, as a ring; none where flat."""
    return [[start, end, *arc(end, start, height, segments)]] if height else []


def distinct(ring: Ring) -> Ring:
    """Return `ring` without points that repeat the one before, where an opening is nought."""
    return [point for k, point in enumerate(ring) if point != ring[k - 1]]


def crown_step(work: Worksheet, label: str, width: Input | Step, height: Input | Step) -> Step:
    """Add the area of a circular segment on a chord `width`, `height` high, in m²."""
    if height.value == 0:
        return work.add(label, "width * height", "m2", width=width, height=height)
    angle = 4 * math.atan2(2 * height.value, width.value)
    return work.add(
        label,
        "(width ** 2 / 4 + height ** 2) ** 2 / (8 * height ** 2) * (angle - sine)",
        "m2",
        width=width,
        height=height,
        angle=Input(angle, "rad", _("4 atan(2 height / width), the arc's angle")),
        sine=Input(math.sin(angle), "1", _("sine of the arc's angle")),
    )


def assumed_width(
    work: Worksheet, label: str, opening: Input | Step, height: Input, melted: Input
) -> Step:
    """Add the width of a crown that is not stated: the opening and what melts of its edges.

    Never narrower than a bead of that height is laid (`least_width_per_height`).
    """
    least = defaults().input("least_width_per_height")
    if opening.value + 2 * melted.value >= least.value * height.value:
        return work.add(label, "opening + 2 * melted", "m", opening=opening, melted=melted)
    return work.add(label, "least * height", "m", least=least, height=height)


def melted_edge(thickness: float, share: float) -> Input:
    """Return how far each edge melts back: `share` of the default, or of a thinner plate."""
    default = defaults()["melted_edge"]
    if thickness < default.value:
        source = _("assumed: %(share)s of the thickness melts each side", share=f"{share:g}")
        return Input(share * thickness, "m", source)
    source = _("%(share)s of %(figure)s", share=f"{share:g}", figure=default.stated.source)
    return Input(share * default.value, "m", source)


FACE_WIDTH = gettext_noop("Width of the face (assumed)")
ROOT_WIDTH = gettext_noop("Width of the root bead (assumed)")
FACE_CROWN = gettext_noop("Face reinforcement, a circular segment")
ROOT_CROWN = gettext_noop("Root reinforcement, a circular segment")
SECTION = gettext_noop("Cross-section laid")
