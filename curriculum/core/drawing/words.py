"""Figures as they stand on a drawing, and drawings in words for those who cannot see them."""

from __future__ import annotations

from shared.units import Measure, Range, show, show_range

from ..spec import Exercise, Setup

DIGITS = 3  # a converted figure is read at arm's length
COUNT_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

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
    # The typeface has neither sign.
    text = shown.figure.replace("≤ ", "at most ").replace("≥ ", "at least ")
    return (text, shown.unit) if shown.unit != "°" else (f"{text}°", "")


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


def describe(exercise: Exercise, setup: Setup, system: str = "us") -> str:
    """Say in words what the joint's drawing shows, for a screen reader."""
    joint = setup.joint
    said = [f"thickness {_said(thickness_figure(setup, system))}"]
    named: list[tuple[str, Quantity | None]] = [
        ("root opening", joint.root_opening),
        ("root face", joint.root_face),
        ("groove angle", joint.groove_angle),
        ("bevel angle", joint.bevel_angle),
        ("corner angle", joint.corner_angle),
        ("leg", joint.leg),
        ("other leg", joint.leg_2),
        ("overlap", joint.overlap),
        ("gap", joint.gap),
        ("face reinforcement", joint.face_reinforcement),
        ("root reinforcement", joint.root_reinforcement),
        ("face width", joint.face_width),
        ("bead width", joint.bead_width),
        ("bead height", joint.bead_height),
    ]
    said += [f"{name} {_said(figure(value, system))}" for name, value in named if value]
    if joint.backing:
        said.append("on a backing")
    if joint.contour != "flat":
        said.append(f"{joint.contour} face")
    kind = "Cut" if joint.kind == "none" else joint.kind[0].upper() + joint.kind[1:]
    count = passes_of(setup)
    laid = COUNT_WORDS[count] if count < len(COUNT_WORDS) else str(count)
    ending = "" if joint.kind == "none" else f" Welded in {laid} pass{'es' if count > 1 else ''}."
    return f"Section to scale. {kind}: {', '.join(said)}.{ending}"


def describe_symbol(exercise: Exercise, setup: Setup, system: str = "us") -> str:
    """Say in words what the welding symbol says."""
    joint = setup.joint
    if joint.kind == "none":
        return "No weld, no symbol."
    kind = {
        "tee fillet": "fillet weld",
        "lap fillet": "fillet weld",
        "outside corner": "square groove weld",
        "square groove": "square groove weld",
        "single V": "V groove weld",
        "single bevel": "bevel groove weld",
        "bead": "surfacing weld",
        "padding": "surfacing weld",
    }.get(joint.kind, f"{joint.kind} weld")
    said = [f"{kind} on the arrow side"]
    fillet = "fillet" in joint.kind
    surfacing = joint.kind in ("bead", "padding")
    named: list[tuple[str, Quantity | None]] = [
        ("leg", joint.leg if fillet else None),
        ("other leg", joint.leg_2 if fillet else None),
        ("height", joint.bead_height if surfacing else None),
        ("root opening", None if fillet or surfacing else joint.root_opening),
        ("groove angle", None if fillet or surfacing else joint.groove_angle or joint.bevel_angle),
    ]
    said += [f"{name} {_said(figure(value, system))}" for name, value in named if value]
    if joint.backing:
        said.append("backing on the other side")
    elif joint.melt_through:
        said.append("melt-through on the other side")
    if joint.contour != "flat":
        said.append(f"{joint.contour} contour")
    return f"Welding symbol: {', '.join(said)}, tail {exercise.process}."


def _said(parts: tuple[str, str]) -> str:
    return " ".join(part for part in parts if part)
