"""Packs, order-by dates and money."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.case import Item, Receipt
from inventory.core.orders import (
    delivered_on,
    delivery_day,
    first_short,
    money,
    packs_needed,
    plan_order,
    working_days_before,
)

MONDAY = date(2026, 9, 7)
DAYS = [MONDAY + timedelta(weeks=n) for n in range(4)]
dates = st.dates(date(2020, 1, 1), date(2040, 1, 1))


def order(item, ample=(2, 4, 6, 8), likely=7, as_of=None, closed=()):
    return plan_order(
        item,
        days=DAYS,
        ample=ample,
        likely_total=likely,
        ample_total=ample[-1],
        as_of=as_of,
        closed=closed,
    )


def test_packs_cover_what_the_shelf_and_open_orders_lack():
    # 8 - 3 on the shelf - 2 coming = 3: two packs of 2; likely 7 - 5 = 2: one pack
    item = Item(
        id="rod",
        pack=2,
        price=Decimal("12.35"),
        on_hand=3,
        on_order=(Receipt(day=DAYS[1], quantity=2),),
    )
    found = order(item)
    assert (found.need, found.packs, found.packs_likely) == (3, 2, 1)
    assert (found.cost_ample, found.cost_likely) == (Decimal("24.70"), Decimal("12.35"))


def test_rounding_never_buys_a_pack():
    # 3 * 0.1 is 0.30000000000000004 in floats
    assert packs_needed(3 * 0.1, 0.1) == 3
    assert packs_needed(0.3 + 1e-6, 0.1) == 4
    assert packs_needed(-5, 10) == 0
    assert packs_needed(0, 10) == 0


@pytest.mark.parametrize("pack", [0, -1, float("nan"), float("inf")])
def test_a_pack_holds_something(pack):
    with pytest.raises(ValueError, match="pack must be above 0"):
        packs_needed(1, pack)


def test_a_need_that_is_no_number_is_refused():
    with pytest.raises(ValueError, match="need must be finite"):
        packs_needed(float("nan"), 1)


def test_it_runs_out_on_the_first_day_the_ample_demand_passes_the_supply():
    receipts = (Receipt(day=DAYS[1], quantity=3),)
    assert first_short(DAYS, (2, 4, 6, 8), 2, receipts) == DAYS[2]
    assert first_short(DAYS, (2, 4, 6, 8), 2, ()) == DAYS[1]
    assert first_short(DAYS, (2, 4, 6, 8), 8, ()) is None
    assert first_short(DAYS, (0.1 * 3, 0.3, 0.3, 0.3), 0.3, ()) is None


def test_a_receipt_on_the_day_itself_is_there_in_time():
    assert first_short(DAYS[:2], (2, 4), 2, (Receipt(day=DAYS[1], quantity=2),)) is None
    late = (Receipt(day=DAYS[1] + timedelta(days=1), quantity=2),)
    assert first_short(DAYS[:2], (2, 4), 2, late) == DAYS[1]


def test_order_by_goes_back_over_lead_and_approval_in_working_days():
    # runs out Mon 14 Sep; 5 working days lead: Mon 7; 8 for the approval: Wed 26 Aug
    item = Item(id="rod", on_hand=2, lead_days=5, approval_days=8)
    found = order(item)
    assert found.runs_out == date(2026, 9, 14)
    assert found.order_by == date(2026, 8, 26)


def test_closed_days_are_no_working_days():
    item = Item(id="rod", on_hand=2, lead_days=5, approval_days=8)
    assert order(item, closed=[date(2026, 9, 7)]).order_by == date(2026, 8, 25)


def test_what_arrives_is_moved_to_the_suppliers_day():
    # needed by Mon 14 Sep, delivered on Thursdays: Thu 10; 2 working days before: Tue 8
    item = Item(id="rod", on_hand=2, lead_days=2, delivery_weekdays=(3,))
    found = order(item)
    assert found.deliver_by == date(2026, 9, 10)
    assert found.order_by == date(2026, 9, 8)


def test_an_order_by_date_in_the_past_is_late_and_today_is_not():
    item = Item(id="rod", on_hand=2, lead_days=5)
    assert order(item).order_by == MONDAY
    assert not order(item, as_of=MONDAY).late
    assert order(item, as_of=MONDAY + timedelta(days=1)).late
    assert not order(item).late


def test_enough_for_ever_has_no_date_and_no_packs():
    found = order(Item(id="rod", on_hand=8, price=Decimal("3")))
    assert (found.packs, found.order_by, found.late, found.runs_out) == (0, None, False, None)
    assert found.cost_ample == 0


def test_an_open_order_that_comes_too_late_has_a_date_and_no_packs():
    item = Item(id="rod", on_hand=2, on_order=(Receipt(day=DAYS[3], quantity=6),))
    found = order(item)
    assert (found.packs, found.order_by) == (0, DAYS[1])


def test_an_item_without_a_price_has_no_cost():
    found = order(Item(id="rod"))
    assert (found.packs, found.cost_likely, found.cost_ample) == (8, None, None)


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        ("0", "0.00"),
        ("24.7", "24.70"),
        ("1.2345", "1.2345"),
        ("1E+3", "1000.00"),
        ("5.120", "5.12"),
    ],
)
def test_money_is_written_exactly(amount, text):
    assert money(Decimal(amount)) == text
    assert money(None) is None


def test_counting_back_from_a_weekend_starts_on_the_friday():
    # Sat 12 Sep 2026: Friday the 11th, then one back
    assert working_days_before(date(2026, 9, 12), 0) == date(2026, 9, 11)
    assert working_days_before(date(2026, 9, 12), 1) == date(2026, 9, 10)


def test_a_count_below_zero_and_an_eighth_weekday_are_refused():
    with pytest.raises(ValueError, match="count must be 0 or more"):
        working_days_before(MONDAY, -1)
    with pytest.raises(ValueError, match="weekdays must be 0"):
        delivery_day(MONDAY, [7])


@given(day=dates, count=st.integers(0, 60), closed=st.lists(dates, max_size=4))
def test_the_working_days_between_are_counted(day, count, closed):
    found = working_days_before(day, count, closed)

    def works(d):
        return d.weekday() < 5 and d not in closed

    assert works(found)
    between = [found + timedelta(days=n) for n in range(1, (day - found).days + 1)]
    assert sum(map(works, between)) == count + (-1 if not count and not works(found) else 0)


@given(day=dates, weekdays=st.sets(st.integers(0, 6)), closed=st.lists(dates, max_size=4))
def test_no_delivery_day_lies_between_the_delivery_and_the_need(day, weekdays, closed):
    def delivers(d):
        return d.weekday() in (weekdays or range(5)) and d not in closed

    found = delivery_day(day, weekdays, closed)
    assert found <= day
    assert delivers(found)
    assert not any(delivers(found + timedelta(days=n)) for n in range(1, (day - found).days + 1))


@given(
    need=st.integers(0, 10**7).map(lambda n: n / 1000),
    pack=st.integers(1, 10**6).map(lambda n: n / 1000),
)
def test_packs_are_the_fewest_that_cover_the_need(need, pack):
    packs = packs_needed(need, pack)
    exact = Fraction(round(need * 1000), round(pack * 1000))
    assert packs == -(-exact.numerator // exact.denominator)


@given(
    price=st.decimals(0, 10**6, places=4, allow_nan=False),
    ample=st.lists(st.floats(0, 1000), min_size=4, max_size=4).map(sorted),
    on_hand=st.floats(0, 1000),
    more=st.floats(0, 100),
)
def test_more_on_the_shelf_never_costs_more_nor_hurries(price, ample, on_hand, more):
    less, rich = (
        order(Item(id="x", price=price, on_hand=stock, lead_days=3), ample=tuple(ample))
        for stock in (on_hand, on_hand + more)
    )
    assert rich.packs <= less.packs
    assert rich.cost_ample <= less.cost_ample
    assert less.cost_ample == price * less.packs
    assert rich.order_by is None or (less.order_by and less.order_by <= rich.order_by)


def test_an_order_is_delivered_after_approval_and_lead_time():
    # Monday 7 September 2026 and 13 working days on is Thursday 24 September
    assert delivered_on(date(2026, 9, 7), 13) == date(2026, 9, 24)
    # ordered on a Saturday, counting starts on Monday
    assert delivered_on(date(2026, 9, 5), 0) == date(2026, 9, 7)
    # a closed day is no working day; the supplier comes on Tuesdays (1) and Fridays (4)
    assert delivered_on(date(2026, 9, 7), 13, closed=[date(2026, 9, 9)]) == date(2026, 9, 25)
    assert delivered_on(date(2026, 9, 7), 13, [1, 4]) == date(2026, 9, 25)
    assert delivered_on(date(2026, 9, 7), 13, [1, 4], [date(2026, 9, 25)]) == date(2026, 9, 29)
    with pytest.raises(ValueError, match="working_days"):
        delivered_on(date(2026, 9, 7), -1)


@given(need=dates, count=st.integers(0, 40), weekdays=st.sets(st.integers(0, 6)))
def test_what_is_ordered_by_its_last_day_comes_in_time(need, count, weekdays):
    """Going back from the need and forward again from the order never passes the need."""
    by = delivery_day(need, sorted(weekdays))
    ordered = working_days_before(by, count)
    assert delivered_on(ordered, count, sorted(weekdays)) <= by
