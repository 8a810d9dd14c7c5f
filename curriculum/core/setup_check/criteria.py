"""Limits of the criteria: one laxer than every standard is most likely a slip."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup

from .finding import METRES, Finding, length, rule_of

OTHER = ("length", "sum", "total", "distance", "spacing")  # how long, not how deep or wide


def criterion_limit(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A measured limit over the laxest of the standards is looked at; a shop may be stricter."""
    rows = rule_of("criterion")["row"]
    for one in exercise.criteria:
        stated = one.cap or one.max
        if one.kind != "measured" or stated is None or stated.unit != METRES:
            continue
        name = one.name.lower()
        if any(word in name for word in OTHER):
            continue
        row = next((row for row in rows if any(word in name for word in row["words"])), None)
        if row is None:
            continue
        lax = stated.value > row["over_m"] * (1 + 1e-9)
        parts = {"name": one.name, "figure": Figure(stated), "limit": length(row["over_m"])}
        yield Finding(
            rule="criterion_limit",
            level="look" if lax else "ok",
            value=stated.value,
            limit=row["over_m"],
            unit=METRES,
            source=row["source"],
            message=_("%(name)s at most %(figure)s is laxer than any standard: %(limit)s.", **parts)
            if lax
            else _("%(name)s at most %(figure)s; standards allow up to %(limit)s.", **parts),
        )
