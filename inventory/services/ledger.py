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


class LeftoverReturned(Exception):
    """What was left in this pack is back on the shelf: that is reversed before its opening."""


class ShelfOverflow(ValueError):
    """The shelf would hold more, or owe more, than 10**15 base units."""


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
    ShelfOverflow
        If the balance would leave ±10**15.
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
    room = shelf.filter(on_hand__gte=-QUANTITY_MAX - quantity, on_hand__lte=QUANTITY_MAX - quantity)
    if not room.update(on_hand=models.F("on_hand") + quantity):
        raise ShelfOverflow(f"the shelf of item {item.pk} cannot take {quantity} more")
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
    """Take a movement back with one of the opposite sign.

    A pack whose opening is reversed is open no more; one whose leftover is taken off the shelf
    again is open as before.

    Raises
    ------
    AlreadyReversed
        The second time, and for a reversal.
    LeftoverReturned
        If it opened a pack whose leftover lies on the shelf.
    """
    locked = Movement.objects.select_for_update(of=("self",)).select_related("item__campus")
    movement = locked.get(pk=movement.pk)
    if movement.kind == Movement.Kind.REVERSE:
        raise AlreadyReversed
    earlier = Movement.objects.filter(reverses=movement).first()
    if earlier is not None:
        if earlier.key == key:
            return earlier
        raise AlreadyReversed
    opened = OpenPack.objects.filter(movement=movement)
    if opened.filter(leftover__isnull=False).exists():
        raise LeftoverReturned
    opened.filter(finished_at=None).update(finished_at=timezone.now())
    OpenPack.objects.filter(leftover=movement).update(finished_at=None, left=None, leftover=None)
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
    *,
    open_pack: OpenPack,
    left: int,
    key: str,
    by: User,
    on: date | None = None,
    stays: bool | None = None,
) -> None:
    """Close an open pack; what is `left` in it (base units) goes back to the shelf if it stays.

    Left to itself, gas goes: what is left in a cylinder leaves the shop with it at exchange, and
    nothing else does. `stays=True` is for a cylinder that is taken off and kept. `left` is noted
    either way: what was used is the rest. The second time nothing happens.

    Raises ValueError if `left` is outside 0 to what the pack held when it was opened.
    """
    pack = OpenPack.objects.select_for_update(of=("self",)).select_related("movement", "item")
    held = pack.get(pk=open_pack.pk)
    if not 0 <= left <= held.size:
        raise ValueError(f"left must lie between 0 and {held.size}, got {left}")
    if held.finished_at is not None:
        return
    if stays is None:
        stays = held.item.moved_by != StockItem.MovedBy.EXCHANGE
    if left and stays:
        held.leftover = move(
            item=held.item,
            kind=Movement.Kind.RETURN,
            quantity=left,
            key=key,
            by=by,
            on=on,
            reason=_("left in the pack"),
            pack=held.pack,
        )
    held.finished_at, held.left = timezone.now(), left
    held.save(update_fields=["finished_at", "left", "leftover"])
    audit(by, "stock.finished", held.item, campus=held.item.campus, detail={"left": left})
    open_pack.refresh_from_db(fields=["finished_at", "left", "leftover"])


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
        if (earlier.item_id, earlier.kind) != (item.pk, Movement.Kind.COUNT):
            raise ValueError(f"key {key} belongs to another movement")
        item.refresh_from_db(fields=["on_hand", "count_due"])
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
