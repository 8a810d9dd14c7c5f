"""What is done with pieces of a size at the shelf: received, handed out, thrown away, counted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from django.db import transaction

from inventory.core.sizes import Size
from inventory.models import Movement, SizedStock, StockItem
from inventory.services.ledger import count_done, move, move_pieces
from inventory.services.size_rows import size_of, size_row
from inventory.services.sized import earlier_lines, not_by_size, refuse_key
from inventory.services.stock import InQuarantine

if TYPE_CHECKING:
    from datetime import date

    from shared.people.models import User

Kind = Movement.Kind


class OtherThickness(ValueError):
    """What was graded does not go with that item: other sizes, or in quarantine itself."""


@transaction.atomic
def receive_pieces(
    *,
    item: StockItem,
    form: SizedStock.Form | str,
    size: Size,
    pieces: int,
    key: str,
    by: User,
    label: str = "",
    on: date | None = None,
    reason: str = "",
) -> Movement:
    """Put pieces of a size on the shelf that came without a requisition, such as donated offcuts.

    What comes into an item in quarantine stays there until it is graded. Raises ValueError for
    fewer than 1 piece or a size that is none of the item.
    """
    _at_least_one(pieces)
    return move_pieces(
        sized=size_row(item, form, size, label),
        kind=Kind.RECEIVE,
        pieces=pieces,
        key=key,
        by=by,
        on=on,
        reason=reason,
    )


@transaction.atomic
def hand_out(
    *,
    sized: SizedStock,
    pieces: int,
    key: str,
    by: User,
    on: date | None = None,
    reason: str = "",
    batch: str = "",
) -> Movement:
    """Hand out pieces of a size; book short is allowed. Raises InQuarantine, ValueError below 1."""
    _at_least_one(pieces)
    if StockItem.objects.filter(pk=sized.item_id, quarantined=True).exists():
        raise InQuarantine
    return move_pieces(
        sized=sized,
        kind=Kind.ISSUE,
        pieces=-pieces,
        key=key,
        by=by,
        on=on,
        reason=reason,
        batch=batch,
    )


@transaction.atomic
def throw_away(
    *,
    sized: SizedStock,
    pieces: int,
    key: str,
    by: User,
    reason: str,
    on: date | None = None,
) -> Movement:
    """Throw pieces away, with the reason; raises ValueError below 1 piece or without a reason."""
    _at_least_one(pieces)
    if not reason.strip():
        raise ValueError("what is thrown away has a reason")
    return move_pieces(
        sized=sized, kind=Kind.SCRAP, pieces=-pieces, key=key, by=by, on=on, reason=reason
    )


def kinds_for(item: StockItem) -> list[StockItem]:
    """Return the items that what lies in `item` may turn out to be: same kind and sizes, graded."""
    same = StockItem.objects.filter(
        campus=item.campus_id, kind=item.kind, quarantined=False, is_active=True
    ).exclude(pk=item.pk)
    return [one for one in same if _sides(one) == _sides(item)]


def _sides(item: StockItem) -> list[str]:
    return item.spec_key.split(":")[2:]


@transaction.atomic
def regrade(
    *,
    sized: SizedStock,
    pieces: int,
    into: StockItem,
    key: str,
    by: User,
    reason: str,
    on: date | None = None,
) -> list[Movement]:
    """Put pieces whose grade was unknown with the item they were found to be, as one batch.

    Raises OtherThickness for an item of another kind or thickness or in quarantine itself,
    ValueError below 1 piece, without the reason (who checked, and how), for a long key.
    """
    _at_least_one(pieces)
    refuse_key(key)
    if not reason.strip():
        raise ValueError("a grade is found by somebody, somehow")
    if into not in kinds_for(sized.item):
        raise OtherThickness
    other = size_row(into, sized.form, size_of(sized), sized.label)
    return [
        move_pieces(
            sized=row,
            kind=Kind.REGRADE,
            pieces=moved,
            key=f"{key}:{row.pk}",
            by=by,
            on=on,
            reason=reason,
            batch=key,
        )
        for row, moved in sorted(((sized, -pieces), (other, pieces)), key=lambda one: one[0].pk)
    ]


@transaction.atomic
def count_pieces(
    *,
    item: StockItem,
    found: Mapping[SizedStock, int],
    all_told: bool,
    key: str,
    by: User,
    reason: str = "",
    on: date | None = None,
) -> list[Movement]:
    """Set sizes to the pieces that were counted; return the lines that took, as one batch.

    `all_told`: nothing else lies there, so what the book holds beyond sizes goes. That is how a
    shelf that was kept by area alone comes to be told apart. A count that was asked for is done,
    unless the book is short of another size.

    Raises ValueError for a count below 0, another item's size, a long or another act's key.
    """
    refuse_key(key)
    locked = StockItem.objects.select_for_update().select_related("campus").get(pk=item.pk)
    if earlier := earlier_lines(key, locked, Kind.COUNT):
        return earlier
    fresh = {row.pk: row for row in locked.sizes.filter(pk__in=[row.pk for row in found])}
    lines = []
    for row, counted in sorted(found.items(), key=lambda one: one[0].pk):
        if counted < 0 or row.pk not in fresh:
            raise ValueError(f"{counted} of size {row.pk} is no count of {item}")
        sized = fresh[row.pk]
        sized.item = locked
        if counted != sized.count:
            lines.append(
                move_pieces(
                    sized=sized,
                    kind=Kind.COUNT,
                    pieces=counted - sized.count,
                    key=f"{key}:{row.pk}",
                    by=by,
                    on=on,
                    reason=reason,
                    batch=key,
                )
            )
    locked.refresh_from_db(fields=["on_hand"])
    rest = not_by_size(locked)
    if all_told and rest:
        lines.append(
            move(
                item=locked,
                kind=Kind.COUNT,
                quantity=-rest,
                key=f"{key}:rest",
                by=by,
                on=on,
                reason=reason,
                batch=key,
            )
        )
    count_done(item)
    return lines


def _at_least_one(pieces: int) -> None:
    if isinstance(pieces, bool) or pieces < 1:
        raise ValueError(f"pieces must be 1 or more, got {pieces}")
