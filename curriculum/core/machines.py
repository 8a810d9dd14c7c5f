"""What a welding machine gives: its rated output, how long it gives it, the most it gives."""

from __future__ import annotations

from dataclasses import dataclass

LARGEST = 2_000  # A; more is a slip of the pen in a training shop


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
