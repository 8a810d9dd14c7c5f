"""How much acetylene may be drawn an hour over all lit torches of a manifold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from curriculum.core.defaults import table
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.setup_check.finding import Finding
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop

HOUR_S = 3600.0
MOST_CYLINDERS = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifold:
    """Cylinders that feed the torches together; `content_m3` is what one holds, m³ at 70 °F."""

    cylinders: int
    content_m3: float

    def __post_init__(self) -> None:
        if not 1 <= self.cylinders <= MOST_CYLINDERS:
            raise ValueError(f"cylinders must lie from 1 to {MOST_CYLINDERS}, got {self.cylinders}")
        if not 0 < self.content_m3 < 1000:
            raise ValueError(f"content_m3 must lie from above 0 to 1000, got {self.content_m3}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """Flow of all torches and what the manifold gives, m³/s, and what to make of it."""

    flow_m3_s: float
    limit_m3_s: float
    steady_m3_s: float
    finding: Finding
    steps: tuple[Step, ...]


def acetylene_draw(flows_m3_s: Sequence[float], manifold: Manifold) -> Draw:
    """Hold the flows of all lit torches (m³/s each, 0 or more) against the manifold.

    Over a seventh of the content an hour is outside; over a tenth, the figure for steady use, is
    looked at again. A cylinder that is part empty gives less: the content is what is in it.

    Raises
    ------
    ValueError
        If a flow is below 0, 1 m³/s or more, or no number.
    """
    if any(not 0 <= flow < 1 for flow in flows_m3_s):
        raise ValueError("each flow must lie from 0 to below 1 m³/s")
    rule = table("gas_cylinder")["draw"]
    work = Worksheet()
    names = {f"torch_{place}": flow for place, flow in enumerate(flows_m3_s, 1)}
    flow = work.add(
        gettext_noop("Flow of all lit torches"),
        " + ".join(names) or "0",
        "m3/s",
        **{name: Input(one, "m3/s", _("stated for the setup")) for name, one in names.items()},
    )
    content = work.add(
        gettext_noop("Content of the manifold"),
        "cylinders * content",
        "m3",
        cylinders=Input(manifold.cylinders, "1", _("stated for the shop")),
        content=Input(manifold.content_m3, "m3", _("stated for the pack")),
    )
    limits = [
        work.add(
            label,
            "content * share / hour",
            "m3/s",
            content=content,
            share=Input(rule[name], "1", _(rule[f"{name}_source"])),
            hour=Input(HOUR_S, "s", ""),
        )
        for label, name in (
            (gettext_noop("Most for steady use"), "continuous"),
            (gettext_noop("Most at any time"), "intermittent"),
        )
    ]
    steady, most = (one.value for one in limits)
    return Draw(
        flow_m3_s=flow.value,
        limit_m3_s=most,
        steady_m3_s=steady,
        finding=_finding(flow.value, steady, most),
        steps=tuple(work.steps),
    )


def _finding(flow: float, steady: float, most: float) -> Finding:
    rule = table("gas_cylinder")["draw"]
    over_steady, over = flow > steady * (1 + 1e-9), flow > most * (1 + 1e-9)
    limit = most if over else steady
    parts = {"flow": Figure.of(flow, "m3/s"), "limit": Figure.of(limit, "m3/s")}
    if over:
        message = _(
            "All torches together draw %(flow)s of acetylene, the manifold gives %(limit)s at "
            "most: solvent comes along and the flame may flash back. Light fewer torches or put "
            "on more cylinders.",
            **parts,
        )
    elif over_steady:
        message = _(
            "All torches together draw %(flow)s of acetylene, for steady use the manifold gives "
            "%(limit)s: let them not all burn at once, or put on more cylinders.",
            **parts,
        )
    else:
        message = _(
            "All torches together draw %(flow)s of acetylene, the manifold gives %(limit)s.",
            **parts,
        )
    return Finding(
        rule="acetylene_draw",
        level="outside" if over else "look" if over_steady else "ok",
        value=flow,
        limit=limit,
        unit="m3/s",
        source=_(rule["intermittent_source" if over else "continuous_source"]),
        message=message,
    )
