"""The stock ledger: every change of a shelf is one movement; balances and counts are their sums."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from django.db import models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from inventory.models import (
    QUANTITY_MAX,
    CutPart,
    CutPiece,
    CutPlan,
    Movement,
    OpenPack,
    Pack,
    SizedStock,
    StockItem,
)
from inventory.models.ledger import PIECES_MAX
from inventory.services.size_rows import full_size
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
    sized: SizedStock | None = None,
    pieces: int | None = None,
    batch: str = "",
) -> Movement:
    """Write one movement of `quantity` base units (signed) and the new balance with it.

    With `sized` it moves so many `pieces` (signed) of that size, whose count goes with it. A shelf
    may go below zero: nobody is refused an issue because the book says so; a count is then asked
    for. The same `key` again returns the first movement and moves nothing.

    Raises
    ------
    ValueError
        If `quantity` is no whole number within ±10**15 or not that of the pieces, the size is
        another item's, or `key` belongs to another movement.
    ShelfOverflow
        If the balance would leave ±10**15, or the pieces of the size ±10**6.
    """
    if isinstance(quantity, bool) or not isinstance(quantity, int) or abs(quantity) > QUANTITY_MAX:
        raise ValueError(f"quantity must be a whole number within ±{QUANTITY_MAX}, got {quantity}")
    if (sized is None) != (pieces is None):
        raise ValueError("a size and its pieces go together")
    if sized and pieces is not None:
        if sized.item_id != item.pk or quantity != pieces * sized.each:
            raise ValueError(f"{pieces} of size {sized.pk} are not {quantity} of item {item.pk}")
        if abs(pieces) > PIECES_MAX:
            raise ShelfOverflow(f"at most {PIECES_MAX} pieces at once, got {pieces}")
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
            "sized": sized,
            "pieces": pieces,
            "batch": batch,
        },
    )
    if not created:
        said = (movement.item_id, movement.kind, movement.quantity, movement.sized_id)
        if said != (item.pk, kind, quantity, sized.pk if sized else None):
            raise ValueError(f"key {key} belongs to another movement")
        item.refresh_from_db(fields=["on_hand", "count_due"])
        if sized:
            sized.refresh_from_db(fields=["count"])
        return movement
    shelf = StockItem.objects.filter(pk=item.pk)
    room = shelf.filter(on_hand__gte=-QUANTITY_MAX - quantity, on_hand__lte=QUANTITY_MAX - quantity)
    if not room.update(on_hand=models.F("on_hand") + quantity):
        raise ShelfOverflow(f"the shelf of item {item.pk} cannot take {quantity} more")
    short = _count_pieces(sized, pieces or 0) if sized else False
    if short or shelf.filter(on_hand__lt=0).exists():
        shelf.filter(count_due=None).update(count_due=day + timedelta(days=1))
    item.refresh_from_db(fields=["on_hand", "count_due"])
    audit(
        by,
        f"stock.{kind}",
        item,
        campus=item.campus,
        detail={"movement": movement.pk, "quantity": quantity, "balance": item.on_hand},
    )
    return movement


def _count_pieces(sized: SizedStock, pieces: int) -> bool:
    """Let the count of a size follow its movement; tell whether the book is short of it."""
    row = SizedStock.objects.filter(pk=sized.pk)
    room = row.filter(count__gte=-PIECES_MAX - pieces, count__lte=PIECES_MAX - pieces)
    if not room.update(count=models.F("count") + pieces):
        raise ShelfOverflow(f"size {sized.pk} cannot take {pieces} pieces more")
    sized.refresh_from_db(fields=["count"])
    return sized.book_short


def move_pieces(
    *,
    sized: SizedStock,
    kind: Movement.Kind,
    pieces: int,
    key: str,
    by: User,
    on: date | None = None,
    reason: str = "",
    pack: Pack | None = None,
    batch: str = "",
) -> Movement:
    """Write one movement of so many `pieces` (signed) of a size; raises as `move` does."""
    return move(
        item=sized.item,
        kind=kind,
        quantity=pieces * sized.each,
        key=key,
        by=by,
        on=on,
        reason=reason,
        pack=pack,
        sized=sized,
        pieces=pieces,
        batch=batch,
    )


@transaction.atomic
def reverse(*, movement: Movement, by: User, reason: str, key: str) -> Movement:
    """Take a movement back with one of the opposite sign.

    The other lines of its batch go with it. A pack whose opening is reversed is open no more; one
    whose leftover is taken off the shelf again is open as before; the part of a cutting plan that
    was booked by it is to be cut again.

    Raises
    ------
    AlreadyReversed
        The second time, and for a reversal.
    LeftoverReturned
        If it opened a pack whose leftover lies on the shelf.
    """
    plan = _lock_plan(movement.batch)
    locked = (
        Movement.objects.select_for_update(of=("self",))
        .select_related("item__campus", "sized")
        .order_by("pk")
    )
    movement = locked.get(pk=movement.pk)
    if movement.kind == Movement.Kind.REVERSE:
        raise AlreadyReversed
    earlier = Movement.objects.filter(reverses=movement).first()
    if earlier is not None:
        if earlier.key == key:
            return earlier
        raise AlreadyReversed
    if movement.batch:
        others = locked.filter(batch=movement.batch, reversed_by=None).exclude(pk=movement.pk)
        for line in others.exclude(kind=Movement.Kind.REVERSE):
            _take_back(line, by, reason, f"{key}:{line.pk}")
    if plan is not None:
        _reopen(plan, movement.batch, by)
    return _take_back(movement, by, reason, key)


def _lock_plan(batch: str) -> CutPlan | None:
    """Lock the plan booked by `batch`: before the shelf, in the order in which a booking locks."""
    if not batch:
        return None
    plans = CutPlan.objects.select_for_update(of=("self",)).select_related("campus")
    return plans.filter(parts__batch=batch).first()


def _reopen(plan: CutPlan, batch: str, by: User) -> None:
    """Let the part that was booked by `batch` be to cut again; a plan given up stays that."""
    part = CutPart.objects.get(plan=plan, batch=batch)
    CutPiece.objects.filter(part=part).update(made=None)
    part.batch, part.spent_e4, part.done_at, part.done_by = "", None, None, None
    part.save(update_fields=["batch", "spent_e4", "done_at", "done_by"])
    if plan.state == CutPlan.State.DONE:
        plan.state = CutPlan.State.OPEN
        plan.save(update_fields=["state"])
    audit(by, "cutting.reopened", plan, campus=plan.campus, detail={"part": part.pk})


def _take_back(movement: Movement, by: User, reason: str, key: str) -> Movement:
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
        sized=movement.sized,
        pieces=None if movement.pieces is None else -movement.pieces,
    )


@transaction.atomic
def receive_packs(
    *, pack: Pack, packs: int, key: str, by: User, on: date | None = None, reason: str = ""
) -> Movement:
    """Put whole packs on the shelf; sheets, bars and pipe of a stated size go there by size."""
    if packs < 1:
        raise ValueError(f"packs must be 1 or more, got {packs}")
    sized = full_size(pack)
    if sized is not None:
        return move_pieces(
            sized=sized,
            kind=Movement.Kind.RECEIVE,
            pieces=packs,
            key=key,
            by=by,
            on=on,
            reason=reason,
            pack=pack,
        )
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
    """Set the shelf to what was counted, by a movement of the difference, with its reason.

    A count that was asked for is done, unless the book is short of a size: that is counted apart.
    """
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
    count_done(item)
    return movement


def count_done(item: StockItem) -> None:
    """Take the item off the list to count, unless its book is short still."""
    short = SizedStock.objects.filter(item=item.pk, count__lt=0)
    shelf = StockItem.objects.filter(pk=item.pk, on_hand__gte=0).exclude(models.Exists(short))
    shelf.update(count_due=None)
    item.refresh_from_db(fields=["on_hand", "count_due"])
