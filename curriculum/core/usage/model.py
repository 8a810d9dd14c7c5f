"""The figures of one attempt, and how they are handed on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from curriculum.core.steps import Step


class UsageError(ValueError):
    """A setup that does not say enough; `where` names its key, `accepts` shows examples."""

    def __init__(self, where: str, message: str, accepts: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.where = where
        self.accepts = accepts


def _figure(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A need of one attempt: `quantity` in kg, m², m³ or pieces ("1"); the last step gives it.

    Plate has an item for each size of blank, so that one `spec` may stand in several items.
    `alternates` are the keys of fillers that serve as well.
    """

    kind: str
    spec: str
    name: str
    quantity: float
    unit: str
    pieces: float | None
    steps: tuple[Step, ...]
    alternates: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the item as the contract's JSON object; whoever keeps stock fills `stock_item`."""
        return {
            "kind": self.kind,
            "spec": self.spec,
            "name": self.name,
            "stock_item": None,
            "quantity": _figure(self.quantity, self.unit),
            "pieces": self.pieces,
            "alternates": list(self.alternates),
            "steps": [step.as_json() for step in self.steps],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Weld:
    """Section in m², volume in m³, mass in kg as drawn, run-off included, over-weld not."""

    area: float
    volume: float
    deposit: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Time:
    """Seconds of arc (or of flame at work), of gas flowing, and in the booth."""

    arc: float
    gas: float
    booth: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Usage:
    """What one attempt takes."""

    weld: Weld
    time: Time
    items: tuple[Item, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the figures as the contract's JSON object."""
        return {
            "contract": "usage/1",
            "weld": {
                "area": _figure(self.weld.area, "m2"),
                "volume": _figure(self.weld.volume, "m3"),
                "deposit": _figure(self.weld.deposit, "kg"),
                "steps": [step.as_json() for step in self.weld.steps],
            },
            "time": {
                "arc": _figure(self.time.arc, "s"),
                "gas": _figure(self.time.gas, "s"),
                "booth": _figure(self.time.booth, "s"),
                "steps": [step.as_json() for step in self.time.steps],
            },
            "items": [item.as_json() for item in self.items],
        }

    def by_spec(self) -> dict[str, float]:
        """Return the quantity of each spec, sizes of blank added up, in the unit of its kind."""
        sums: dict[str, float] = {}
        for item in self.items:
            sums[item.spec] = sums.get(item.spec, 0.0) + item.quantity
        return sums


@dataclass(frozen=True, slots=True)
class LayOut:
    """Whole rods or electrodes to lay out for one attempt."""

    kind: str
    spec: str
    name: str
    count: int


def rods_to_lay_out(used: Usage) -> list[LayOut]:
    """Return the rods and electrodes of one attempt, rounded up to whole ones."""
    return [
        LayOut(item.kind, item.spec, item.name, max(1, math.ceil(item.pieces - 1e-9)))
        for item in used.items
        if item.kind in ("rod", "electrode") and item.pieces is not None
    ]
