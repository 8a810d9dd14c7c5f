"""What an attempt of such a weld usually takes and yields, and what goes by student and week."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from curriculum.core.defaults import Default, read_default, table
from curriculum.core.spec import Exercise, Setup


def usual(exercise: Exercise, setup: Setup) -> dict[str, Default]:
    """Return the usual booth "minutes" (s) and "first_pass" (chance, 0 to 1) of such a setup.

    Either may be missing where no planning figure is known.
    """
    found: dict[str, Default] = {}
    for row in table("consumables")["attempt"]:
        if not _fits(row, exercise, setup):
            continue
        for name in ("minutes", "first_pass"):
            if name in row and name not in found:
                found[name] = read_default(row[name])
    return found


def _fits(row: Mapping[str, Any], exercise: Exercise, setup: Setup) -> bool:
    position = exercise.position.casefold().strip()
    bends = any(one.kind == "bend" for one in exercise.criteria)
    return (
        setup.joint.kind in row.get("kinds", (setup.joint.kind,))
        and exercise.process in row.get("processes", (exercise.process,))
        and ("form" not in row or any(one.form == row["form"] for one in setup.pieces))
        and (not row.get("bend") or bends)
        and ("positions" not in row or position.startswith(tuple(row["positions"])))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Weekly:
    """Pieces of something that a student uses in a week, whatever coupons are welded."""

    name: str
    pieces: Default
    words: tuple[str, ...]

    @property
    def whole(self) -> tuple[int, int]:
        """The nearest whole pieces in so many weeks: 0.08 a week is 1 in 12 weeks."""
        rate = self.pieces.value
        return (round(rate), 1) if rate >= 1 else (1, round(1 / rate))


def weekly() -> tuple[Weekly, ...]:
    """Return what goes by student and week: cover lenses, gloves, brushes, soapstone …"""
    return tuple(
        Weekly(name=row["name"], pieces=read_default(row["pieces"]), words=tuple(row["words"]))
        for row in table("consumables")["week"]
    )


def weekly_of(name: str) -> Weekly | None:
    """Return the planning figure for something on a shelf, by the words of its name."""
    text = name.casefold()
    return next((one for one in weekly() if any(word in text for word in one.words)), None)
