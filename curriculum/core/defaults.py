"""Planning figures with their ranges, read from `curriculum/tables/consumables.toml`."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from curriculum.core.sentence import Sentence as _
from curriculum.core.steps import Input

TABLES = Path(__file__).parent.parent / "tables"
_SI = {
    "1": (1.0, "1"),
    "in": (0.0254, "m"),
    "mm": (0.001, "m"),
    "mm2": (1e-6, "m2"),
    "s": (1.0, "s"),
    "min": (60.0, "s"),
    "h": (3600.0, "s"),
    "day": (86400.0, "s"),
    "week": (604800.0, "s"),
    "1/h": (1 / 3600, "1/s"),
    "1/in": (1 / 0.0254, "1/m"),
    "in/min": (0.0254 / 60, "m/s"),
    "s/A": (1.0, "s/A"),
}
STATUS = {
    "memory": _("from memory"),
    "read": _("read in the source"),
    "computed": _("computed"),
}


@cache
def table(name: str) -> dict[str, Any]:
    """Return a data file of `curriculum/tables/`, as parsed."""
    return tomllib.loads((TABLES / f"{name}.toml").read_text(encoding="utf-8"))


def sourced(row: Mapping[str, Any]) -> str:
    """Return the source of a table's row with how it was come by, for a page to translate."""
    return _("%(source)s (%(status)s)", source=_(row["source"]), status=STATUS[row["status"]])


@dataclass(frozen=True, slots=True, kw_only=True)
class Default:
    """One planning figure in SI, the range it is seen in, and where it is from.

    `stated` is the figure as an input of a step; its source names the range.
    """

    value: float
    low: float
    high: float
    unit: str
    source: str
    factor: float = 1.0  # SI per trade unit, to print the range as it was noted
    trade_unit: str = "1"
    stated: Input = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high < math.inf:
            raise ValueError(
                f"a default must lie in its range, got {self.value} in {self.low} to {self.high}"
            )
        source = _("default, usual range %(span)s: %(source)s", span=self.span, source=self.source)
        object.__setattr__(self, "stated", Input(self.value, self.unit, source))

    @property
    def span(self) -> str:
        """The usual range in the unit it was noted in: "2 to 5 in"."""
        low, high = f"{self.low / self.factor:.4g}", f"{self.high / self.factor:.4g}"
        if self.trade_unit == "1":
            return _("%(low)s to %(high)s", low=low, high=high)
        return _("%(low)s to %(high)s %(unit)s", low=low, high=high, unit=_(self.trade_unit))


@cache
def _read(numbers: tuple[float, float, float], unit: str, source: str) -> Default:
    factor, si = _SI[unit]
    value, low, high = (number * factor for number in numbers)
    return Default(
        value=value, low=low, high=high, unit=si, source=source, factor=factor, trade_unit=unit
    )


def read_default(row: Mapping[str, Any]) -> Default:
    """Read a row with value, low, high, unit, source and status into SI."""
    return _read((row["value"], row["low"], row["high"]), row["unit"], sourced(row))


@dataclass(frozen=True, slots=True)
class Defaults:
    """The planning figures by name; a shop may put its own in place of any of them."""

    figures: Mapping[str, Default]

    def __getitem__(self, name: str) -> Default:
        return self.figures[name]

    def input(self, name: str) -> Input:
        """Return the figure `name` as an input of a step."""
        return self.figures[name].stated

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
