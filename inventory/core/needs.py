"""From what a setup's attempt takes to what lies on a shelf: units and matching. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from curriculum.core.usage import Item, Usage

# Base unit of the ledger → unit of a forecast, base units in one of it.
CASE_UNIT = {
    "mg": ("kg", 10**6),
    "mm2": ("m2", 10**6),
    "mm": ("m", 1000),
    "mL": ("m3", 10**6),
    "piece": ("piece", 1),
}
PLATE = frozenset({"sheet", "bar", "pipe", "backing"})
FILLER = frozenset({"rod", "electrode", "wire"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What matching has to know of a stock item: its key and the unit it is kept in."""

    key: str
    base: str  # mg, mm2, mm, mL or piece
    piece_mg: int | None = None


@dataclass(frozen=True, slots=True)
class Need:
    """What one attempt takes of one thing; `matched` says whether `item` is on the shelf."""

    item: str  # key of the stock item, of the need itself where none matches
    quantity: float
    unit: str
    name: str
    kind: str
    matched: bool


def in_case_unit(quantity: float, base: str) -> float:
    """Return base units (mg, mm², mm, mL, pieces) in kg, m², m, m³ or pieces."""
    return quantity / CASE_UNIT[base][1]


def in_base_units(quantity: float, base: str) -> float:
    """Return kg, m², m, m³ or pieces in base units; the other way of `in_case_unit`."""
    return quantity * CASE_UNIT[base][1]


def on_shelf(quantity: float, unit: str, shelf: Shelf) -> float | None:
    """Return a need (kg, m2, m3 or "1") in the case unit of a shelf; None where it cannot be told.

    Rods may be kept by the piece where the mass of one is known, bar and pipe by their length:
    the width stands in their key.
    """
    have = CASE_UNIT[shelf.base][0]
    want = "piece" if unit == "1" else unit
    if have == want:
        return quantity
    each = shelf.piece_mg / 10**6 if shelf.piece_mg else None
    if (want, have) == ("kg", "piece") and each:
        return quantity / each
    if (want, have) == ("piece", "kg") and each:
        return quantity * each
    if (want, have) == ("m2", "m"):
        width_um = shelf.key.split(":")[-1]
        if shelf.key.count(":") == 3 and width_um.isdecimal():
            return quantity / (int(width_um) / 10**6)
    return None


def needs_of(usage: Usage, shelves: Iterable[Shelf]) -> list[Need]:
    """Return what one attempt takes, matched to the shelf by specification or by an alternate.

    Sizes of blank of one specification are added up. What no shelf holds keeps its own key and
    unit, so that it can be named. Items in order of their first need.
    """
    known = {shelf.key: shelf for shelf in shelves}
    sums: dict[str, Need] = {}
    for one in usage.items:
        need = _matched(one, known)
        before = sums.get(need.item)
        quantity = need.quantity + (before.quantity if before else 0.0)
        sums[need.item] = Need(need.item, quantity, need.unit, need.name, need.kind, need.matched)
    return list(sums.values())


def _matched(item: Item, known: dict[str, Shelf]) -> Need:
    for key in (item.spec, *item.alternates):
        shelf = known.get(key)
        if shelf is None:
            continue
        quantity = on_shelf(item.quantity, item.unit, shelf)
        if quantity is not None:
            return Need(key, quantity, CASE_UNIT[shelf.base][0], item.name, item.kind, True)
    # a shelf of the same key in a unit that cannot be converted holds something else
    key = f"{item.spec} ({item.unit})" if item.spec in known else item.spec
    unit = "piece" if item.unit == "1" else item.unit
    return Need(key, item.quantity, unit, item.name, item.kind, False)


def spread(kind: str, use_cv: float) -> float:
    """Return the spread of one attempt's use: none for plate, which is cut to size."""
    return 0.0 if kind in PLATE else use_cv


def practice(need: Need, pieces: int) -> float:
    """Return what practice before the first coupon takes of `need`: plate alone, by the piece.

    Practice in filler and gas is part of the item's factor (forecast, step 6).
    """
    return pieces * need.quantity if need.kind in PLATE else 0.0
