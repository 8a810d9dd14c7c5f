from contextlib import suppress
from datetime import timedelta
from itertools import count

import pytest
from django.db import DatabaseError, IntegrityError, transaction
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory.models import QUANTITY_MAX, Movement, OpenPack, StockItem
from inventory.services import (
    AlreadyReversed,
    LeftoverReturned,
    ShelfOverflow,
    count_shelf,
    finish_pack,
    move,
    open_pack,
    receive_packs,
    reverse,
)
from shared.people.models import AuditEntry
from tests.factories import PackFactory, UserFactory

Kind = Movement.Kind


def balance(item):
    item.refresh_from_db()
    return item.on_hand, sum(item.movements.values_list("quantity", flat=True))


OPERATIONS = st.lists(
    st.tuples(
        st.sampled_from(["receive", "open", "finish", "issue", "count", "return", "reverse"]),
        st.integers(0, 40),
        st.booleans(),
    ),
    max_size=25,
)


class AnyOperations(TestCase):
    @settings(max_examples=60)
    @given(OPERATIONS, st.sampled_from(["open", "exchange"]))
    def test_the_balance_is_the_sum_of_the_movements_whatever_is_done(self, operations, moved_by):
        by = UserFactory()
        pack = PackFactory(size=20, item__moved_by=moved_by)
        item, keys = pack.item, count()
        for what, number, twice in operations:
            key = f"{what}:{next(keys)}"
            for _ in range(1 + twice):  # sent twice counts once
                self.do(what, number, key, pack, item, by)
            on_hand, total = balance(item)
            assert on_hand == total
            assert item.count_due is not None or on_hand >= 0
        assert Movement.objects.count() == len(set(Movement.objects.values_list("key", flat=True)))
        for one in OpenPack.objects.filter(leftover__isnull=False):
            assert one.finished_at
            assert one.leftover.quantity == one.left

    def do(self, what, number, key, pack, item, by):
        lines = Movement.objects.exclude(key=key).order_by("pk")
        if what == "receive":
            receive_packs(pack=pack, packs=number % 3 + 1, key=key, by=by)
        elif what == "open":
            open_pack(pack=pack, key=key, by=by)
        elif what == "finish":
            opened = OpenPack.objects.filter(item=item).order_by("pk")
            if opened:
                one = opened[number % len(opened)]
                finish_pack(open_pack=one, left=number % 21, key=key, by=by)
        elif what == "count":
            count_shelf(item=item, counted=number, key=key, by=by, reason="weekly")
        elif what == "reverse" and lines:
            with suppress(AlreadyReversed, LeftoverReturned):
                line = lines[number % len(lines)]
                reverse(movement=line, by=by, reason="wrong", key=key)
        elif what in ("issue", "return"):
            sign = 1 if what == "return" else -1
            move(item=item, kind=Kind(what), quantity=sign * number, key=key, by=by)


def test_nobody_is_refused_and_a_count_is_put_on_tomorrows_list(can, clerk):
    move(item=can.item, kind=Kind.ISSUE, quantity=-5, key="a", by=clerk)
    assert can.item.on_hand == -5
    assert can.item.book_short
    assert can.item.count_due == can.item.campus.today() + timedelta(days=1)
    count_shelf(item=can.item, counted=3, key="b", by=clerk, reason="found three")
    assert (can.item.on_hand, can.item.count_due) == (3, None)


def test_a_key_counts_once_and_stays_with_its_movement(can, clerk):
    first = move(item=can.item, kind=Kind.RECEIVE, quantity=7, key="a", by=clerk)
    assert move(item=can.item, kind=Kind.RECEIVE, quantity=7, key="a", by=clerk) == first
    assert can.item.on_hand == 7
    with pytest.raises(ValueError, match="another movement"):
        move(item=can.item, kind=Kind.RECEIVE, quantity=8, key="a", by=clerk)
    with pytest.raises(ValueError, match="another movement"):
        count_shelf(item=can.item, counted=8, key="a", by=clerk, reason="")
    assert balance(can.item) == (7, 7)
    assert AuditEntry.objects.filter(action="stock.receive").count() == 1


@pytest.mark.parametrize("quantity", [1.5, True, QUANTITY_MAX + 1])
def test_what_is_no_quantity_is_refused(can, clerk, quantity):
    with pytest.raises(ValueError, match="whole number"):
        move(item=can.item, kind=Kind.RECEIVE, quantity=quantity, key="a", by=clerk)


def test_a_shelf_that_would_overflow_stays_as_it_was(can, clerk):
    move(item=can.item, kind=Kind.RECEIVE, quantity=QUANTITY_MAX, key="a", by=clerk)
    with pytest.raises(ShelfOverflow):
        move(item=can.item, kind=Kind.RECEIVE, quantity=1, key="b", by=clerk)
    assert balance(can.item) == (QUANTITY_MAX, QUANTITY_MAX)
    assert not Movement.objects.filter(key="b").exists()


def test_a_movement_is_never_edited(can, clerk):
    line = move(item=can.item, kind=Kind.RECEIVE, quantity=7, key="a", by=clerk)
    with pytest.raises((IntegrityError, DatabaseError)), transaction.atomic():
        Movement.objects.filter(pk=line.pk).update(quantity=8)
    line.refresh_from_db()
    assert line.quantity == 7


def test_a_movement_is_reversed_once(can, clerk):
    line = receive_packs(pack=can, packs=2, key="a", by=clerk)
    back = reverse(movement=line, by=clerk, reason="entered twice", key="b")
    assert reverse(movement=line, by=clerk, reason="entered twice", key="b") == back
    assert back.quantity == -2 * can.size
    assert balance(can.item) == (0, 0)
    for wrong in (line, back):
        with pytest.raises(AlreadyReversed):
            reverse(movement=wrong, by=clerk, reason="again", key="c")


def test_what_is_left_in_a_can_goes_back_to_the_shelf(can, clerk):
    receive_packs(pack=can, packs=2, key="a", by=clerk)
    opened = open_pack(pack=can, key="b", by=clerk)
    for _ in range(2):
        finish_pack(open_pack=opened, left=1_000_000, key="c", by=clerk)
    assert balance(can.item)[0] == can.size + 1_000_000
    assert opened.left == 1_000_000
    assert opened.finished_at


def test_gas_left_in_a_cylinder_leaves_with_it_unless_the_cylinder_stays(campus, clerk):
    cylinder = PackFactory(
        item__campus=campus, item__base_unit="mL", item__moved_by="exchange", size=9_000
    )
    receive_packs(pack=cylinder, packs=3, key="a", by=clerk)
    first, second = (open_pack(pack=cylinder, key=key, by=clerk) for key in ("b", "c"))
    assert first.movement.kind == Kind.EXCHANGE
    finish_pack(open_pack=first, left=2_000, key="d", by=clerk)
    assert balance(cylinder.item)[0] == 9_000
    assert (first.left, first.leftover) == (2_000, None)
    finish_pack(open_pack=second, left=2_000, key="e", by=clerk, stays=True)
    assert balance(cylinder.item)[0] == 11_000
    assert second.leftover.kind == Kind.RETURN


def test_an_opening_is_reversed_after_its_leftover(can, clerk):
    receive_packs(pack=can, packs=1, key="a", by=clerk)
    opened = open_pack(pack=can, key="b", by=clerk)
    finish_pack(open_pack=opened, left=5, key="c", by=clerk)
    with pytest.raises(LeftoverReturned):
        reverse(movement=opened.movement, by=clerk, reason="wrong can", key="d")
    reverse(movement=opened.leftover, by=clerk, reason="wrong can", key="e")
    opened.refresh_from_db()
    assert (opened.finished_at, opened.left, opened.leftover) == (None, None, None)
    reverse(movement=opened.movement, by=clerk, reason="wrong can", key="f")
    opened.refresh_from_db()
    assert opened.finished_at
    assert balance(can.item) == (can.size, can.size)


@pytest.mark.parametrize("left", [-1, 4_535_925])
def test_a_pack_has_not_more_left_than_it_held(can, clerk, left):
    opened = open_pack(pack=can, key="b", by=clerk)
    can.size = 10**9  # a pack that grew since
    can.save()
    with pytest.raises(ValueError, match="between 0 and 4535924"):
        finish_pack(open_pack=opened, left=left, key="c", by=clerk)


def test_the_database_holds_one_reversal_and_one_key(can, clerk):
    line = receive_packs(pack=can, packs=1, key="a", by=clerk)
    same = {"item": can.item, "kind": Kind.REVERSE, "quantity": 0, "on": line.on, "by": clerk}
    Movement.objects.create(**same, key="b", reverses=line)
    for wrong in ({"key": "c", "reverses": line}, {"key": "b"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Movement.objects.create(**same, **wrong)
    with pytest.raises(IntegrityError), transaction.atomic():
        StockItem.objects.filter(pk=can.item.pk).update(on_hand=QUANTITY_MAX + 1)
