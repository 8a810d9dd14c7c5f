"""What counts teach: how much more the shop uses of an item than its coupons take."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Q, Sum

from inventory.core.learning import LearnedFactor, learn_factor
from inventory.core.needs import PLATE, in_base_units
from inventory.core.open_packs import Use, remainders
from inventory.models import Movement, OpenPack, StockItem
from inventory.services.forecast import default_pack
from inventory.services.open_packs import as_opened, uses_since
from shared.people.audit import audit

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from shared.people.models import User

FACTOR_MAX = 20.0  # what an item may carry
LEAST_DOUBT = 0.01  # a factor that is beyond doubt could not learn
Kind = Movement.Kind
_IN_PACKS = (StockItem.MovedBy.OPEN, StockItem.MovedBy.EXCHANGE)


@dataclass(frozen=True, slots=True)
class Learned:
    """What the last count says: use by the counts and by computation since `since`, base units."""

    belief: LearnedFactor
    counted: float
    computed: float
    since: date
    count: Movement


def learned_factor(item: StockItem) -> Learned | None:
    """Return what the counts since the factor last learned say about it.

    The time runs from the count it learned from last, else from the item's first movement, to the
    last count. Used is what left the shelf in that time, variance of the counts included, less
    what is computed to be left in packs open at its end, plus that at its start. For items that
    go in packs a pack is the lump in which use is seen, else one coupon's use, a piece at least.

    None without a later count or a coupon in that time, for plate (its practice pieces are counted
    by the piece) and for what goes by student and week as well: there the two cannot be parted.
    """
    lines = item.movements.order_by("pk")
    last = lines.filter(kind=Kind.COUNT, reversed_by=None).last()
    start = item.learned_to or lines.first()
    if (
        last is None
        or start is None
        or last.pk <= start.pk
        or item.kind in PLATE
        or item.per_student_week
    ):
        return None
    zone = item.campus.zone
    end = _moment(last, time.max, zone)
    begin = _moment(start, time.max if item.learned_to else time.min, zone)
    rows = OpenPack.objects.filter(item=item).select_related("movement")
    packs = list(rows.prefetch_related("readings"))
    earliest = min([begin, *(row.opened_at for row in packs)])
    found = uses_since(earliest, item.campus).get(item.spec_key, [])
    uses = [Use(use.at, in_base_units(use.quantity, item.base_unit)) for use in found]
    of_time = [use.quantity for use in uses if begin < use.at <= end]
    computed = sum(of_time)
    if not computed:
        return None
    counted = max(
        0.0,
        _left_the_shelf(item, item.learned_to, last)
        - _in_open(packs, uses, end, item.factor)
        + (_in_open(packs, uses, begin, item.factor) if item.learned_to else 0),
    )
    pack = default_pack(item) if item.moved_by in _IN_PACKS else None
    belief = learn_factor(
        item.factor,
        max(item.bias_cv, LEAST_DOUBT),
        counted=counted,
        computed=computed,
        grain=max(computed / len(of_time), pack.size if pack else 1),
    )
    return Learned(
        belief=replace(belief, factor=min(belief.factor, FACTOR_MAX)),
        counted=counted,
        computed=computed,
        since=start.on,
        count=last,
    )


def _moment(line: Movement, of_day: time, zone: ZoneInfo) -> datetime:
    """Return when a line happened: as it was keyed, or at a time of the day it was keyed for."""
    keyed = line.at.astimezone(zone)
    return keyed if keyed.date() == line.on else datetime.combine(line.on, of_day, tzinfo=zone)


def _left_the_shelf(item: StockItem, after: Movement | None, last: Movement) -> int:
    """Return what all but receipts took off the shelf, base units."""
    received = Q(kind=Kind.RECEIVE) | Q(kind=Kind.REVERSE, reverses__kind=Kind.RECEIVE)
    lines = item.movements.filter(pk__lte=last.pk, pk__gt=after.pk if after else 0)
    return -(lines.exclude(received).aggregate(total=Sum("quantity"))["total"] or 0)


def _in_open(packs: list[OpenPack], uses: list[Use], at: datetime, factor: float) -> float:
    """Return what is computed to be in the packs open at a time, base units."""
    known = [row for row in packs if row.opened_at <= at]
    held = [as_opened(row, at) for row in known]
    left = remainders(held, [use for use in uses if use.at <= at], factor=factor)
    return sum(
        rest
        for row, rest in zip(known, left, strict=True)
        if row.finished_at is None or row.finished_at > at
    )


@transaction.atomic
def take_factor(*, item: StockItem, learned: Learned, by: User) -> None:
    """Let the forecast use what the counts say; later counts teach from there on."""
    item.factor = learned.belief.factor
    item.bias_cv = learned.belief.bias_cv
    item.learned_to = learned.count
    item.save(update_fields=["factor", "bias_cv", "learned_to"])
    audit(
        by,
        "stock.factor_learned",
        item,
        campus=item.campus,
        detail={"factor": item.factor, "doubt": item.bias_cv, "count": learned.count.pk},
    )
