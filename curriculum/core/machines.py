"""What a welding machine gives: its rated output, how long it gives it, the most it gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

LARGEST = 2000.0  # A; more is a slip of the pen in a training shop
KEYS = ("process", "rated_current", "duty", "largest_current")


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """The output of a machine on one process, off its rating plate.

    `rated_current` and `largest_current` in A, 0 < rated <= largest <= 2000; `duty` is the share
    of ten minutes for which it gives the rated current, 0 < duty <= 1. Raises `ValueError`.
    """

    process: str
    rated_current: float
    duty: float
    largest_current: float

    def __post_init__(self) -> None:
        if not 0 < self.rated_current <= LARGEST:
            raise ValueError(
                f"rated_current must be over 0, up to 2000 A, got {self.rated_current}"
            )
        if not 0 < self.duty <= 1:
            raise ValueError(f"duty must be a share over 0, up to 1, got {self.duty}")
        if not self.rated_current <= self.largest_current <= LARGEST:
            raise ValueError(
                f"largest_current must be at least the rated one, up to 2000 A, "
                f"got {self.largest_current}"
            )

    @classmethod
    def from_json(cls, row: Mapping[str, Any]) -> Machine:
        """Read what `as_json` wrote; `ValueError` where a figure is missing or cannot be."""
        if set(row) != set(KEYS) or not isinstance(row["process"], str):
            raise ValueError(f"a machine says {', '.join(KEYS)}, got {row!r}")
        figures = [row[key] for key in KEYS[1:]]
        if any(isinstance(one, bool) or not isinstance(one, int | float) for one in figures):
            raise ValueError(f"a machine's figures are numbers, got {row!r}")
        rated, duty, largest = (float(one) for one in figures)
        return cls(process=row["process"], rated_current=rated, duty=duty, largest_current=largest)

    def as_json(self) -> dict[str, Any]:
        """Return the machine as plain numbers, for a row of the database."""
        return {key: getattr(self, key) for key in KEYS}

    def duty_at(self, current: float) -> float:
        """Return the share of ten minutes it may weld at `current` in A, 0 to 1.

        The heat of its windings goes with the square of the current: duty x (rated / current)^2,
        never over 1, and 0 past the largest output. Raises `ValueError` unless `current` is over 0.
        """
        if not current > 0:
            raise ValueError(f"current must be over 0, got {current}")
        if current > self.largest_current:
            return 0.0
        return min(1.0, self.duty * (self.rated_current / current) ** 2)
