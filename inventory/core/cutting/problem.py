"""What is to be cut, of what stock, on what machine: one metal in one thickness.

All lengths are metres. A sheet, a remnant and a blank have a length and a width; of a bar, a pipe
and what is sawn from it the width is None. Inside, lengths are whole nanometres, in which every
sixty-fourth of an inch is exact, so that no rounding decides whether a blank fits.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

GRID = 1_000_000_000  # steps a metre
LONGEST = 100.0  # m; no stock is longer
SHORTEST = 1e-4  # m; no side is shorter
MOST_ROWS = 200  # rows of pieces, and of stock
MOST_PIECES = 20_000  # of a problem
STAGES = (2, 3)
LEAST_REMNANT = 0.1  # m, both sides: below that it is scrap; common practice, no source


def whole(metres: float) -> int:
    """Return `metres` in nanometres."""
    return round(metres * GRID)


def metres(steps: int) -> float:
    """Return nanometres in metres; `whole` gives the same number back."""
    return steps / GRID


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """A size that sheets, bars or remnants can be had in.

    `price` of one is money of any currency, at least 0; a remnant costs nothing, so it is taken
    first. `count` is how many there are, None as many as wanted. `trimmed`: its edges are cut
    already, so the machine's trim is not taken off.
    """

    id: str
    length: float
    width: float | None = None
    price: Decimal = Decimal(1)
    count: int | None = None
    trimmed: bool = False

    def __post_init__(self) -> None:
        _refuse_size(self.length, self.width)
        if not self.price.is_finite() or self.price < 0:
            raise ValueError(f"price must be at least 0, got {self.price}")
        if self.count is not None and self.count < 0:
            raise ValueError(f"count must be at least 0 or None, got {self.count}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Blanks of one size. `rotate` False: the length lies along the stock's length (its grain)."""

    id: str
    length: float
    width: float | None = None
    count: int = 1
    rotate: bool = True

    def __post_init__(self) -> None:
        _refuse_size(self.length, self.width)
        if self.count < 0:
            raise ValueError(f"count must be at least 0, got {self.count}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """What cuts.

    `kerf`, m, is what a cut takes away: nothing at a shear, the blade at a saw, the gap and the
    dressing at a flame. `trim`, m, comes off each of the four edges of a sheet (both ends of a
    bar) before anything else, the kerf of that cut included; no blank and no remnant has a part
    of it. `narrowest`, m, is the narrowest strip the machine holds: none is cut narrower.
    `longest`, m, is the longest cut it makes, `thickest`, m, what it cuts of the problem's metal;
    None is without limit. With two `stages` a sheet is cut to strips and a strip to blanks, side
    by side, each then cut to its width where the strip is wider; with three, several blanks of
    one size may lie across the strip.
    """

    kerf: float = 0.0
    trim: float = 0.0
    narrowest: float = 0.0
    longest: float | None = None
    thickest: float | None = None
    stages: int = 2

    def __post_init__(self) -> None:
        for name in ("kerf", "trim", "narrowest"):
            if not 0 <= getattr(self, name) <= LONGEST:
                raise ValueError(f"{name} must be 0 to {LONGEST:g} m, got {getattr(self, name)}")
        for name in ("longest", "thickest"):
            limit = getattr(self, name)
            if limit is not None and not 0 < limit <= LONGEST:
                raise ValueError(f"{name} must be above 0 to {LONGEST:g} m or None, got {limit}")
        if self.stages not in STAGES:
            raise ValueError(f"stages must be 2 or 3, got {self.stages}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Pieces, the stock they may come from and the machine that cuts them.

    `thickness`, m, is measured against the machine's. A rest whose sides are both at least
    `least_remnant`, m, is kept as a remnant (of a bar: its length).
    """

    pieces: tuple[Piece, ...]
    stock: tuple[Stock, ...]
    machine: Machine = field(default_factory=Machine)
    thickness: float | None = None
    least_remnant: float = LEAST_REMNANT

    def __post_init__(self) -> None:
        for name in ("pieces", "stock"):
            rows: Sequence[Piece | Stock] = getattr(self, name)
            if len({row.id for row in rows}) < len(rows):
                raise ValueError(f"each id of {name} must stand for one row")
            if len(rows) > MOST_ROWS:
                raise ValueError(f"at most {MOST_ROWS} rows of {name}, got {len(rows)}")
        if (total := sum(piece.count for piece in self.pieces)) > MOST_PIECES:
            raise ValueError(f"at most {MOST_PIECES} pieces, got {total}")
        if not 0 < self.least_remnant <= LONGEST:
            raise ValueError(f"least_remnant must be above 0 m, got {self.least_remnant}")

    @classmethod
    def from_case(cls, data: Any) -> Problem:
        """Return the problem of a case file; CaseError names all that is wrong with it."""
        from .case import read_case

        return read_case(data)

    def as_case(self) -> dict[str, Any]:
        """Return the problem as the object of a case file; `from_case` gives it back."""
        from .case import case_of

        return case_of(self)

    def with_counts(self, counts: Sequence[int]) -> Problem:
        """Return the problem with other counts of its pieces, in their order."""
        pairs = zip(self.pieces, counts, strict=True)
        return replace(self, pieces=tuple(replace(piece, count=count) for piece, count in pairs))

    def halves(self) -> Iterator[Problem]:
        """Yield the sheets and the bars, each with its pieces; bars and sheets share nothing."""
        for flat in (True, False):
            pieces = tuple(row for row in self.pieces if (row.width is not None) == flat)
            stock = tuple(row for row in self.stock if (row.width is not None) == flat)
            if pieces:
                yield replace(self, pieces=pieces, stock=stock)


def usable(stock: Stock, machine: Machine) -> tuple[int, int | None]:
    """Return what trimming leaves of `stock`, nm: length and width (0 where nothing is left)."""
    trim = 0 if stock.trimmed else whole(machine.trim)
    length = max(whole(stock.length) - 2 * trim, 0)
    return length, None if stock.width is None else max(whole(stock.width) - 2 * trim, 0)


def _refuse_size(*sides: float | None) -> None:
    for side in sides:
        if side is not None and not (math.isfinite(side) and SHORTEST <= side <= LONGEST):
            raise ValueError(f"sides must be {SHORTEST:g} to {LONGEST:g} m, got {side}")
