"""The stock ledger: every change of a shelf is one movement, and the balance is their sum."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from django.db import models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from inventory.models import QUANTITY_MAX, Movement, OpenPack, Pack, StockItem
from shared.people.audit import audit

if TYPE_CHECKING:
    from datetime import date

    from shared.people.models import User


class AlreadyReversed(Exception):
    """A movement is reversed once, and a reversal not at all."""


@transaction.atomic
def move(
    *,
    item: StockItem,
    kind: Movement.Kind,
    quantity: int,
    key: str,
    by: User,
    on: date | None = None,
    reason: str = "",
    pack: Pack | None = None,
    reverses: Movement | None = None,
) -> Movement:
    """Write one movement of `quantity` base units (signed) and the new balance with it.

    A shelf may go below zero: nobody is refused an issue because the book says so; a count is
    then asked for. The same `key` again returns the first movement and moves nothing.

    Raises
    ------
    ValueError
        If `quantity` is no whole number within ±10**15, or `key` belongs to another movement.
    """
    if isinstance(quantity, bool) or not isinstance(quantity, int) or abs(quantity) > QUANTITY_MAX:
        raise ValueError(f"quantity must be a whole number within ±{QUANTITY_MAX}, got {quantity}")
    day = on or item.campus.today()
    movement, created = Movement.objects.get_or_create(
        key=key,
        defaults={
            "item": item,
            "kind": kind,
            "quantity": quantity,
            "on": day,
            "by": by,
            "reason": reason,
            "pack": pack,
            "reverses": reverses,
        },
    )
    if not created:
        if (movement.item_id, movement.kind, movement.quantity) != (item.pk, kind, quantity):
            raise ValueError(f"key {key} belongs to another movement")
        item.refresh_from_db(fields=["on_hand", "count_due"])
        return movement
    shelf = StockItem.objects.filter(pk=item.pk)
    shelf.update(on_hand=models.F("on_hand") + quantity)
    shelf.filter(on_hand__lt=0, count_due=None).update(count_due=day + timedelta(days=1))
    item.refresh_from_db(fields=["on_hand", "count_due"])
    audit(
        by,
        f"stock.{kind}",
        item,
        campus=item.campus,
        detail={"movement": movement.pk, "quantity": quantity, "balance": item.on_hand},
    )
    return movement


@transaction.atomic
def reverse(*, movement: Movement, by: User, reason: str, key: str) -> Movement:
    """Take a movement back with one of the opposite sign; raise AlreadyReversed the second time."""
    locked = Movement.objects.select_for_update().select_related("item__campus")
    movement = locked.get(pk=movement.pk)
    if movement.kind == Movement.Kind.REVERSE:
        raise AlreadyReversed
    earlier = Movement.objects.filter(reverses=movement).first()
    if earlier is not None:
        if earlier.key == key:
            return earlier
        raise AlreadyReversed
    OpenPack.objects.filter(movement=movement, finished_at=None).update(finished_at=timezone.now())
    return move(
        item=movement.item,
        kind=Movement.Kind.REVERSE,
        quantity=-movement.quantity,
        key=key,
        by=by,
        reason=reason,
        pack=movement.pack,
        reverses=movement,
    )


@transaction.atomic
def receive_packs(
    *, pack: Pack, packs: int, key: str, by: User, on: date | None = None, reason: str = ""
) -> Movement:
    """Put whole packs on the shelf."""
    if packs < 1:
        raise ValueError(f"packs must be 1 or more, got {packs}")
    return move(
        item=pack.item,
        kind=Movement.Kind.RECEIVE,
        quantity=packs * pack.size,
        key=key,
        by=by,
        on=on,
        reason=reason,
        pack=pack,
    )


@transaction.atomic
def open_pack(
    *, pack: Pack, key: str, by: User, on: date | None = None, reason: str = ""
) -> OpenPack:
    """Take a pack off the shelf and into use; a cylinder is exchanged the same way."""
    gas = pack.item.moved_by == StockItem.MovedBy.EXCHANGE
    movement = move(
        item=pack.item,
        kind=Movement.Kind.EXCHANGE if gas else Movement.Kind.OPEN,
        quantity=-pack.size,
        key=key,
        by=by,
        on=on,
        reason=reason,
        pack=pack,
    )
    opened, _created = OpenPack.objects.get_or_create(
        movement=movement,
        defaults={"item": pack.item, "pack": pack, "opened_at": timezone.now()},
    )
    return opened


@transaction.atomic
def finish_pack(
    *, open_pack: OpenPack, left: int, key: str, by: User, on: date | None = None
) -> None:
    """Close an open pack; what is `left` in it (base units) goes back to the shelf."""
    if not 0 <= left <= open_pack.pack.size:
        raise ValueError(f"left must lie between 0 and {open_pack.pack.size}, got {left}")
    done = OpenPack.objects.filter(pk=open_pack.pk, finished_at=None).update(
        finished_at=timezone.now()
    )
    if done and left:
        move(
            item=open_pack.item,
            kind=Movement.Kind.RETURN,
            quantity=left,
            key=key,
            by=by,
            on=on,
            reason=_("left in the pack"),
            pack=open_pack.pack,
        )


@transaction.atomic
def count_shelf(
    *,
    item: StockItem,
    counted: int,
    key: str,
    by: User,
    reason: str,
    on: date | None = None,
) -> Movement:
    """Set the shelf to what was counted, by a movement of the difference, with its reason."""
    if not 0 <= counted <= QUANTITY_MAX:
        raise ValueError(f"counted must lie between 0 and {QUANTITY_MAX}, got {counted}")
    locked = StockItem.objects.select_for_update().get(pk=item.pk)
    earlier = Movement.objects.filter(key=key).first()
    if earlier is not None:
        return earlier
    movement = move(
        item=locked,
        kind=Movement.Kind.COUNT,
        quantity=counted - locked.on_hand,
        key=key,
        by=by,
        on=on,
        reason=reason,
    )
    StockItem.objects.filter(pk=item.pk).update(count_due=None)
    item.refresh_from_db(fields=["on_hand", "count_due"])
    return movement
