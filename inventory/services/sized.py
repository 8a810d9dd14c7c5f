"""Sheets, bars, remnants and blanks by size: what there is to cut from, and what is done with it.

stock_for(items)        → sizes on the shelf and packs on offer, by item
blanks_on_shelf(items)  → blanks by size, by item
newest_movement(items)  → what a plan remembers, to know that the stock has changed since
book_cut(...)           → sheets out, blanks and remnants in, at once
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction
from django.db.models import F, Max, Sum

from inventory.core.sizes import Size
from inventory.models import Movement, Pack, SizedStock, StockItem
from inventory.services.ledger import move_pieces
from inventory.services.size_rows import (
    Form,
    base_units_of,
    is_cut,
    size_of,
    size_of_pack,
    size_row,
)
from inventory.services.stock import InQuarantine

if TYPE_CHECKING:
    from datetime import date

    from shared.people.models import User

Kind = Movement.Kind
KEY_LENGTH = 56  # of a batch, so that the keys of its lines fit
ROUNDED = 2  # µm by which rounded sides may seem too long


class MoreThanWentIn(ValueError):
    """A cut would make more than was cut up: `made` over `used`, base units."""

    def __init__(self, made: int, used: int) -> None:
        super().__init__(f"{made} base units cannot be cut from {used}")
        self.made, self.used = made, used


class FitsInNone(ValueError):
    """A blank or remnant is larger than every piece it could have been cut from."""

    def __init__(self, size: Size) -> None:
        super().__init__(f"{size} fits into nothing that was cut up")
        self.size = size


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A size to cut from: `row` lies on the shelf, so many of it; a `pack` can be bought.

    `price` is that of one: nothing for a remnant; of a full size on the shelf what it costs to buy
    again, the cheapest pack of that size, so that none is bought while one lies there; where no
    pack has that size, its share of the pack bought by default. `count` None: as many as wanted.
    """

    size: Size
    count: int | None
    price: Decimal
    row: SizedStock | None = None
    pack: Pack | None = None

    @property
    def id(self) -> str:
        return f"row:{self.row.pk}" if self.row else f"pack:{self.pack.pk if self.pack else 0}"

    @property
    def is_remnant(self) -> bool:
        return self.row is not None and self.row.form == Form.REMNANT


class Made(NamedTuple):
    """Blanks or remnants of one size that came off a cut; sides in µm, a bar's width None."""

    length_um: int
    width_um: int | None
    label: str
    pieces: int


def stock_for(items: Iterable[StockItem]) -> dict[int, list[Offer]]:
    """Return what can be cut up of each of `items`, by its pk: remnants, full sizes, packs.

    Nothing of what is in quarantine or not in use. Queries: two, however many items.
    """
    known = {item.pk: item for item in items if _to_cut(item)}
    found: dict[int, list[Offer]] = {pk: [] for pk in known}
    packs: dict[int, list[tuple[Pack, Size]]] = defaultdict(list)
    on_offer = Pack.objects.filter(item__in=known, is_active=True).order_by("-preferred", "pk")
    for pack in on_offer:
        pack.item = known[pack.item_id]
        if size := size_of_pack(pack):
            packs[pack.item_id].append((pack, size))
    rows = SizedStock.objects.filter(item__in=known, count__gt=0).exclude(form=Form.BLANK)
    for row in sorted(rows, key=lambda row: (row.form == Form.FULL, row.each, row.pk)):
        price = Decimal(0) if row.form == Form.REMNANT else _price(row, packs[row.item_id])
        found[row.item_id].append(Offer(size=size_of(row), count=row.count, price=price, row=row))
    for pk, sizes in packs.items():
        found[pk] += [
            Offer(size=size, count=None, price=pack.price, pack=pack) for pack, size in sizes
        ]
    return found


def _to_cut(item: StockItem) -> bool:
    return is_cut(item) and item.is_active and not item.quarantined


def _price(row: SizedStock, packs: Sequence[tuple[Pack, Size]]) -> Decimal:
    again = [pack.price for pack, size in packs if size == size_of(row)]
    if again:
        return min(again)
    if not packs:
        return Decimal(0)
    pack, _size = packs[0]
    return (pack.price * row.each / pack.size).quantize(Decimal("0.0001"))


def blanks_on_shelf(items: Iterable[StockItem]) -> dict[int, dict[Size, int]]:
    """Return the blanks there are of each item, by its pk and their size, long side first."""
    found: dict[int, dict[Size, int]] = {item.pk: {} for item in items}
    for row in SizedStock.objects.filter(item__in=found, form=Form.BLANK):
        sizes = found[row.item_id]
        sizes[size_of(row)] = sizes.get(size_of(row), 0) + row.count
    return found


def newest_movement(items: Iterable[StockItem]) -> dict[int, int]:
    """Return the newest movement of each item by its pk, 0 where there is none.

    Kept with a plan: another answer later says that the stock has changed since.
    """
    found = {item.pk: 0 for item in items}
    rows = Movement.objects.filter(item__in=found).order_by().values("item")
    found |= {row["item"]: row["newest"] for row in rows.annotate(newest=Max("pk"))}
    return found


def not_by_size(item: StockItem) -> int:
    """Return the base units on the shelf that are told apart by no size; below zero: too few."""
    told = item.sizes.aggregate(total=Sum(F("each") * F("count")))["total"] or 0
    return int(item.on_hand - told)


@transaction.atomic
def book_cut(
    *,
    item: StockItem,
    used: Sequence[tuple[SizedStock, int]],
    blanks: Sequence[Made | tuple[int, int | None, str, int]],
    remnants: Sequence[Made | tuple[int, int | None, str, int]] = (),
    bought: Sequence[tuple[Pack, int]] = (),
    key: str,
    by: User,
    on: date | None = None,
    reason: str = "",
) -> list[Movement]:
    """Take what was cut up off the shelf and put on it what came off, as one batch of `key`.

    `used` are rows and pieces, `bought` packs of a stated size that the plan counted on: they are
    taken from the full sizes whether their receipt is in the book yet or not. The difference is
    kerf, trim and scrap. A size the book has too little of goes below zero and a count is asked
    for. The same `key` again returns the first lines and moves nothing.

    Raises
    ------
    MoreThanWentIn, FitsInNone
        If more came off than went in, or a piece larger than any that went in.
    InQuarantine
        If the grade of the item is unknown.
    ValueError
        If nothing was cut up, a count is below 1, a size is none of this item, a pack states no
        size, or `key` is longer than 56 or another act's.
    """
    refuse_key(key)
    locked = StockItem.objects.select_for_update().select_related("campus").get(pk=item.pk)
    if earlier := earlier_lines(key, locked, Kind.CUT):
        item.refresh_from_db(fields=["on_hand", "count_due"])
        return earlier
    if locked.quarantined:
        raise InQuarantine
    out = _summed([*used, *((_row_of(locked, pack), pieces) for pack, pieces in bought)], locked)
    if not out:
        raise ValueError("nothing was cut up")
    made = [
        *((Form.BLANK, Made(*one)) for one in blanks),
        *((Form.REMNANT, Made(*one)) for one in remnants),
    ]
    _refuse_impossible(locked, out, [one for _form, one in made])
    into = _summed(
        [
            (size_row(locked, form, Size(one.length_um, one.width_um), one.label), one.pieces)
            for form, one in made
        ],
        locked,
    )
    lines = [(row, -pieces, "out") for row, pieces in out]
    lines += [(row, pieces, "in") for row, pieces in into]
    moved = [
        move_pieces(
            sized=row,
            kind=Kind.CUT,
            pieces=pieces,
            key=f"{key}:{way}:{row.pk}",
            by=by,
            on=on,
            reason=reason,
            batch=key,
        )
        for row, pieces, way in lines
    ]
    item.refresh_from_db(fields=["on_hand", "count_due"])
    return moved


def refuse_key(key: str) -> None:
    """Raise ValueError for a key that leaves no room for those of its lines."""
    if not 1 <= len(key) <= KEY_LENGTH:
        raise ValueError(f"a key has 1 to {KEY_LENGTH} letters, got {len(key)}")


def earlier_lines(key: str, item: StockItem, kind: Movement.Kind) -> list[Movement]:
    """Return the lines of an act that was done before; raise ValueError if it was another."""
    lines = list(Movement.objects.filter(batch=key).select_related("sized").order_by("pk"))
    if any((line.item_id, line.kind) != (item.pk, kind) for line in lines):
        raise ValueError(f"key {key} belongs to another act")
    return lines


def _row_of(item: StockItem, pack: Pack) -> SizedStock:
    size = size_of_pack(pack)
    if size is None or pack.item_id != item.pk:
        raise ValueError(f"pack {pack.pk} is no sheet or bar of {item}")
    return size_row(item, Form.FULL, size)


def _summed(
    rows: Iterable[tuple[SizedStock, int]], item: StockItem
) -> list[tuple[SizedStock, int]]:
    """Return each row once, with its pieces added up, in one order for all who lock."""
    pieces: dict[int, int] = defaultdict(int)
    known: dict[int, SizedStock] = {}
    for row, count in rows:
        if count < 1:
            raise ValueError(f"pieces must be 1 or more, got {count}")
        if row.item_id != item.pk:
            raise ValueError(f"size {row.pk} is not of {item}")
        row.item = item
        pieces[row.pk] += count
        known[row.pk] = row
    return [(known[pk], pieces[pk]) for pk in sorted(pieces)]


def _refuse_impossible(
    item: StockItem, out: Sequence[tuple[SizedStock, int]], made: Sequence[Made]
) -> None:
    sizes = [size_of(row).long_side_first for row, _pieces in out]
    total = 0
    for one in made:
        size = Size(one.length_um, one.width_um).long_side_first
        total += base_units_of(item, size) * one.pieces
        if not any(
            size.length <= whole.length + ROUNDED
            and (size.width or 0) <= (whole.width or 0) + ROUNDED
            for whole in sizes
        ):
            raise FitsInNone(size)
    used = sum(row.each * pieces for row, pieces in out)
    # Sides are rounded to the micrometre and areas to the unit: that is no more than went in.
    rounded = sum(one.pieces for one in made) + sum(pieces for _row, pieces in out)
    if total > used + rounded // 2 + used // 100_000:
        raise MoreThanWentIn(total, used)
