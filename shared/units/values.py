"""A measured value and a range: SI floats beside the text as it was typed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shared.units.tables import DIMENSIONS

if TYPE_CHECKING:
    from pint import Quantity

SI_UNITS = frozenset(DIMENSIONS.values())
PINT = {"1": "", "m2": "m**2", "m3": "m**3", "m3/s": "m**3/s", "kg/m3": "kg/m**3"}


class UnitError(ValueError):
    """Text that is no quantity of the kind asked for; the message says what would be accepted.

    `template` and `params` are the message before it is filled in, for whoever translates it
    (`params["dimension"]` is a phrase to translate too).
    """

    def __init__(
        self, template: str, *, got: str = "", accepts: Sequence[str] = (), **params: object
    ) -> None:
        self.got = got
        self.accepts = list(accepts)
        self.template = template
        self.params = {"got": got, "accepts": ", ".join(accepts), **params}
        super().__init__(template % self.params)


def _finite(name: str, value: float) -> None:
    if not math.isfinite(value):
        raise ValueError(f"{name} must be a finite number, got {value}")


@dataclass(frozen=True, slots=True)
class Measure:
    """One value in the SI `unit`; `typed` is what somebody wrote, empty for a computed value."""

    value: float
    unit: str
    typed: str = ""

    def __post_init__(self) -> None:
        _finite("value", self.value)
        if self.unit not in SI_UNITS:
            raise ValueError(f"unit must be one of {sorted(SI_UNITS)}, got {self.unit!r}")

    @classmethod
    def of(cls, value: float, unit: str) -> Measure:
        """Return a computed value: `value` in the SI unit `unit` ("m", "kg", "m3/s" …)."""
        return cls(float(value), unit)

    def __float__(self) -> float:
        return self.value

    @property
    def quantity(self) -> Quantity:
        """The value as a pint quantity of the one registry."""
        from shared.units.registry import ureg  # pint is slow to import and seldom needed

        return ureg.Quantity(self.value, PINT.get(self.unit, self.unit))


@dataclass(frozen=True, slots=True)
class Range:
    """Bounds in the SI `unit`; `low` or `high` is None where that side is open.

    `start` is the value to begin with, where one is stated.
    """

    low: float | None
    high: float | None
    start: float | None
    unit: str
    typed: str = ""

    def __post_init__(self) -> None:
        for name in ("low", "high", "start"):
            if (value := getattr(self, name)) is not None:
                _finite(name, value)
        if self.unit not in SI_UNITS:
            raise ValueError(f"unit must be one of {sorted(SI_UNITS)}, got {self.unit!r}")
        if self.low is None and self.high is None and self.start is None:
            raise ValueError("a range needs a bound or a start")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"low must not be above high, got {self.low} and {self.high}")
        if self.start is not None and not self.holds(self.start):
            raise ValueError(f"start must lie within the range, got {self.start}")

    @classmethod
    def of(
        cls, low: float | None, high: float | None, unit: str, *, start: float | None = None
    ) -> Range:
        """Return a computed range in the SI unit `unit`."""
        return cls(low, high, start, unit)

    @property
    def working(self) -> float:
        """The value to compute with: the start, else the middle, else the bound there is."""
        if self.start is not None:
            return self.start
        if self.low is not None and self.high is not None:
            return (self.low + self.high) / 2
        bound = self.low if self.low is not None else self.high
        if bound is None:
            raise ValueError("a range needs a bound or a start")
        return bound

    def holds(self, value: float) -> bool:
        """Say whether `value` (same SI unit) lies within the bounds, these included."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)
