"""Polarity."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.spec import Exercise, Setup

from .current import covered_class
from .finding import Finding, Level, table


def polarity(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Polarity against electrode class (SMAW), wire (GMAW) and metal (GTAW on aluminium)."""
    if not setup.polarity:
        return
    rules = table("rules")["polarity"]
    level: Level
    if exercise.process == "SMAW" and setup.electrode:
        data, name = table("smaw_current"), covered_class(setup.electrode)
        row = next((r for r in data["polarity"] if r["classification"] == name), None)
        if row is None:
            return
        allowed = row["allowed"].split(", ")
        # Tables agree only on E6010; for the others one table or another lists more.
        wrong: Level = "outside" if name == "E6010" else "look"
        level = "ok" if setup.polarity in allowed else wrong
        source = data["titles"][row["source"]]
    elif exercise.process == "GMAW":
        allowed, name, source = ["DCEP"], "Solid wire", rules["wire_source"]
        level = "ok" if setup.polarity == "DCEP" else "outside"
    elif exercise.process == "GTAW" and setup.metal == "aluminium":
        allowed, name, source = ["AC"], "Aluminium", rules["aluminium_source"]
        level = "ok" if setup.polarity == "AC" else "look"
    else:
        return
    yield Finding(
        rule="polarity",
        level=level,
        value=None,
        limit=None,
        unit="",
        source=source,
        message=f"{name} on {setup.polarity}; it runs on {' or '.join(allowed)}.",
    )
