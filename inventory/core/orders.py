"""From a forecast to an order: how many packs, by which day, for how much money."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np

from inventory.core.case import Item, Receipt

ROUNDING = 1e-9
"""Relative: an amount this much over a pack or a shelf is rounding, not a further need."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What to buy of one item. Money is exact; None where the item has no price."""

    need: float  # item's unit: ample figure less shelf and open orders
    packs: int
    packs_likely: int
    runs_out: date | None  # first session whose ample demand to date passes the shelf
    deliver_by: date | None
    order_by: date | None
    late: bool
    cost_likely: Decimal | None
    cost_ample: Decimal | None


def plan_order(
    item: Item,
    *,
    days: Sequence[date],
    ample: Sequence[float],
    likely_total: float,
    ample_total: float,
    as_of: date | None = None,
    closed: Collection[date] = (),
) -> Order:
    """Return what to order of `item` against its demand to date.

    Parameters
    ----------
    days, ample : sequences of one length
        Session dates, ascending, and the ample cumulative demand by the end of each (item's unit).
    likely_total, ample_total : float
        Totals to the end of the term, item's unit, >= 0.
    as_of : date, optional
        Today; an order-by date before it is late. Without it nothing is late.
    closed : collection of dates
        Days other than Saturday and Sunday on which nobody approves or delivers.

    Notes
    -----
    Order-by is independent of packs: an open order that is enough but comes too late has an
    order-by date and no packs. It assumes that a delivery is on the shelf when class begins.
    """
    open_orders = sum(receipt.quantity for receipt in item.on_order)
    packs = packs_needed(ample_total - item.on_hand - open_orders, item.pack)
    packs_likely = packs_needed(likely_total - item.on_hand - open_orders, item.pack)
    runs_out = first_short(days, ample, item.on_hand, item.on_order)
    deliver_by = order_by = None
    if runs_out is not None:
        deliver_by = delivery_day(runs_out, item.delivery_weekdays, closed)
        order_by = working_days_before(deliver_by, item.lead_days, closed)
        order_by = working_days_before(order_by, item.approval_days, closed)
    return Order(
        need=max(0.0, ample_total - item.on_hand - open_orders),
        packs=packs,
        packs_likely=packs_likely,
        runs_out=runs_out,
        deliver_by=deliver_by,
        order_by=order_by,
        late=order_by is not None and as_of is not None and order_by < as_of,
        cost_likely=None if item.price is None else item.price * packs_likely,
        cost_ample=None if item.price is None else item.price * packs,
    )


def packs_needed(need: float, pack: float) -> int:
    """Return the whole packs of `pack` units (> 0) that cover `need` units; 0 for no need."""
    if not 0 < pack < math.inf:
        raise ValueError(f"pack must be above 0 and finite, got {pack}")
    if not math.isfinite(need):
        raise ValueError(f"need must be finite, got {need}")
    return max(0, math.ceil(need / pack - ROUNDING))


def supply_by(day: date, on_hand: float, receipts: Sequence[Receipt]) -> float:
    """Return what is on the shelf with all that is due up to and on `day`, nothing used."""
    return on_hand + sum(receipt.quantity for receipt in receipts if receipt.day <= day)


def exceeds(demand: float, supply: float) -> bool:
    """Say whether `demand` is more than `supply` by more than rounding."""
    return demand > supply + ROUNDING * abs(supply)


def first_short(
    days: Sequence[date], demand: Sequence[float], on_hand: float, receipts: Sequence[Receipt]
) -> date | None:
    """Return the first day whose demand to date exceeds the supply by then, or None."""
    return next(
        (
            day
            for day, used in zip(days, demand, strict=True)
            if exceeds(used, supply_by(day, on_hand, receipts))
        ),
        None,
    )


def working_days_before(day: date, count: int, closed: Collection[date] = ()) -> date:
    """Return the working day `count` (>= 0) working days before `day`.

    Working days are Monday to Friday without `closed`. From a day that is none, counting starts
    at the last working day before it: nothing arrives and nobody approves in between.
    """
    if count < 0:
        raise ValueError(f"count must be 0 or more, got {count}")
    last = np.datetime64(day)
    return _date(np.busday_offset(last, -count, roll="backward", holidays=_dates(closed)))


def delivered_on(
    ordered: date,
    working_days: int,
    weekdays: Collection[int] = (),
    closed: Collection[date] = (),
) -> date:
    """Return the day on which an order of day `ordered` is delivered.

    `working_days` (>= 0) after it, approval and lead time together, moved on to a day on which
    the supplier delivers; `weekdays` as in `delivery_day`.
    """
    if working_days < 0:
        raise ValueError(f"working_days must be 0 or more, got {working_days}")
    holidays = _dates(closed)
    ready = np.busday_offset(
        np.datetime64(ordered), working_days, roll="forward", holidays=holidays
    )
    return _date(
        np.busday_offset(ready, 0, roll="forward", weekmask=_mask(weekdays), holidays=holidays)
    )


def delivery_day(day: date, weekdays: Collection[int], closed: Collection[date] = ()) -> date:
    """Return the last day not after `day` on which the supplier delivers.

    `weekdays` are 0 (Monday) to 6 (Sunday); empty means any working day.
    """
    mask = _mask(weekdays)
    last = np.datetime64(day)
    return _date(np.busday_offset(last, 0, roll="backward", weekmask=mask, holidays=_dates(closed)))


def _mask(weekdays: Collection[int]) -> list[bool]:
    if not set(weekdays) <= set(range(7)):
        raise ValueError(f"weekdays must be 0 (Monday) to 6 (Sunday), got {sorted(weekdays)}")
    return [n in weekdays for n in range(7)] if weekdays else [True] * 5 + [False] * 2


def money(amount: Decimal | None) -> str | None:
    """Write an exact amount with at least two decimals."""
    if amount is None:
        return None
    cents = amount.quantize(Decimal("0.01"))
    return str(cents if cents == amount else amount.normalize())


def _dates(days: Collection[date]) -> list[np.datetime64]:
    return [np.datetime64(day) for day in sorted(days)]


def _date(day: np.datetime64) -> date:
    return date.fromisoformat(str(day))
