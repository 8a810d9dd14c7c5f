"""How many passes a joint is laid in."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.joints import BUILDERS, JointError, build
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup
from curriculum.core.usage import least_passes

from .finding import SHARE, Finding


def fewest_passes(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Passes that are stated against the fewest the largest beads make; more are always right."""
    if not setup.passes or setup.joint.kind not in BUILDERS:
        return
    try:
        geometry = build(setup.joint, setup.thickness.value)
    except JointError:
        return  # the reader says so at its key
    least = least_passes(exercise, setup, geometry)
    if least is None or least.stated is None:
        return
    numbers = {"stated": least.stated, "fewest": least.count}
    yield Finding(
        rule="fewest_passes",
        level="look" if least.too_few else "ok",
        value=float(least.stated),
        limit=float(least.count),
        unit=SHARE,
        source=least.source,
        message=_(
            "Passes: %(stated)s; the largest beads that one pass may lay take %(fewest)s.",
            **numbers,
        ),
    )
