"""How a torch, gun or electrode is held and led, as a sheet shows it."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from curriculum.core import spec
from curriculum.core.drawing import (
    describe_angles,
    end_view,
    ends_by_pass,
    path_strip,
    place_of,
    side_view,
    sides_by_pass,
)

ABOVE, ALONG, SIDE = (
    gettext_noop("Seen from above"),
    gettext_noop("Seen along the weld"),
    gettext_noop("Seen from the side"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AngleRow:
    """One view of the tool, the passes it is for (empty: all), and what it shows in words.

    `drawing` is empty where the tool at its angle would stand in the plate.
    """

    passes: str
    drawing: SafeString
    seen: str
    text: str


def angle_rows(
    exercise: spec.Exercise,
    setup: spec.Setup,
    *,
    units: str,
    left_handed: bool,
    paper: bool,
    ident: str,
) -> list[AngleRow]:
    """Return the views along the weld, one for each work angle, and then those from the side.

    `ident` makes the ids of the drawings unique on a page; `left_handed` mirrors the view from
    the side and what is said of the way of travel.
    """
    rows = []
    for number, (labels, held) in enumerate(ends_by_pass(setup)):
        view = end_view(exercise, setup, held, system=units, paper=paper, say=_)
        rows.append(
            AngleRow(
                passes=", ".join(labels),
                # The drawing escapes every text it writes.
                drawing=SafeString(view.svg(f"{ident}-{number}") if view else ""),
                seen=_(ABOVE if upright(exercise) else ALONG),
                text=describe_angles(exercise, held, units).in_words(_),
            )
        )
    for number, (labels, held) in enumerate(sides_by_pass(setup)):
        side = side_view(
            exercise, setup, held, left_handed=left_handed, system=units, paper=paper, say=_
        )
        rows.append(
            AngleRow(
                passes=", ".join(labels),
                drawing=SafeString(side.svg(f"{ident}-{number}") if side else ""),
                seen=_(_side_of(exercise, setup)),
                text=describe_angles(exercise, held, units, left_handed=left_handed).in_words(_),
            )
        )
    return rows


def _side_of(exercise: spec.Exercise, setup: spec.Setup) -> str:
    """A weld that runs level on a standing plate is looked at from above."""
    stands = (
        place_of(exercise.position).turn == "horizontal" and setup.joint.kind not in spec.FILLETS
    )
    return ABOVE if stands else SIDE


def upright(exercise: spec.Exercise) -> bool:
    """Say whether the weld goes up or down a standing plate."""
    return place_of(exercise.position).turn == "vertical"


def path_drawing(
    exercise: spec.Exercise,
    setup: spec.Setup,
    pass_no: int,
    *,
    left_handed: bool,
    paper: bool,
    ident: str,
) -> SafeString:
    """Return how the puddle is led on a pass, 1 for the first that the setup states."""
    strip = path_strip(exercise, setup, pass_no, left_handed=left_handed, paper=paper, say=_)
    return SafeString(strip.svg(f"{ident}-path{pass_no}"))
