"""The fewest passes a joint can be laid in, by the largest bead one pass may lay."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from curriculum.core.defaults import sourced, table
from curriculum.core.joints import Fillet, Geometry
from curriculum.core.joints.grooves import Groove
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.model import LeastPasses

_MM = 1e-3
_NEARLY = 1e-9  # a size that is just the largest takes one pass


def least_passes(exercise: Exercise, setup: Setup, geometry: Geometry) -> LeastPasses | None:
    """Return the fewest passes that lay `geometry`, by process and position.

    Parameters
    ----------
    exercise, setup : Exercise, Setup
        Process and position; the passes that are stated are counted with their repeats.
    geometry : Geometry
        The joint. A fillet is measured by the area of its triangle between the legs against that of
        the largest single-pass fillet, a groove by its depth against the thickest root pass and
        the thickest layer, from each prepared side.

    Returns
    -------
    LeastPasses or None
        None for beads and pads, which are as many passes as beads, for corners, edges and flares,
        and for a process without a row in `tables/bead_size.toml`.

    Notes
    -----
    A lower bound: a wide layer may have to be split, and learners lay smaller beads. The largest
    beads are those AWS D1.1 allows prequalified procedures (from memory); positions that go all
    round or are not stated take the largest of any position.
    """
    row = next(
        (row for row in table("bead_size")["row"] if exercise.process in row["processes"]), None
    )
    if row is None:
        return None
    work = Worksheet()
    if isinstance(geometry, Fillet):
        _by_leg(work, exercise, geometry, row)
    elif isinstance(geometry, Groove):
        _by_depth(work, exercise, geometry, row)
    else:
        return None
    stated = sum(one.count for one in setup.passes) if setup.passes else None
    return LeastPasses(
        count=round(work.steps[-1].value),
        stated=stated,
        source=sourced(row),
        steps=tuple(work.steps),
    )


def _largest(sizes: Mapping[str, float], exercise: Exercise) -> float:
    return sizes.get(exercise.position.strip()[:1], max(sizes.values()))


def _rounded_up(work: Worksheet, label: str, exact: Step) -> Step:
    whole = max(1, math.ceil(exact.value - _NEARLY))
    up = Input(whole - exact.value, "1", _("up to the next whole number"))
    return work.add(label, "exact + up", "1", exact=exact, up=up)


def _by_leg(work: Worksheet, exercise: Exercise, fillet: Fillet, row: Mapping[str, Any]) -> None:
    leg = _largest(row["fillet_mm"], exercise) * _MM
    exact = work.add(
        gettext_noop("Triangles of the largest single-pass fillet in this one"),
        "leg * leg_2 / largest ** 2",
        "1",
        leg=fillet.given("leg", fillet.leg),
        leg_2=fillet.given("leg" if fillet.leg_2 is None else "leg_2", fillet.upright),
        largest=Input(leg, "m", sourced(row)),
    )
    _rounded_up(work, gettext_noop("Fewest passes"), exact)


def _by_depth(work: Worksheet, exercise: Exercise, groove: Groove, row: Mapping[str, Any]) -> None:
    left, right, both_sides = groove.flanks()
    flank = left or right
    sides = 2 if flank and flank.depth and both_sides else 1
    root = Input(_largest(row["root_mm"], exercise) * _MM, "m", sourced(row))
    depth = work.add(
        gettext_noop("Depth to be filled from one side"),
        "thickness / sides",
        "m",
        thickness=groove.given("thickness", groove.thickness),
        sides=Input(sides, "1", _("prepared from so many sides")),
    )
    if depth.value <= root.value * (1 + _NEARLY):
        layers: Input | Step = Input(0.0, "1", _("the root pass fills it"))
    else:
        exact = work.add(
            gettext_noop("Layers over the root pass, not rounded"),
            "(depth - root) / layer",
            "1",
            depth=depth,
            root=root,
            layer=Input(row["layer_mm"] * _MM, "m", sourced(row)),
        )
        layers = _rounded_up(work, gettext_noop("Layers over the root pass"), exact)
    work.add(
        gettext_noop("Fewest passes"),
        "sides * (1 + layers)",
        "1",
        sides=Input(sides, "1", _("prepared from so many sides")),
        layers=layers,
    )
