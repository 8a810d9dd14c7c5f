"""A welding symbol as data: what it says of each side of a joint, before any standard draws it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shared.units import Measure, Range

from ...library_keys import iso4063
from ...spec import Exercise, Joint, Marks, Setup
from ..words import Quantity

SIGNS = {
    "square groove": "square",
    "outside corner": "square",
    "single V": "V",
    "double V": "V",
    "single bevel": "bevel",
    "double bevel": "bevel",
    "J groove": "J",
    "U groove": "U",
    "flare bevel": "flare bevel",
    "tee fillet": "fillet",
    "lap fillet": "fillet",
    "edge": "edge",
    "bead": "surfacing",
    "padding": "surfacing",
}
"""The weld sign of each kind of joint."""

DOUBLE = ("double V", "double bevel")
ONE_MEMBER_PREPARED = ("single bevel", "double bevel", "J groove", "flare bevel")
FULL_LENGTH = 0.999  # of the pieces: a weld that long needs no length


@dataclass(frozen=True, slots=True, kw_only=True)
class Weld:
    """The weld on one side of the joint; None and empty mean that nothing is said."""

    sign: str
    legs: tuple[Quantity, ...] = ()  # one, or two where they differ
    depth: Quantity | None = None  # of a groove's preparation
    effective: Quantity | None = None  # penetration that counts
    height: Quantity | None = None  # of surfacing
    opening: Quantity | None = None
    angle: Quantity | None = None
    length: Quantity | None = None
    pitch: Quantity | None = None  # from centre to centre
    count: int | None = None
    contour: str = ""  # flush, convex, concave
    finish: str = ""  # G, C, M, R, H, U, P
    blended: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A whole symbol: what stands on either side, round the elbow and in the tail."""

    arrow: Weld
    other: Weld | None = None
    melt_through: bool = False
    root_height: Quantity | None = None  # of what stands through
    back: str = ""  # back (after the groove), backing (before it)
    backing: str = ""  # permanent, temporary
    all_around: bool = False
    field: bool = False
    staggered: bool = False
    broken_arrow: bool = False  # it points at the one member that is prepared
    process: str
    iso4063: str
    quality: str = ""  # level of ISO 5817
    note: str = ""

    @property
    def symmetric(self) -> bool:
        """Whether both sides say the same, the opening being said once."""
        return not self.staggered and self.other == replace(self.arrow, opening=None)


def symbol_of(exercise: Exercise, setup: Setup) -> Symbol | None:
    """Return what the welding symbol of a setup says; None where nothing is welded."""
    joint, marks = setup.joint, setup.joint.symbol
    if joint.kind == "none":
        return None
    arrow = _weld(setup)
    both = joint.kind in DOUBLE or marks.other_side
    return Symbol(
        arrow=arrow,
        other=replace(arrow, opening=None) if both else None,
        melt_through=joint.melt_through,
        root_height=_from_zero(joint.root_reinforcement),
        back=marks.back,
        backing=("temporary" if marks.backing_removed else "permanent") if joint.backing else "",
        all_around=marks.all_around,
        field=marks.field,
        staggered=marks.staggered,
        broken_arrow=joint.kind in ONE_MEMBER_PREPARED,
        process=exercise.process,
        iso4063=exercise.iso4063 or iso4063(exercise.process, exercise.setups),
        quality=marks.quality,
        note=marks.tail,
    )


def _weld(setup: Setup) -> Weld:
    joint, marks = setup.joint, setup.joint.symbol
    said = Weld(
        sign=SIGNS[joint.kind],
        length=marks.length or _short_length(setup),
        pitch=marks.pitch,
        count=marks.count,
        contour=_contour(joint, marks),
        finish=marks.finish,
        blended=marks.blended,
    )
    if said.sign == "fillet":
        legs = [leg for leg in (joint.leg, joint.leg_2) if leg is not None]
        return replace(said, legs=tuple(legs if len(set(map(_bounds, legs))) > 1 else legs[:1]))
    if said.sign == "surfacing":
        return replace(said, height=joint.bead_height)
    if said.sign == "edge":
        return said
    angle = joint.groove_angle or joint.bevel_angle
    if angle is not None and angle is joint.bevel_angle and said.sign in ("V", "U"):
        angle = Measure.of(2 * angle.value, angle.unit)  # both sides of the groove
    return replace(
        said,
        depth=marks.depth,
        effective=marks.effective,
        opening=_from_zero(joint.root_opening),
        angle=None if said.sign in ("square", "flare bevel") else angle,
    )


def _from_zero(value: Range | None) -> Range | None:
    """Say "at most" in figures alone, where nothing is under 0: a sign has room for no words."""
    if value is None or value.low is not None or value.high is None:
        return value
    return Range.of(0.0, value.high, value.unit)


def _bounds(leg: Quantity) -> object:
    return replace(leg, typed="")


def _contour(joint: Joint, marks: Marks) -> str:
    """A finished flat face needs the sign too: without one the letter would stand alone."""
    if joint.contour != "flat":
        return joint.contour
    return "flush" if marks.flush or marks.finish else ""


def _short_length(setup: Setup) -> Quantity | None:
    """The length of the weld, only where it does not run the full length of the pieces."""
    full = max((piece.length.value for piece in setup.parts), default=0.0)
    weld = setup.weld_length
    if weld is None or not full or setup.joint.kind == "padding":
        return None
    return None if weld.value > full * FULL_LENGTH else weld
