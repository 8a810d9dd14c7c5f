"""The problem in whole nanometres, equal sizes taken together, and the patterns it is cut by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from .plan import Unplaceable
from .problem import Machine, Piece, Problem, Stock, usable, whole

MOST_LYING = 160  # ways to lie in a strip, with those of a third stage
PRICE = 10_000  # a price is counted in ten-thousandths
Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Kind:
    """Blanks of one size, whatever exercise they are for; a bar's have width 0."""

    length: int
    width: int
    rotate: bool
    rows: tuple[Piece, ...]

    @property
    def count(self) -> int:
        return sum(row.count for row in self.rows)


@dataclass(frozen=True, slots=True)
class Way:
    """How a sheet lies: strips `along` long side by side over `across`; a bar has across 0."""

    upright: bool  # strips run along the width of the stock
    along: int
    across: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """A stock size less its trim, with the ways it can be cut; `price` in ten-thousandths."""

    stock: Stock
    length: int
    width: int
    price: int
    limit: int | None
    ways: tuple[Way, ...]

    @property
    def size(self) -> int:
        return self.length * max(self.width, 1)


@dataclass(frozen=True, slots=True, order=True)
class Lying:
    """Blanks of a kind as they lie in a strip: `high` across it in all, `long` along it.

    More than one, side by side across the strip, only where there is a third stage.
    """

    high: int
    long: int
    kind: int
    times: int = 1

    def cell(self, kerf: int) -> Cell:
        """Return the length of a strip that these blanks take."""
        each = (self.high + kerf) // self.times - kerf
        return Cell(self.long, (Lying(each, self.long, self.kind),) * self.times)


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """A length of a strip with the blanks that lie across it; with two stages it is one blank."""

    long: int
    blanks: tuple[Lying, ...]


@dataclass(frozen=True, slots=True, order=True)
class Strip:
    high: int
    cells: tuple[Cell, ...]
    _hash: int = field(init=False, repr=False, compare=False)  # asked for all the time

    def __post_init__(self) -> None:
        object.__setattr__(self, "_hash", hash((self.high, self.cells)))

    def __hash__(self) -> int:
        return self._hash


@dataclass(frozen=True, slots=True)
class Pattern:
    """How one sheet is cut: which, which way, to what strips."""

    sheet: int
    way: Way
    strips: tuple[Strip, ...]

    def counts(self, kinds: int) -> Ints:
        """Return how many blanks of each kind come of it."""
        found = np.zeros(kinds, np.int64)
        for strip in self.strips:
            for cell in strip.cells:
                for blank in cell.blanks:
                    found[blank.kind] += 1
        return found


@dataclass(frozen=True)
class Task:
    """Either sheets or bars: what the search works on. Every kind fits some sheet."""

    kinds: tuple[Kind, ...]
    sheets: tuple[Sheet, ...]
    kerf: int
    narrowest: int
    longest: int
    stages: int
    least_remnant: int

    @cached_property
    def demand(self) -> Ints:
        return np.array([kind.count for kind in self.kinds], np.int64)

    @cached_property
    def areas(self) -> Floats:
        """Return the area of each kind, of bars the length, m2 or m."""
        sizes = [kind.length * 1e-9 * (kind.width * 1e-9 or 1.0) for kind in self.kinds]
        return np.array(sizes)

    @property
    def third(self) -> bool:
        """Whether there is a third stage."""
        return self.stages == 3 and not self.bars

    @property
    def bars(self) -> bool:
        return self.kinds[0].width == 0

    def high(self, blank: Lying) -> int:
        """Return the height of the lowest strip that holds `blank`."""
        return max(blank.high, self.narrowest) if blank.high else 0

    def strip_high(self, cells: Sequence[Cell]) -> int:
        """Return how high a strip with these cells must be at least."""
        if self.bars:
            return 0
        high = max(
            sum(blank.high + self.kerf for blank in cell.blanks) - self.kerf for cell in cells
        )
        return max(high, self.narrowest)

    def lying(self, upright: bool) -> tuple[Lying, ...]:
        """Return all blanks as they may lie in strips that run along the length, or upright."""
        found = set()
        for place, kind in enumerate(self.kinds):
            sides = (kind.length, kind.width)
            if not upright or kind.rotate:
                found.add(Lying(sides[1], sides[0], place))
            if (upright or kind.rotate) and not self.bars:
                found.add(Lying(sides[0], sides[1], place))
        if self.third:
            found |= {more for one in found for more in self._across(one, MOST_LYING // len(found))}
        return tuple(sorted(found, key=lambda one: (self.high(one), one)))

    def _across(self, one: Lying, most: int) -> Iterator[Lying]:
        """Yield several of a blank side by side across a strip, no more than there is room for."""
        room = max((way.across for sheet in self.sheets for way in sheet.ways), default=0)
        count = min(self.kinds[one.kind].count, (room + self.kerf) // (one.high + self.kerf), most)
        for times in range(2, count + 1):
            yield replace(one, high=times * (one.high + self.kerf) - self.kerf, times=times)

    def fits(self, blank: Lying, way: Way) -> bool:
        high = self.high(blank)
        return blank.long <= way.along and high <= min(way.across, self.longest)


def task_of(problem: Problem) -> tuple[Task | None, list[Unplaceable]]:
    """Return the task of a problem of sheets or of bars, and the pieces it leaves out."""
    machine = problem.machine
    wanted = [piece for piece in problem.pieces if piece.count]
    if problem.thickness and machine.thickest and problem.thickness > machine.thickest:
        return None, [Unplaceable(piece=p.id, count=p.count, reason="thickness") for p in wanted]
    at_hand = [row for row in problem.stock if row.count != 0]
    sheets = tuple(sheet for row in at_hand if (sheet := _sheet(row, machine)))
    groups: dict[tuple[int, int, bool], list[Piece]] = {}
    left_out = []
    for piece in wanted:
        key = _size(piece)
        if reason := _why_not(key, at_hand, machine):
            none = not problem.stock  # of its form: no sheet, or no bar
            if none or (reason == "size" and not _why_not(key, problem.stock, machine)):
                reason = "stock"
            left_out.append(Unplaceable(piece=piece.id, count=piece.count, reason=reason))
        else:
            groups.setdefault(key, []).append(piece)
    if not groups:
        return None, left_out
    kinds = tuple(Kind(*key, tuple(rows)) for key, rows in groups.items())
    return _task(kinds, sheets, machine, whole(problem.least_remnant)), left_out


def _task(kinds: tuple[Kind, ...], sheets: tuple[Sheet, ...], machine: Machine, least: int) -> Task:
    longest = 2**62 if machine.longest is None else whole(machine.longest)
    return Task(
        kinds=kinds,
        sheets=sheets,
        kerf=whole(machine.kerf),
        narrowest=whole(machine.narrowest),
        longest=longest,
        stages=machine.stages,
        least_remnant=least,
    )


def _size(piece: Piece) -> tuple[int, int, bool]:
    length, width = whole(piece.length), 0 if piece.width is None else whole(piece.width)
    if not width or length == width:
        return length, width, False
    return (
        (max(length, width), min(length, width), True) if piece.rotate else (length, width, False)
    )


def _sheet(row: Stock, machine: Machine) -> Sheet | None:
    length, width = usable(row, machine)
    longest = 2**62 if machine.longest is None else whole(machine.longest)
    if width is None:
        ways: tuple[Way, ...] = (Way(False, length, 0),)
    else:
        ways = (Way(False, length, width), Way(True, width, length))
        if (
            machine.trim
            and not row.trimmed
            and max(whole(row.length), whole(row.width or 0)) > longest
        ):
            return None
        ways = tuple(way for way in ways if way.along <= longest)
    if not ways or length == 0 or width == 0:
        return None
    return Sheet(row, length, width or 0, int(row.price * PRICE), row.count, ways)


def _why_not(key: tuple[int, int, bool], rows: Sequence[Stock], machine: Machine) -> str:
    """Return why a blank of this size comes of none of `rows`, or an empty text."""
    kind = Kind(*key, ())

    def some(limits: Machine) -> bool:
        task = _task((kind,), (), limits, 0)
        return any(
            task.fits(blank, way)
            for row in rows
            if (sheet := _sheet(row, limits))
            for way in sheet.ways
            for blank in task.lying(way.upright)
        )

    if some(machine):
        return ""
    if some(replace(machine, longest=None)):
        return "cut"
    return "strip" if some(replace(machine, longest=None, narrowest=0.0)) else "size"
