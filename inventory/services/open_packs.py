"""What is left in the packs that are open, computed from the coupons handed in since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING

from grading.models import Attempt
from inventory.core.needs import Shelf, in_base_units, needs_of
from inventory.core.open_packs import Opened, Use, remainders
from inventory.models import OpenPack, StockItem
from inventory.services.usages import usages_of

if TYPE_CHECKING:
    from shared.people.models import Campus


def shelves_of(campus: Campus) -> list[Shelf]:
    """Return what the needs of setups are matched against."""
    rows = StockItem.objects.filter(campus=campus).active()
    return [
        Shelf(key=key, base=base, piece_mg=piece)
        for key, base, piece in rows.values_list("spec_key", "base_unit", "piece_mg")
    ]


def left_open(
    items: Iterable[StockItem], campus: Campus
) -> dict[int, list[tuple[OpenPack, float]]]:
    """Return the open packs of `items` with what is left in each (base units), by item.

    Left is what was opened less what the coupons handed in since took by computation, times the
    item's factor; of a cylinder it starts anew from each reading. A constant number of queries.
    """
    known = {item.pk: item for item in items}
    rows = (
        OpenPack.objects.filter(item__in=known)
        .select_related("movement", "pack")
        .prefetch_related("readings")
    )
    still_open = list(rows.filter(finished_at=None))
    if not still_open:
        return {}
    finished = rows.filter(
        item__in={row.item_id for row in still_open},
        finished_at__gte=min(row.opened_at for row in still_open),
    )
    by_item: dict[int, list[OpenPack]] = defaultdict(list)
    for row in [*still_open, *finished]:
        row.item = known[row.item_id]
        by_item[row.item_id].append(row)
    uses = uses_since(min(row.opened_at for rows in by_item.values() for row in rows), campus)
    found: dict[int, list[tuple[OpenPack, float]]] = {}
    for pk, rows_of in by_item.items():
        item = known[pk]
        # What an item is left with must not depend on which others are looked at beside it.
        since = min(row.opened_at for row in rows_of if row.finished_at is None)
        packs = [row for row in rows_of if row.finished_at is None or row.finished_at >= since]
        taken = [
            Use(use.at, in_base_units(use.quantity, item.base_unit))
            for use in uses.get(item.spec_key, ())
        ]
        held = [as_opened(row) for row in packs]
        left = remainders(held, taken, factor=item.factor)
        found[pk] = [
            (row, rest) for row, rest in zip(packs, left, strict=True) if row.finished_at is None
        ]
    return found


def as_opened(row: OpenPack, upto: datetime | None = None) -> Opened:
    """Return a pack as the pure code knows it, with its readings (prefetched) up to a time."""
    readings = tuple(
        (one.at, float(one.left)) for one in row.readings.all() if upto is None or one.at <= upto
    )
    return Opened(row.opened_at, row.size, row.finished_at, readings)


def uses_since(start: datetime, campus: Campus) -> dict[str, list[Use]]:
    """Return what the coupons handed in since took, oldest first, by item key in case units."""
    coupons = list(
        Attempt.objects.filter(shop_class__campus=campus, logged_at__gte=start)
        .exclude(state=Attempt.State.STARTED)
        .order_by("logged_at", "pk")
        .values_list("setup_id", "logged_at")
    )
    if not coupons:
        return {}
    shelves = shelves_of(campus)
    needs = {
        setup: needs_of(one, shelves)
        for setup, one in usages_of({setup for setup, _at in coupons}).items()
    }
    found: dict[str, list[Use]] = defaultdict(list)
    for setup, at in coupons:
        for need in needs.get(setup, ()):
            if need.matched and at is not None:
                found[need.item].append(Use(at, need.quantity))
    return found
