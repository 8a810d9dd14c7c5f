"""Heat input with the arc efficiency of EN 1011-1."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.heat_input import UNIT, pass_heat
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup

from .finding import Finding, most, rule_of


def heat_input(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Heat input of an arc weld against what is usual for its metal; never outside."""
    rule = rule_of("heat")
    limit = rule["usual_j_per_m"].get(setup.metal)
    heat = pass_heat(
        exercise,
        voltage=setup.voltage,
        current=setup.current,
        travel_speed=setup.travel_speed,
    )
    if limit is None or heat is None or heat.span is None or heat.working is None:
        return
    high = most(heat.span)
    parts: dict[str, object] = {
        "figure": Figure.of(heat.working.heat_input, UNIT),
        "high": Figure.of(high, UNIT),
        "limit": Figure.of(limit, UNIT),
        "k": f"{heat.working.k:g}",
    }
    if high > limit:
        said = _(
            "Heat input %(figure)s, up to %(high)s, at an arc efficiency of %(k)s; usual is at "
            "most %(limit)s: travel faster or take less current.",
            **parts,
        )
    else:
        said = _(
            "Heat input %(figure)s, up to %(high)s, at an arc efficiency of %(k)s; usual is at "
            "most %(limit)s.",
            **parts,
        )
    assumed = _("The voltage is assumed.") if heat.voltage_assumed else ""
    yield Finding(
        rule="heat_input",
        level="look" if high > limit else "ok",
        value=high,
        limit=limit,
        unit=UNIT,
        source=rule["source"],
        message=_.join([said, assumed]),
    )
