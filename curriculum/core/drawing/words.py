"""Figures as they stand on a drawing, and drawings in words for those who cannot see them."""

from __future__ import annotations

from shared.units import Measure, Range, show, show_range

from ..sentence import Sentence as _
from ..spec import Exercise, Setup

DIGITS = 3  # a converted figure is read at arm's length
COUNT_WORDS = {
    2: _("two"),
    3: _("three"),
    4: _("four"),
    5: _("five"),
    6: _("six"),
    7: _("seven"),
    8: _("eight"),
    9: _("nine"),
}
KINDS: dict[str, _] = {
    "square groove": _("Square groove"),
    "single V": _("Single V"),
    "double V": _("Double V"),
    "single bevel": _("Single bevel"),
    "double bevel": _("Double bevel"),
    "J groove": _("J groove"),
    "U groove": _("U groove"),
    "tee fillet": _("Tee fillet"),
    "lap fillet": _("Lap fillet"),
    "outside corner": _("Outside corner"),
    "edge": _("Edge"),
    "flare bevel": _("Flare bevel"),
    "bead": _("Bead"),
    "padding": _("Padding"),
    "none": _("Cut"),
}

Quantity = Measure | Range


def figure(value: Quantity, system: str, metal: str | None = None) -> tuple[str, str]:
    """Return a figure and its unit as they stand on a drawing: bounds only, without a start."""
    if isinstance(value, Measure):
        shown = show(value, system, metal, digits=DIGITS)
    else:
        bounds = value
        if value.start is not None and (value.low is not None or value.high is not None):
            bounds = Range.of(value.low, value.high, value.unit)
        shown = show_range(bounds, system, metal, digits=DIGITS)
    text, unit = (f"{shown.figure}°", "") if shown.unit == "°" else (shown.figure, shown.unit)
    # The typeface has neither sign.
    if text.startswith("≤ "):
        text = _("at most %(limit)s", limit=text.removeprefix("≤ "))
    elif text.startswith("≥ "):
        text = _("at least %(limit)s", limit=text.removeprefix("≥ "))
    return text, unit


def amount(value: Quantity) -> float:
    """Return the value that a drawing is made with, in SI: a range's working value."""
    return value.value if isinstance(value, Measure) else value.working


def thickness_figure(setup: Setup, system: str) -> tuple[str, str]:
    """Return the thickness: in US units by gauge where it is one, else as a measure."""
    metal = "galvanised" if setup.coating.startswith("galvan") else setup.metal
    return figure(setup.thickness, system, metal)


def passes_of(setup: Setup) -> int:
    """Return how many passes are laid, at least one."""
    counted = sum(one.count for one in setup.passes)
    return max(counted, setup.joint.beads if setup.joint.kind == "padding" else 1, 1)


def describe(exercise: Exercise, setup: Setup, system: str = "us") -> _:
    """Say in words what the joint's drawing shows, for a screen reader."""
    joint = setup.joint
    named: list[tuple[str, Quantity | None]] = [
        (_("root opening %(figure)s"), joint.root_opening),
        (_("root face %(figure)s"), joint.root_face),
        (_("groove angle %(figure)s"), joint.groove_angle),
        (_("bevel angle %(figure)s"), joint.bevel_angle),
        (_("corner angle %(figure)s"), joint.corner_angle),
        (_("groove radius %(figure)s"), joint.groove_radius),
        (_("leg %(figure)s"), joint.leg),
        (_("other leg %(figure)s"), joint.leg_2),
        (_("overlap %(figure)s"), joint.overlap),
        (_("gap %(figure)s"), joint.gap),
        (
            _("convexity %(figure)s") if joint.contour == "convex" else _("hollow %(figure)s"),
            joint.convexity,
        ),
        (_("face reinforcement %(figure)s"), joint.face_reinforcement),
        (_("root reinforcement %(figure)s"), joint.root_reinforcement),
        (_("face width %(figure)s"), joint.face_width),
        (_("bead width %(figure)s"), joint.bead_width),
        (_("bead height %(figure)s"), joint.bead_height),
    ]
    thickness = _("thickness %(figure)s", figure=_.join(thickness_figure(setup, system)))
    said = [thickness, *measures_said(named, system)]
    if joint.backing:
        said.append(_("on a backing"))
    if joint.contour != "flat":
        said.append(_("convex face") if joint.contour == "convex" else _("concave face"))
    shows = _(
        "Section to scale. %(kind)s: %(measures)s.",
        kind=KINDS[joint.kind],
        measures=_.join(said, ", "),
    )
    if joint.kind == "none":
        return shows
    count = passes_of(setup)
    laid = _("Welded in %(count)s passes.", count=COUNT_WORDS.get(count, count))
    said_all = [shows, laid if count > 1 else _("Welded in one pass.")]
    if setup.tacks:
        said_all.append(_("%(tacks)s.", tacks=tacks_said(setup, system)))
    return _.join(said_all)


def tacks_said(setup: Setup, system: str) -> _:
    """Say how many tacks hold the joint, and how long each is where that is stated."""
    if setup.tack_length is None:
        return _("Tacks %(count)s", count=setup.tacks)
    long = _.join(figure(setup.tack_length, system))
    return _("Tacks %(count)s × %(length)s", count=setup.tacks, length=long)


def measures_said(named: list[tuple[str, Quantity | None]], system: str) -> list[_]:
    """Return those measures that are stated, in words; each name carries `%(figure)s`."""
    return [_(name, figure=_.join(figure(value, system))) for name, value in named if value]
