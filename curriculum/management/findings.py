"""Findings and heat input as commands answer them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from curriculum.core.heat_input import UNIT, HeatInput, PassHeat, by_pass
from curriculum.core.setup_check import Finding, check
from curriculum.core.spec import Exercise, Setup
from shared.units import Measure, show

ORDER = {"outside": 0, "look": 1, "ok": 2}


def finding_rows(exercise: Exercise, setup: Setup) -> list[dict[str, Any]]:
    """Return the findings on a setup and its passes as JSON objects."""
    return [_row(finding) for finding in check(exercise, setup)]


def accepted_by(exercise: Exercise) -> dict[str, str] | None:
    """Return who accepted each *look again* of an exercise by reviewing it, and when."""
    if not exercise.reviewed_by or not exercise.reviewed_on:
        return None
    return {"by": exercise.reviewed_by, "on": exercise.reviewed_on.isoformat()}


def _row(finding: Finding) -> dict[str, Any]:
    def quantity(value: float | None) -> dict[str, Any] | None:
        return None if value is None else {"value": value, "unit": finding.unit}

    return {
        "rule": finding.rule,
        "level": finding.level,
        "value": quantity(finding.value),
        "limit": quantity(finding.limit),
        "source": finding.source,
        "message": finding.message,
        "place": finding.place,
    }


def finding_lines(
    rows: Iterable[Mapping[str, Any]], accepted: Mapping[str, str] | None
) -> list[str]:
    """Return findings as lines to read, what is outside first, with who `accepted` a look."""
    words = {"outside": _("outside"), "look": _("look again"), "ok": _("ok")}
    lines = []
    for row in sorted(rows, key=lambda row: ORDER[row["level"]]):
        place = f" ({row['place']})" if row["place"] else ""
        lines.append(f"{words[row['level']]:<10} {row['message']}{place}")
        if accepted and row["level"] == "look":
            by = _("accepted by %(by)s, %(on)s") % accepted
            lines.append(f"{'':<10} {by}")
        lines.append(f"{'':<10} {_('Source')}: {row['source']}")
    return lines


def heat_rows(exercise: Exercise, setup: Setup) -> list[dict[str, Any]]:
    """Return arc energy and heat input of each pass as JSON objects; none for a flame."""
    return [_heat(one) for one in by_pass(exercise, setup)]


def _heat(one: PassHeat) -> dict[str, Any]:
    def figures(heat: HeatInput | None) -> dict[str, Any] | None:
        if heat is None:
            return None
        return {
            "arc_energy": {"value": heat.arc_energy, "unit": UNIT},
            "efficiency": {"value": heat.k, "unit": "1"},
            "heat_input": {"value": heat.heat_input, "unit": UNIT},
            "steps": [step.as_json() for step in heat.steps],
        }

    return {
        "pass": one.number,
        "technique": one.technique,
        "low": figures(one.low),
        "working": figures(one.working),
        "high": figures(one.high),
        "voltage_assumed": one.voltage_assumed,
        "missing": list(one.missing),
    }


def heat_lines(rows: Iterable[Mapping[str, Any]]) -> list[str]:
    """Return heat input of each pass as lines to read, in both systems."""

    def shown(side: Mapping[str, Any], system: str) -> str:
        heat = Measure.of(side["heat_input"]["value"], UNIT)
        return str(show(heat, system, digits=3))

    lines = []
    for row in rows:
        label = " ".join(filter(None, (_("Heat input"), row["pass"], row["technique"])))
        if row["missing"]:
            lines.append(f"{label}: {_('not stated, or zero')}: {', '.join(row['missing'])}")
            continue
        spans = (
            " / ".join(shown(row[side], system) for side in ("low", "working", "high"))
            for system in ("us", "metric")
        )
        assumed = f" ({_('voltage assumed')})" if row["voltage_assumed"] else ""
        lines.append(f"{label}: {'; '.join(spans)}{assumed}")
    return lines
