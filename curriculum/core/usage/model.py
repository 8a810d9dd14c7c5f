"""The figures of one attempt, and how they are handed on."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from curriculum.core.sentence import Sentence
from curriculum.core.steps import Step


class UsageError(ValueError):
    """A setup that does not say enough; `where` names its key, `accepts` shows examples.

    `message` is a `Sentence` that a page translates; `str()` of the error is its English.
    """

    def __init__(self, where: str, message: Sentence, accepts: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.where = where
        self.message = message
        self.accepts = accepts


def _figure(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


def _steps(steps: tuple[Step, ...]) -> list[dict[str, Any]]:
    return [step.as_json() for step in steps]


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
            "steps": _steps(self.steps),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class PassMetal:
    """A pass's part of the weld: its `share` 0 to 1, section of its runs in m², metal in kg."""

    number: int
    runs: float
    share: float
    area: float
    mass: float
    steps: tuple[Step, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the pass as a JSON object; its last step gives the mass."""
        return {
            "pass": self.number,
            "runs": self.runs,
            "share": self.share,
            "area": _figure(self.area, "m2"),
            "mass": _figure(self.mass, "kg"),
            "steps": _steps(self.steps),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastPasses:
    """The fewest passes that lay a joint by the largest bead one pass may lay; `stated` or None."""

    count: int
    stated: int | None
    source: str
    steps: tuple[Step, ...]

    @property
    def too_few(self) -> bool:
        """Whether the setup states fewer passes than that."""
        return self.stated is not None and self.stated < self.count

    def as_json(self) -> dict[str, Any]:
        """Return the number as a JSON object; the last step gives it."""
        return {
            "value": self.count,
            "stated": self.stated,
            "source": self.source,
            "steps": _steps(self.steps),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Weld:
    """Section in m², volume in m³, mass in kg as drawn, run-off included, over-weld not.

    `metals`: the mass in kg of each metal; `laid` the mass in kg that learners lay, over-weld
    included. `least` is None where the table says nothing of the process or nothing is laid.
    """

    area: float
    volume: float
    deposit: float
    steps: tuple[Step, ...]
    laid: float = 0.0
    laid_steps: tuple[Step, ...] = ()
    metals: Mapping[str, float] = field(default_factory=dict)
    passes: tuple[PassMetal, ...] = ()
    least: LeastPasses | None = None

    def as_json(self) -> dict[str, Any]:
        """Return the weld as the contract's JSON object."""
        return {
            "area": _figure(self.area, "m2"),
            "volume": _figure(self.volume, "m3"),
            "deposit": _figure(self.deposit, "kg"),
            "steps": _steps(self.steps),
            "laid": _figure(self.laid, "kg") | {"steps": _steps(self.laid_steps)},
            "metals": [
                {"metal": metal, "mass": _figure(mass, "kg")} for metal, mass in self.metals.items()
            ],
            "passes": [one.as_json() for one in self.passes],
            "least_passes": None if self.least is None else self.least.as_json(),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Time:
    """Seconds of arc (or of flame at work), of gas flowing, and in the booth.

    `other` is what the booth time leaves for preparation, fit-up, inspection and clean-up; below 0
    the arc alone takes longer than the exercise's booth minutes.
    """

    arc: float
    gas: float
    booth: float
    steps: tuple[Step, ...]
    other: float = 0.0

    def as_json(self) -> dict[str, Any]:
        """Return the times as the contract's JSON object."""
        return {
            "arc": _figure(self.arc, "s"),
            "gas": _figure(self.gas, "s"),
            "booth": _figure(self.booth, "s"),
            "other": _figure(self.other, "s"),
            "steps": _steps(self.steps),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """What comes out of the wall: electric energy in J, compressed air in m³. Never on a shelf."""

    kind: str  # energy, air
    name: str
    quantity: float
    unit: str
    steps: tuple[Step, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the supply as a JSON object; its last step gives the quantity."""
        return {
            "kind": self.kind,
            "name": self.name,
            "quantity": _figure(self.quantity, self.unit),
            "steps": _steps(self.steps),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Usage:
    """What one attempt takes. `supplies` are paid by the meter and are no need of the shelf."""

    weld: Weld
    time: Time
    items: tuple[Item, ...]
    supplies: tuple[Supply, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the figures as the contract's JSON object."""
        return {
            "contract": "usage/1",
            "weld": self.weld.as_json(),
            "time": self.time.as_json(),
            "items": [item.as_json() for item in self.items],
            "supplies": [one.as_json() for one in self.supplies],
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
