"""Filler rod against the sheet."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.spec import Exercise, Setup

from .finding import METRES, Finding, Level, size, table


def filler_thickness(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Filler rod against sheet: outside only over 1.25 times the thickness."""
    if exercise.process not in ("GTAW", "OFW") or not setup.filler:
        return
    rule, rod, sheet = table("rules")["filler"], setup.filler.diameter.value, setup.thickness.value
    share = rod / sheet
    level: Level = "ok"
    factor = rule["look_over"]
    if share > rule["outside_over"]:
        level, factor = "outside", rule["outside_over"]
    elif share > rule["look_over"] * (1 + rule["nominal"]):
        level = "look"
    words = {
        "ok": "suits",
        "look": "is thicker than",
        "outside": "is far too thick for",
    }[level]
    tail = "" if level == "ok" else " It takes the heat of the puddle: take a thinner one."
    yield Finding(
        rule="filler_thickness",
        level=level,
        value=rod,
        limit=factor * sheet,
        unit=METRES,
        source=rule["source"],
        message=f"A rod of {size(rod)} {words} {size(sheet)} metal.{tail}",
    )
