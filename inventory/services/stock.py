"""Writing the shelf: items, packs and suppliers, what is done at the shelf, the weekly count."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from inventory.models import Movement, OpenPack, Pack, StockItem, Supplier
from inventory.services.ledger import count_shelf, finish_pack, move, open_pack, receive_packs
from shared.people.audit import audit

if TYPE_CHECKING:
    from datetime import date

    from shared.people.models import User

_INWARDS = frozenset({Movement.Kind.RECEIVE, Movement.Kind.RETURN})


class InQuarantine(Exception):
    """The grade of this item is unknown: nothing of it is used before somebody has checked it."""


def _usable(item: StockItem) -> None:
    if StockItem.objects.filter(pk=item.pk, quarantined=True).exists():
        raise InQuarantine


@transaction.atomic
def move_amount(
    *,
    item: StockItem,
    kind: Movement.Kind,
    amount: int,
    key: str,
    by: User,
    on: date | None = None,
    reason: str = "",
    pack: Pack | None = None,
) -> Movement:
    """Receive, cut, hand out or take back `amount` base units (above 0; the kind says which way).

    Whole packs that are received are noted as such. Raises InQuarantine for what is used.
    """
    if amount < 1:
        raise ValueError(f"amount must be 1 or more, got {amount}")
    inwards = kind in _INWARDS
    if not inwards:
        _usable(item)
    if kind == Movement.Kind.RECEIVE and pack is not None and amount % pack.size == 0:
        count = amount // pack.size
        return receive_packs(pack=pack, packs=count, key=key, by=by, on=on, reason=reason)
    quantity = amount if inwards else -amount
    return move(
        item=item, kind=kind, quantity=quantity, key=key, by=by, on=on, reason=reason, pack=pack
    )


@transaction.atomic
def take_packs(
    *, pack: Pack, packs: int, key: str, by: User, on: date | None = None, reason: str = ""
) -> list[OpenPack]:
    """Open so many packs (1 or more), each with a movement of its own. Raises InQuarantine."""
    if packs < 1:
        raise ValueError(f"packs must be 1 or more, got {packs}")
    _usable(pack.item)
    return [
        open_pack(pack=pack, key=f"{key}:{n}", by=by, on=on, reason=reason) for n in range(packs)
    ]


@transaction.atomic
def exchange(
    *,
    pack: Pack,
    replaces: OpenPack | None,
    left: int,
    key: str,
    by: User,
    on: date | None = None,
    reason: str = "",
    stays: bool = False,
    mark: str = "",
) -> OpenPack:
    """Put a full cylinder in the place of one in use, or beside those there are (None).

    `mark` is what is stamped or painted on the full one. What is `left` (base units) in the one
    that goes leaves the shop with it unless it `stays`. Raises InQuarantine.
    """
    _usable(pack.item)
    if replaces is not None:
        finish_pack(open_pack=replaces, left=left, key=f"{key}:left", by=by, on=on, stays=stays)
    opened = open_pack(pack=pack, key=key, by=by, on=on, reason=reason)
    if mark and not opened.mark:
        opened.mark = mark
        opened.save(update_fields=["mark"])
    return opened


@transaction.atomic
def ask_count(*, item: StockItem, by: User) -> bool:
    """Put the item on today's list to count; tell whether it was not there before."""
    today = item.campus.today()
    waiting = StockItem.objects.filter(pk=item.pk).exclude(count_due__lte=today)
    if not waiting.update(count_due=today):
        return False
    item.refresh_from_db(fields=["count_due"])
    audit(by, "stock.count_asked", item, campus=item.campus)
    return True


@dataclass(frozen=True, slots=True)
class Count:
    """What was found of an item, base units, and why it is not what the book says."""

    item: StockItem
    found: int
    reason: str


@transaction.atomic
def keep_counts(*, counts: Iterable[Count], key: str, by: User) -> list[Movement]:
    """Write the counts of a round, all or none; return their movements (0 where the book held)."""
    return [
        count_shelf(
            item=one.item, counted=one.found, key=f"{key}:{one.item.pk}", by=by, reason=one.reason
        )
        for one in sorted(counts, key=lambda one: one.item.pk)  # one order for all who lock
    ]


@transaction.atomic
def save_item(*, item: StockItem, by: User) -> StockItem:
    """Store a new or changed item; its movements and its balance are left alone."""
    made = item.pk is None
    item.save()
    audit(by, "stock.item_added" if made else "stock.item_changed", item, campus=item.campus)
    return item


@transaction.atomic
def save_pack(*, pack: Pack, by: User) -> Pack:
    """Store a new or changed pack; the first of an item is bought by default, one at most is."""
    others = Pack.objects.filter(item=pack.item, is_active=True).exclude(pk=pack.pk)
    StockItem.objects.select_for_update().get(pk=pack.item_id)
    if pack.is_active and not others.filter(preferred=True).exists():
        pack.preferred = True
    if pack.preferred and pack.is_active:
        for other in others.filter(preferred=True):
            other.preferred = False
            other.save(update_fields=["preferred"])
    pack.save()
    audit(
        by,
        "stock.pack_saved",
        pack.item,
        campus=pack.item.campus,
        detail={"pack": pack.pk, "size": pack.size, "price": pack.price},
    )
    return pack


@transaction.atomic
def save_supplier(*, supplier: Supplier, by: User) -> Supplier:
    """Store a new or changed supplier."""
    supplier.save()
    audit(by, "stock.supplier_saved", supplier, campus=supplier.campus)
    return supplier
