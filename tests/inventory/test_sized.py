"""Sheets, remnants and blanks by size: the ledger holds balance and counts together."""

from contextlib import suppress
from decimal import Decimal
from itertools import count

import pytest
from django.db import DatabaseError, IntegrityError, transaction
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory.models import Movement, SizedStock, StockItem
from inventory.services import AlreadyReversed, ShelfOverflow, move, receive_packs, reverse
from inventory.services.pieces import (
    OtherThickness,
    count_pieces,
    hand_out,
    kinds_for,
    receive_pieces,
    regrade,
    throw_away,
)
from inventory.services.size_rows import size_row
from inventory.services.sized import (
    FitsInNone,
    Made,
    MoreThanWentIn,
    blanks_on_shelf,
    book_cut,
    newest_movement,
    not_by_size,
    stock_for,
)
from inventory.services.stock import InQuarantine, move_amount
from tests.factories import PackFactory, UserFactory
from tests.inventory.sheets import BAR_20_FT, INCH, SHEET, bar_item, bar_pack, inches, sheet_pack
from tests.inventory.sheets import sheet_item as make_sheet

Form = SizedStock.Form
Kind = Movement.Kind


def made(length, width, pieces, label=""):
    return Made(length * INCH, None if width is None else width * INCH, label, pieces)


def holds(item):
    """Assert that the book is the sum of its lines, and say what it holds."""
    item.refresh_from_db()
    lines = list(item.movements.all())
    assert item.on_hand == sum(line.quantity for line in lines)
    for row in item.sizes.all():
        own = [line for line in lines if line.sized_id == row.pk]
        assert row.count == sum(line.pieces for line in own)
        assert all(line.quantity == line.pieces * row.each for line in own)
        assert item.count_due is not None or row.count >= 0
    assert item.count_due is not None or item.on_hand >= 0
    return {(row.form, row.length_um // INCH, row.label): row.count for row in item.sizes.all()}


@pytest.fixture
def sheet(campus):
    return make_sheet(campus)


@pytest.fixture
def full(sheet):
    return sheet_pack(sheet)


OPERATIONS = st.lists(
    st.tuples(
        st.sampled_from(
            ["receive", "area", "piece", "cut", "hand", "throw", "count", "all", "reverse"]
        ),
        st.integers(0, 30),
        st.booleans(),
    ),
    max_size=20,
)


class AnyOperations(TestCase):
    @settings(max_examples=30)
    @given(OPERATIONS)
    def test_balance_and_counts_are_the_sums_of_the_movements_whatever_is_done(self, operations):
        by = UserFactory()
        item = make_sheet(by.home_campus)
        pack, keys = sheet_pack(item), count()
        for what, number, twice in operations:
            key = f"{what}:{next(keys)}"
            for _ in range(1 + twice):  # sent twice counts once
                with suppress(AlreadyReversed, MoreThanWentIn, FitsInNone):
                    self.do(what, number, key, pack, by)
            holds(item)
        names = list(Movement.objects.values_list("key", flat=True))
        assert len(names) == len(set(names))

    def do(self, what, number, key, pack, by):
        item = StockItem.objects.get(pk=pack.item_id)
        rows = list(item.sizes.order_by("pk"))
        row = rows[number % len(rows)] if rows else size_row(item, Form.FULL, inches(96, 48))
        common = {"key": key, "by": by}
        if what == "receive":
            receive_packs(pack=pack, packs=number % 3 + 1, **common)
        elif what == "area":
            move(item=item, kind=Kind.CUT, quantity=-number * 10_000, **common)
        elif what == "piece":
            size = inches(6 + number, 6)
            receive_pieces(item=item, form="remnant", size=size, pieces=2, **common)
        elif what == "cut":
            blanks = [made(6, 2, number * 20 + 1)]
            keep = [made(20, 10 + number, 1, "A")]
            book_cut(item=item, used=[(row, 1)], blanks=blanks, remnants=keep, **common)
        elif what == "hand":
            hand_out(sized=row, pieces=number + 1, **common)
        elif what == "throw":
            throw_away(sized=row, pieces=1, reason="bent", **common)
        elif what in ("count", "all"):
            count_pieces(item=item, found={row: number}, all_told=what == "all", **common)
        elif lines := Movement.objects.exclude(key__startswith=key).order_by("pk"):
            reverse(movement=lines[number % len(lines)], reason="wrong", **common)


def test_packs_of_a_size_go_to_their_size_and_others_by_amount(sheet, full, clerk):
    receive_packs(pack=full, packs=2, key="a", by=clerk)
    bundle = PackFactory(item=sheet, name="offcuts", size=500_000, preferred=False)
    receive_packs(pack=bundle, packs=1, key="b", by=clerk)
    assert holds(sheet) == {("full", 96, ""): 2}
    assert sheet.on_hand == 2 * SHEET + 500_000
    assert not_by_size(sheet) == 500_000


def test_a_bundle_whose_sides_are_of_one_sheet_only_is_no_size(sheet, clerk):
    pack = sheet_pack(sheet, size=5 * SHEET)
    receive_packs(pack=pack, packs=1, key="a", by=clerk)
    assert holds(sheet) == {}


def test_bars_are_told_apart_by_length(campus, clerk):
    bar = bar_item(campus)
    receive_packs(pack=bar_pack(bar), packs=3, key="a", by=clerk)
    row = bar.sizes.get()
    assert (row.width_um, row.each, row.count) == (None, BAR_20_FT, 3)
    book_cut(
        item=bar,
        used=[(row, 1)],
        blanks=[made(6, None, 38)],
        remnants=[made(9, None, 1)],
        key="cut",
        by=clerk,
    )
    # 101.6 × 152.4 = 15 483.84 mm² a blank; 101.6 × 228.6 = 23 225.76 the remnant
    assert bar.on_hand == 2 * BAR_20_FT + 38 * 15_484 + 23_226
    assert holds(bar) == {("full", 240, ""): 2, ("blank", 6, ""): 38, ("remnant", 9, ""): 1}


def test_a_cut_takes_the_difference_once_however_often_it_is_sent(sheet, full, clerk):
    receive_packs(pack=full, packs=1, key="a", by=clerk)
    cut = {
        "item": sheet,
        "used": [(sheet.sizes.get(), 1)],
        "blanks": [made(6, 2, 300), made(2, 6, 20)],
        "remnants": [made(48, 14, 1, "R1")],
        "key": "cut:1",
        "by": clerk,
    }
    first = book_cut(**cut)
    assert book_cut(**cut) == first
    # in²: 4608 in, 320 × 12 + 672 = 4512 out, 96 in² of kerf and scrap
    assert holds(sheet) == {
        ("full", 96, ""): 0,
        ("blank", 6, ""): 320,  # both ways round are one size
        ("remnant", 48, "R1"): 1,
    }
    assert SHEET - sheet.on_hand == pytest.approx(96 * 645.16, abs=320)
    with pytest.raises(ValueError, match="another act"):
        book_cut(**{**cut, "item": make_sheet(sheet.campus, spec_key="sheet:steel:1900")})


def test_a_cut_is_reversed_as_a_whole(sheet, full, clerk):
    receive_packs(pack=full, packs=1, key="a", by=clerk)
    row = sheet.sizes.get()
    lines = book_cut(
        item=sheet, used=[(row, 1)], blanks=[made(6, 2, 10)], remnants=[], key="cut", by=clerk
    )
    reverse(movement=lines[1], by=clerk, reason="wrong sheet", key="back")
    assert holds(sheet) == {("full", 96, ""): 1, ("blank", 6, ""): 0}
    assert sheet.on_hand == SHEET
    for line in lines:
        with pytest.raises(AlreadyReversed):
            reverse(movement=line, by=clerk, reason="again", key="once more")


def test_sheets_that_a_plan_counted_on_are_cut_before_their_receipt_is_in_the_book(
    sheet, full, clerk
):
    book_cut(item=sheet, used=[], bought=[(full, 2)], blanks=[made(6, 2, 9)], key="c", by=clerk)
    assert holds(sheet) == {("full", 96, ""): -2, ("blank", 6, ""): 9}
    assert sheet.count_due
    receive_packs(pack=full, packs=2, key="late", by=clerk)
    assert holds(sheet) == {("full", 96, ""): 0, ("blank", 6, ""): 9}


@pytest.mark.parametrize(
    ("wrong", "error", "said"),
    [
        ({"blanks": [made(48, 48, 3)]}, MoreThanWentIn, "cannot be cut from"),
        ({"blanks": [made(97, 2, 1)]}, FitsInNone, "fits into nothing"),
        ({"remnants": [made(60, 49, 1)]}, FitsInNone, "fits into nothing"),
        ({"used": []}, ValueError, "nothing was cut up"),
        ({"blanks": [made(6, 2, 0)]}, ValueError, "1 or more"),
        ({"blanks": [made(6, None, 1)]}, ValueError, "two sides"),
        ({"key": "k" * 57}, ValueError, "1 to 56 letters"),
    ],
)
def test_what_cannot_have_been_is_refused_and_moves_nothing(sheet, full, clerk, wrong, error, said):
    receive_packs(pack=full, packs=1, key="a", by=clerk)
    cut = {"used": [(sheet.sizes.get(), 1)], "blanks": [], "key": "cut", "by": clerk} | wrong
    with pytest.raises(error, match=said), transaction.atomic():
        book_cut(item=sheet, **cut)
    assert holds(sheet) == {("full", 96, ""): 1}


def test_a_sheet_cut_up_into_blanks_of_its_whole_area_is_no_more_than_went_in(sheet, full, clerk):
    """48 × 96 in shears into 384 blanks of 2 × 6 in, to the last square inch: 4608 / 12."""
    receive_packs(pack=full, packs=1, key="a", by=clerk)
    used = [(sheet.sizes.get(), 1)]
    book_cut(item=sheet, used=used, blanks=[made(6, 2, 384)], key="cut", by=clerk)
    assert holds(sheet)["blank", 6, ""] == 384


def test_nothing_is_used_of_what_is_in_quarantine(campus, clerk):
    unknown = bar_item(campus, spec_key="bar:unknown:6400:101600", quarantined=True)
    receive_pieces(
        item=unknown, form="remnant", size=inches(30), pieces=2, label="donated", key="a", by=clerk
    )
    row = unknown.sizes.get()
    with pytest.raises(InQuarantine):
        hand_out(sized=row, pieces=1, key="b", by=clerk)
    with pytest.raises(InQuarantine):
        book_cut(item=unknown, used=[(row, 1)], blanks=[made(6, None, 1)], key="c", by=clerk)
    assert stock_for([unknown]) == {}
    throw_away(sized=row, pieces=1, reason="galvanised", key="d", by=clerk)
    assert holds(unknown) == {("remnant", 30, "donated"): 1}


def test_graded_offcuts_go_with_their_kind(campus, clerk):
    unknown = bar_item(campus, spec_key="bar:unknown:6400:101600", quarantined=True)
    steel = bar_item(campus)
    thicker = bar_item(campus, spec_key="bar:steel:9500:101600")
    receive_pieces(
        item=unknown, form="remnant", size=inches(30), pieces=2, label="donated", key="a", by=clerk
    )
    row = unknown.sizes.get()
    assert kinds_for(unknown) == [steel]
    how = {"sized": row, "pieces": 2, "by": clerk, "reason": "spark test, magnet: mild steel"}
    with pytest.raises(OtherThickness):
        regrade(into=thicker, key="b", **how)
    lines = regrade(into=steel, key="b", **how)
    assert holds(unknown) == {("remnant", 30, "donated"): 0}
    assert holds(steel) == {("remnant", 30, "donated"): 2}
    reverse(movement=lines[0], by=clerk, reason="it was stainless", key="c")
    assert holds(unknown) == {("remnant", 30, "donated"): 2}
    assert holds(steel) == {("remnant", 30, "donated"): 0}


def test_a_shelf_kept_by_area_is_told_apart_by_counting_it(sheet, full, clerk):
    move_amount(item=sheet, kind=Kind.RECEIVE, amount=2 * SHEET + 90_000, key="old", by=clerk)
    row = size_row(sheet, Form.FULL, inches(96, 48))
    keep = size_row(sheet, Form.REMNANT, inches(20, 10), "R1")
    found = {row: 2, keep: 1}
    lines = count_pieces(item=sheet, found=found, all_told=True, key="count", by=clerk)
    again = count_pieces(item=sheet, found=found, all_told=True, key="count", by=clerk)
    assert [line.pk for line in again] == [line.pk for line in lines]
    assert holds(sheet) == {("full", 96, ""): 2, ("remnant", 20, "R1"): 1}
    assert not_by_size(sheet) == 0
    assert sheet.on_hand == 2 * SHEET + 129_032  # 200 in² are 129 032 mm²


def test_what_can_be_cut_up_comes_with_its_price(campus, django_assert_num_queries, clerk):
    sheet, bar = make_sheet(campus), bar_item(campus)
    gone = make_sheet(campus, spec_key="sheet:steel:1900", is_active=False)
    large = sheet_pack(sheet)
    small = sheet_pack(sheet, 48, 24, price_e4=310_000, preferred=False)
    sheet_pack(gone)
    long = bar_pack(bar)
    receive_packs(pack=large, packs=1, key="a", by=clerk)
    add = {"item": sheet, "by": clerk, "pieces": 1}
    receive_pieces(form="remnant", size=inches(20, 10), label="R1", key="b", **add)
    receive_pieces(form="full", size=inches(72, 48), key="c", **add)
    receive_pieces(form="blank", size=inches(6, 2), key="d", **add)
    with django_assert_num_queries(2):
        found = stock_for([sheet, bar, gone])
    rows = [(str(one.size.length // INCH), one.count, one.price) for one in found[sheet.pk]]
    assert rows == [
        ("20", 1, Decimal(0)),
        ("72", 1, Decimal("81.7500")),  # 3/4 of the area of one at 109
        ("96", 1, Decimal(109)),
        ("96", None, Decimal(109)),
        ("48", None, Decimal(31)),
    ]
    assert [one.pack for one in found[sheet.pk]][-2:] == [large, small]
    assert [(one.pack, one.count) for one in found[bar.pk]] == [(long, None)]
    assert gone.pk not in found
    with django_assert_num_queries(1):
        assert blanks_on_shelf([sheet, bar]) == {sheet.pk: {inches(6, 2): 1}, bar.pk: {}}


def test_a_plan_sees_that_the_stock_has_changed(sheet, full, clerk):
    assert newest_movement([sheet]) == {sheet.pk: 0}
    line = receive_packs(pack=full, packs=1, key="a", by=clerk)
    seen = newest_movement([sheet])
    assert seen == {sheet.pk: line.pk}
    hand_out(sized=sheet.sizes.get(), pieces=1, key="b", by=clerk)
    assert newest_movement([sheet]) != seen


def test_the_ledger_refuses_pieces_that_are_not_their_area(sheet, full, clerk):
    row = size_row(sheet, Form.FULL, inches(96, 48))
    line = {"item": sheet, "kind": Kind.ISSUE, "key": "a", "by": clerk}
    for wrong in ({"quantity": 5, "pieces": 1}, {"quantity": SHEET, "pieces": None}):
        with pytest.raises(ValueError, match=r"go together|are not"):
            move(**line, sized=row, **wrong)
    with pytest.raises(ShelfOverflow), transaction.atomic():
        move(**line, sized=row, quantity=SHEET * 1_000_001, pieces=1_000_001)
    bar = bar_item(sheet.campus)
    with pytest.raises(ValueError, match="of item"):
        move(**{**line, "item": bar}, sized=row, quantity=SHEET, pieces=1)


def test_the_database_refuses_what_the_ledger_would(sheet, clerk):
    row = size_row(sheet, Form.FULL, inches(96, 48))
    same = {"item": sheet, "kind": Kind.ISSUE, "quantity": 0, "on": sheet.campus.today()}
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.create(**same, by=clerk, key="a", pieces=1)
    with pytest.raises(IntegrityError), transaction.atomic():
        SizedStock.objects.create(
            item=sheet, form="full", length_um=row.length_um, width_um=row.width_um, each=SHEET
        )
    line = Movement.objects.create(**same, by=clerk, key="b", sized=row, pieces=0)
    with pytest.raises((IntegrityError, DatabaseError)), transaction.atomic():
        Movement.objects.filter(pk=line.pk).update(pieces=3)
