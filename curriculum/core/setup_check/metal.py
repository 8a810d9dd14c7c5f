"""The metal as it is delivered."""

from __future__ import annotations

from collections.abc import Iterator

from curriculum.core.spec import Exercise, Setup

from .finding import Finding, table


def coating(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A coated metal is always looked at: its fumes are poisonous."""
    if setup.coating:
        yield Finding(
            rule="coating",
            level="look",
            value=None,
            limit=None,
            unit="",
            source=table("rules")["coating"]["source"],
            message=f"The metal is {setup.coating}: take the coating off well back from the weld, "
            "or weld under local exhaust.",
        )
