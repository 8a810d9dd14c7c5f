"""A cutting case: the JSON object that the `cutplan` command reads, and back."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from inventory.core.case import CaseError, CaseReader, Fault

from .problem import (
    LEAST_REMNANT,
    LONGEST,
    MOST_PIECES,
    MOST_ROWS,
    SHORTEST,
    STAGES,
    Machine,
    Piece,
    Problem,
    Stock,
)

_MACHINE = ("kerf", "trim", "narrowest", "longest", "thickest", "stages")
_CASE = ("contract", "stock", "pieces", "rotate", "thickness", "least_remnant", *_MACHINE)
_STOCK = ("id", "length", "width", "price", "count", "trimmed")
_PIECE = ("id", "length", "width", "count", "rotate")


def read_case(data: Any) -> Problem:
    """Return the problem that `data` (a case file's JSON object) describes; metres.

    Left out: no kerf, no trim, no limits, two stages, pieces may be turned, one piece of a row.
    A piece's own `rotate` goes before the case's. `null` means: width a bar, count of stock as
    many as wanted, longest and thickest without limit. Where no stock has a price, each costs 1:
    the fewest pieces of stock are wanted.

    Raises
    ------
    CaseError
        With all faults at once: wrong or missing values, unknown keys, ids that are there twice.
    """
    faults: list[Fault] = []
    top = CaseReader(data, "", faults, _CASE)
    free = top.flag("rotate", True)
    stages = top.row.get("stages", 2)
    if isinstance(stages, bool) or stages not in STAGES:
        top.fault("stages", stages, "must be 2 or 3", "2", "3")
        stages = 2
    machine = Machine(
        kerf=top.number("kerf", 0.0, high=LONGEST, example="0.003"),
        trim=top.number("trim", 0.0, high=LONGEST, example="0.003"),
        narrowest=top.number("narrowest", 0.0, high=LONGEST, example="0.003"),
        longest=top.number("longest", None, above=True, null=True, high=LONGEST, example="1.32"),
        thickest=top.number("thickest", None, above=True, null=True, high=LONGEST, example="0.006"),
        stages=int(stages),
    )
    pieces = tuple(_read_piece(row, free) for row in _rows(top, "pieces", _PIECE))
    stock = _read_stock(_rows(top, "stock", _STOCK))
    for name, ids in (("pieces", [row.id for row in pieces]), ("stock", [row.id for row in stock])):
        top.refuse_doubles(name, ids)
    if (total := sum(piece.count for piece in pieces)) > MOST_PIECES:
        top.fault("pieces", total, f"are more than {MOST_PIECES} in all", "fewer at a time")
    thickness = top.number("thickness", None, above=True, null=True, high=LONGEST, example="0.003")
    least = top.number("least_remnant", LEAST_REMNANT, above=True, high=LONGEST, example="0.1")
    if faults:
        raise CaseError(faults)
    return Problem(
        pieces=pieces, stock=stock, machine=machine, thickness=thickness, least_remnant=least
    )


def case_of(problem: Problem) -> dict[str, Any]:
    """Return the JSON object that `read_case` reads as `problem`."""
    return {
        "stock": [
            {**{key: getattr(row, key) for key in _STOCK}, "price": str(row.price)}
            for row in problem.stock
        ],
        "pieces": [{key: getattr(row, key) for key in _PIECE} for row in problem.pieces],
        "thickness": problem.thickness,
        "least_remnant": problem.least_remnant,
        **{key: getattr(problem.machine, key) for key in _MACHINE},
    }


def _rows(top: CaseReader, key: str, keys: Sequence[str]) -> list[CaseReader]:
    rows = top.rows(key, needed=True)
    if len(rows) > MOST_ROWS:
        top.fault(key, len(rows), f"are more than {MOST_ROWS} rows", "fewer rows")
        rows = rows[:MOST_ROWS]
    return [CaseReader(row, f"{key}[{n}]", top.faults, keys) for n, row in enumerate(rows)]


def _read_piece(row: CaseReader, free: bool) -> Piece:
    return Piece(
        id=row.identity("id"),
        length=row.number("length", low=SHORTEST, high=LONGEST, example="0.1524"),
        width=row.number("width", None, low=SHORTEST, null=True, high=LONGEST, example="0.0508"),
        count=row.number("count", 1, whole=True, high=MOST_PIECES, example="24"),
        rotate=row.flag("rotate", free),
    )


def _read_stock(rows: Sequence[CaseReader]) -> tuple[Stock, ...]:
    prices = [row.price("price") for row in rows]
    if any(price is not None for price in prices):
        for row, price in zip(rows, prices, strict=True):
            if price is None and row.row.get("price") is None:
                row.fault("price", None, "is needed where other stock has one", '"84.50"', '"0"')
    return tuple(
        Stock(
            id=row.identity("id"),
            length=row.number("length", low=SHORTEST, high=LONGEST, example="2.4384"),
            width=row.number(
                "width", None, low=SHORTEST, null=True, high=LONGEST, example="1.2192"
            ),
            price=Decimal(1) if price is None else price,
            count=row.number("count", None, whole=True, null=True, high=1e6, example="4"),
            trimmed=row.flag("trimmed", False),
        )
        for row, price in zip(rows, prices, strict=True)
    )
