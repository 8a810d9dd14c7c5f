"""Planning figures with their ranges, read from `curriculum/tables/consumables.toml`."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from curriculum.core.steps import Input

TABLES = Path(__file__).parent.parent / "tables"
_SI = {
    "1": (1.0, "1"),
    "in": (0.0254, "m"),
    "mm": (0.001, "m"),
    "s": (1.0, "s"),
    "min": (60.0, "s"),
    "h": (3600.0, "s"),
    "1/h": (1 / 3600, "1/s"),
    "1/in": (1 / 0.0254, "1/m"),
    "in/min": (0.0254 / 60, "m/s"),
    "s/A": (1.0, "s/A"),
}


@cache
def table(name: str) -> dict[str, Any]:
    """Return a data file of `curriculum/tables/`, as parsed."""
    return tomllib.loads((TABLES / f"{name}.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Default:
    """One planning figure in SI, the range it is seen in, and where it is from."""

    value: float
    low: float
    high: float
    unit: str
    source: str
    factor: float = 1.0  # SI per trade unit, to print the range as it was noted
    trade_unit: str = "1"

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high < math.inf:
            raise ValueError(
                f"a default must lie in its range, got {self.value} in {self.low} to {self.high}"
            )

    def as_input(self) -> Input:
        """Return the figure as an input of a step; the source names its usual range."""
        unit = "" if self.trade_unit == "1" else f" {self.trade_unit}"
        span = f"{self.low / self.factor:.4g} to {self.high / self.factor:.4g}{unit}"
        return Input(self.value, self.unit, f"default, usual range {span}: {self.source}")


def read_default(row: Mapping[str, Any]) -> Default:
    """Read a row with value, low, high, unit, source and status into SI."""
    factor, unit = _SI[row["unit"]]
    return Default(
        value=row["value"] * factor,
        low=row["low"] * factor,
        high=row["high"] * factor,
        unit=unit,
        source=f"{row['source']} ({row['status']})",
        factor=factor,
        trade_unit=row["unit"],
    )


@dataclass(frozen=True, slots=True)
class Defaults:
    """The planning figures by name; a shop may put its own in place of any of them."""

    figures: Mapping[str, Default]

    def __getitem__(self, name: str) -> Default:
        return self.figures[name]

    def input(self, name: str) -> Input:
        """Return the figure `name` as an input of a step."""
        return self.figures[name].as_input()

    def with_values(self, source: str, **values: float) -> Defaults:
        """Return a copy with the shop's own SI values, whose source is `source`."""
        own = {
            name: replace(
                self.figures[name],
                value=value,
                low=min(value, self.figures[name].low),
                high=max(value, self.figures[name].high),
                source=source,
            )
            for name, value in values.items()
        }
        return Defaults({**self.figures, **own})


@cache
def defaults() -> Defaults:
    """Return the figures of the project's own table."""
    rows = table("consumables")["default"]
    return Defaults({name: read_default(row) for name, row in rows.items()})
