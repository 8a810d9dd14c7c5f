"""One coupon as its page shows it: criteria, both sides' readings, what came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from curriculum.core import spec
from curriculum.core.limits import Allowed
from curriculum.models import Criterion
from curriculum.services import to_spec
from curriculum.services.sheet import pick_setup, said, said_limit
from grading.core.taken import unit_of
from grading.core.verdict import Outcome, evaluate
from grading.core.verdict import Reading as Taken
from grading.models import Attempt, Reading, Verdict
from grading.services.heat import heat_context
from grading.services.today import pinned_version
from grading.services.verdicts import why_said
from shared.units import Measure, show


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One criterion: its limit on this metal, and what each side read."""

    criterion: spec.Criterion
    limit: Allowed
    own: Outcome | None
    theirs: Outcome | None

    @property
    def state(self) -> str:
        """The state of the instructor's reading: in limits, or what it means when not."""
        if self.theirs is None or self.theirs.state == "missing":
            return ""
        if self.theirs.state == "met":
            return "look" if self.theirs.close else "in_limits"
        return "stop" if self.criterion.mandatory else "redo"


def exercise_of(attempt: Attempt) -> tuple[spec.Exercise, spec.Setup, list[Criterion]]:
    """Return what the coupon was welded to: its own version, whichever is newest now."""
    version = pinned_version(attempt.setup)
    exercise = to_spec(version)
    return exercise, pick_setup(exercise, attempt.setup.key), list(version.criteria.all())


def latest(readings: Iterable[Reading]) -> dict[tuple[int, bool], Taken]:
    """Return the last reading of each criterion pk and side (own or not)."""
    return {(row.criterion_id, row.own): row.taken for row in readings}


def coupon_context(attempt: Attempt, *, units: str) -> dict[str, Any]:
    """Return what the coupon's page shows, lengths in the reader's `units` ("us" or "metric")."""
    exercise, setup, rows = exercise_of(attempt)
    found = latest(attempt.readings.all())

    def outcome(row: Criterion, one: spec.Criterion, own: bool) -> Outcome | None:
        taken = found.get((row.pk, own))
        if taken is None:
            return None
        found_out = evaluate(one, taken, thickness=setup.thickness.value)
        is_length = one.kind == "measured" and unit_of(one) in ("in", "mm")
        if is_length and taken.value is not None:
            system = "metric" if units == "metric" else "us"
            return replace(
                found_out, figure=str(show(Measure.of(taken.value, "m"), system, digits=3))
            )
        return replace(found_out, figure=said(found_out.figure))

    lines = [
        Line(
            criterion=one,
            limit=said_limit(one, setup),
            own=outcome(row, one, own=True),
            theirs=outcome(row, one, own=False),
        )
        for row, one in zip(rows, exercise.criteria, strict=True)
    ]
    verdicts = list(attempt.verdicts.select_related("by"))
    return {
        "attempt": attempt,
        "exercise": exercise,
        "setup": setup,
        "lines": lines,
        "verdict": verdicts[-1] if verdicts else None,
        "why": why_said(verdicts[-1]) if verdicts else "",
        "earlier": verdicts[:-1],
        "state": state_of(attempt, verdicts[-1] if verdicts else None),
        "has_own": any(line.own for line in lines),
        "has_theirs": any(line.theirs for line in lines),
        "taps": list(attempt.hold_taps.select_related("by")),
        **heat_context(attempt, exercise, setup),
    }


def state_of(attempt: Attempt, verdict: Verdict | None) -> str:
    """Return the name of the state that a page shows for a coupon."""
    if attempt.state == Attempt.State.JUDGED and verdict is not None:
        return verdict.kind
    return {
        Attempt.State.STARTED: "working",
        Attempt.State.LOGGED: "waiting",
        Attempt.State.VOID: "void",
    }.get(Attempt.State(attempt.state), "waiting")
