"""The coupon: its pieces against the weld, and against the straps of a bend test."""

from __future__ import annotations

import re
from collections.abc import Iterator

from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import CUTTING, GROOVES, Criterion, Exercise, Setup

from .finding import (
    METRES,
    SAME_SIZE,
    Finding,
    Level,
    length,
    rule_of,
    same_size,
    sheet,
    thick_as_said,
    words,
)

STRAPS = {"one": 1, "two": 2, "three": 3, "four": 4}


def weld_length(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Weld length against the longest piece; a cut may be made up of several, a pipe goes round."""
    pieces = setup.parts
    if not setup.weld_length or not pieces or exercise.process in CUTTING:
        return
    if any(piece.form == "pipe" for piece in pieces):
        return
    longest = max(piece.length.value for piece in pieces)
    over = setup.weld_length.value > longest * (1 + SAME_SIZE)
    parts = {"weld": Figure(setup.weld_length), "piece": length(longest)}
    yield Finding(
        rule="weld_length",
        level="outside" if over else "ok",
        value=setup.weld_length.value,
        limit=longest,
        unit=METRES,
        source=rule_of("pieces")["source"],
        message=_("A weld of %(weld)s is longer than the pieces: %(piece)s.", **parts)
        if over
        else _("A weld of %(weld)s on pieces of %(piece)s.", **parts),
    )


def piece_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """At least one piece is as thick as the setup says, else it is looked at."""
    pieces = setup.parts
    if not pieces:
        return
    thick = setup.thickness.value
    if any(same_size(piece.thickness.value, thick) for piece in pieces):
        return
    nearest = min(pieces, key=lambda piece: abs(piece.thickness.value - thick))
    yield Finding(
        rule="piece_thickness",
        level="look",
        value=nearest.thickness.value,
        limit=thick,
        unit=METRES,
        source=rule_of("pieces")["source"],
        message=_(
            "The setup is for %(sheet)s, and no piece is that thick: %(piece)s.",
            sheet=sheet(setup),
            piece=thick_as_said(nearest.thickness.value, setup),
        ),
    )


def piece_count(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A joint needs two pieces, a bead one."""
    count = sum(piece.count for piece in setup.parts)
    if not setup.pieces or setup.joint.kind in ("bead", "padding", "none"):
        return
    if count >= 2:
        return
    yield Finding(
        rule="piece_count",
        level="look",
        value=float(count),
        limit=2.0,
        unit="1",
        source=rule_of("pieces")["source"],
        message=_("A joint has two pieces, and %(count)s is stated.", count=count),
    )


def _straps(criterion: Criterion) -> int:
    text = criterion.name.lower()
    number = re.search(
        r"\b(\d+|one|two|three|four)\b(?:\s+\w+){0,2}\s*(?:straps?|specimens?)", text
    )
    if number:
        return STRAPS.get(number[1]) or int(number[1])
    kinds = sum(kind in text for kind in ("root", "face"))
    return max(1, kinds)


def bend_coupon(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Coupon size against the straps that are bent: too short for them is outside.

    Straps without the ends that are discarded still fit: looked at. Short straps: looked at.
    """
    bends = [one for one in exercise.criteria if one.kind == "bend"]
    pieces = setup.parts
    if not bends or not pieces or not setup.weld_length or setup.joint.kind not in GROOVES:
        return
    if any(piece.form == "pipe" for piece in pieces):
        return
    rule, weld = rule_of("bend"), setup.weld_length.value
    straps = 0.0
    for one in bends:
        side = "side" in one.name.lower() and setup.thickness.value >= rule["side_from_m"] * 0.97
        straps += _straps(one) * rule["side_width_m" if side else "width_m"]
    wanted = straps + 2 * rule["discard_m"]
    level: Level = "ok"
    value, limit = weld, wanted
    parts = {"weld": length(weld), "wanted": length(wanted), "straps": length(straps)}
    across = sum(piece.width.value * piece.count for piece in pieces)
    if weld < straps * (1 - SAME_SIZE):
        level, limit = "outside", straps
        message = _(
            "The bend straps take %(straps)s of weld and the coupon has %(weld)s: with the ends "
            "discarded it takes %(wanted)s.",
            **parts,
        )
    elif weld < wanted * (1 - SAME_SIZE):
        level = "look"
        message = _(
            "The bend straps and the ends that are discarded take %(wanted)s of weld, and the "
            "coupon has %(weld)s.",
            **parts,
        )
    elif across < rule["length_m"] * (1 - SAME_SIZE):
        level, value, limit = "look", across, rule["length_m"]
        message = _(
            "Bend straps of %(across)s are short: %(wanted)s across the weld.",
            across=length(across),
            wanted=length(limit),
        )
    else:
        message = _(
            "The coupon of %(weld)s holds the bend straps and the ends: %(wanted)s.", **parts
        )
    yield Finding(
        rule="bend_coupon",
        level=level,
        value=value,
        limit=limit,
        unit=METRES,
        source=rule["source"],
        message=message,
    )


def tacks(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Tacks longer together than the weld are looked at."""
    if not setup.tacks or not setup.tack_length or not setup.weld_length:
        return
    whole = setup.tacks * setup.tack_length.value
    if whole < setup.weld_length.value:
        return
    message = _(
        "%(count)s tacks of %(tack)s are as long as the weld.",
        count=setup.tacks,
        tack=Figure(setup.tack_length),
    )
    yield words("tacks", "look", message, rule_of("pieces")["source"])
