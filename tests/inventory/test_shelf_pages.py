"""The shelf list, and the page of an item."""

import csv
import io
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from curriculum.core.spec import Filler
from curriculum.core.usage import usage
from curriculum.services import to_spec
from grading.models import Attempt
from inventory.models import Movement, OpenPack, Requisition, RequisitionLine, StockItem
from inventory.models import Supplier as SupplierRow
from inventory.services import move, open_pack, receive_packs, scale_of
from inventory.services.shelf import packs_in_use, shelf_rows
from shared.people.models import Role
from shared.units import parse_measure
from tests.factories import CampusFactory, PackFactory, StockItemFactory, UserFactory
from tests.grading import scene
from tests.inventory.pages import page, post, text

CAN = 4_535_924  # mg in 10 lb
Kind = Movement.Kind


@pytest.fixture
def pupil(campus):
    return UserFactory(roles=[Role.STUDENT])


# The list


def test_the_list_says_first_what_is_short(at_desk, can, clerk):
    assert "Shelf: nothing is short" in text(page(at_desk, "items"))
    move(item=can.item, kind=Kind.ISSUE, quantity=-CAN, key="a", by=clerk)
    shown = text(page(at_desk, "items"))
    assert "Shelf: 1 item is book short" in shown
    assert "−10 lb" in shown
    receive_packs(pack=can, packs=3, key="b", by=clerk)
    assert "Shelf: 1 item to count" in text(page(at_desk, "items"))


def test_a_row_shows_shelf_packs_orders_and_worth(at_desk, can, clerk):
    receive_packs(pack=can, packs=2, key="a", by=clerk)
    order = Requisition.objects.create(
        campus=can.item.campus, number=1, state=Requisition.State.APPROVED, created_by=clerk
    )
    RequisitionLine.objects.create(
        requisition=order, item=can.item, pack=can, packs=3, price_e4=can.price_e4
    )
    shown = page(at_desk, "items")
    assert f'data-figure="stock.{can.item.spec_key}.on_hand" value="{2 * CAN}"' in (
        shown.content.decode()
    )
    assert "20 lb 2 can, 10 lb – – 30 84.00" in text(shown)


@pytest.mark.parametrize(
    ("query", "names"),
    [
        ({}, {"A", "B", "C"}),
        ({"kind": "gas"}, {"B"}),
        ({"q": "e70 a"}, {"A"}),
        ({"q": "nowhere"}, set()),
        ({"state": "short"}, {"C"}),
        ({"state": "count"}, {"C"}),
        ({"state": "quarantine"}, {"A"}),
        ({"state": "gone"}, {"D"}),
    ],
)
def test_the_list_is_filtered_on_the_server(at_desk, campus, clerk, query, names):
    StockItemFactory(campus=campus, name="A", spec_key="electrode:E7018:3200", quarantined=True)
    StockItemFactory(campus=campus, name="B", kind="gas", base_unit="mL", spec_key="gas:argon")
    short = StockItemFactory(campus=campus, name="C")
    move(item=short, kind=Kind.ISSUE, quantity=-1, key="a", by=clerk)
    StockItemFactory(campus=campus, name="D", is_active=False)
    shown = page(at_desk, "items", **query)
    assert {row.item.name for row in shown.context["rows"]} == names
    listed = csv.DictReader(
        io.StringIO(page(at_desk, "items_csv", **query).content.decode("utf-8-sig"))
    )
    assert {row["item"] for row in listed} == names


def test_htmx_gets_the_rows_alone(at_desk, can):
    shown = page(at_desk, "items", htmx=True).content.decode()
    assert can.item.name in shown
    assert "<h1" not in shown


def test_the_table_out_has_the_exact_figures(at_desk, can, clerk):
    move(item=can.item, kind=Kind.ISSUE, quantity=-CAN, key="a", by=clerk)
    answer = page(at_desk, "items_csv")
    row = next(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert int(row["on shelf, base units"]) == -CAN
    assert (row["unit"], row["base unit"], row["book short"]) == ("lb", "mg", "yes")
    assert Decimal(row["price"]) == 42
    assert Decimal(row["value"]) == 0


def queries(client, name, *args):
    page(client, name, *args)  # what is computed once a process
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert page(client, name, *args).status_code == 200
    return len(caught)


def test_the_list_asks_as_often_for_many_items_as_for_few(at_desk, campus, clerk):
    def add(count):
        for n in range(count):
            pack = PackFactory(item__campus=campus)
            open_pack(pack=pack, key=f"{pack.pk}:{n}", by=clerk)

    add(3)
    few = queries(at_desk, "items"), queries(at_desk, "shelf_count")
    add(17)
    assert (queries(at_desk, "items"), queries(at_desk, "shelf_count")) == few


# Open packs


@pytest.fixture
def shop(db):
    return scene.shop(2)


def electrode(shop, **more):
    return PackFactory(
        item__campus=shop.campus, item__spec_key="electrode:E7018:3200", item__factor=1.5, **more
    )


def test_what_is_left_in_a_can_is_its_size_less_what_the_coupons_since_took(shop):
    can = electrode(shop)
    by = shop.instructor
    opened = open_pack(pack=can, key="a", by=by)
    OpenPack.objects.filter(pk=opened.pk).update(opened_at=shop.now - timedelta(minutes=5))
    first = shop.coupon(shop.given[0], "logged")
    before = shop.coupon(shop.given[1], "logged")
    Attempt.objects.filter(pk=before.pk).update(logged_at=shop.now - timedelta(hours=1))
    exercise = to_spec(first.setup.version)
    took = usage(exercise, exercise.setups[0]).by_spec()["electrode:E7018:3200"]  # kg
    (one,) = packs_in_use([can.item], shop.campus, "us")[can.item.pk]
    assert one.left == pytest.approx(CAN - 1.5 * took * 1e6)
    assert 0 < took < 3


def test_coupons_of_another_campus_and_those_not_handed_in_take_nothing(shop, clerk):
    can = electrode(shop)
    opened = open_pack(pack=can, key="a", by=shop.instructor)
    OpenPack.objects.filter(pk=opened.pk).update(opened_at=timezone.now() - timedelta(days=9))
    shop.coupon(shop.given[0])
    elsewhere = scene.shop(1, campus=CampusFactory(name="South"))
    elsewhere.coupon(elsewhere.given[0], "pass")
    assert packs_in_use([can.item], shop.campus, "us")[can.item.pk][0].left == CAN


def test_the_page_of_an_item_names_what_uses_it_and_what_serves_as_well(shop, signed_in):
    can = electrode(shop, item__name="E7018")
    shown = page(signed_in(shop.instructor), "item", can.item.pk)
    uses = shown.context["uses"]
    assert [(one.version.exercise.number, one.setup_key) for one in uses.where] == [("23", "3-8in")]
    assert "23 Tee, three passes" in text(shown)
    other = StockItemFactory(campus=shop.campus)
    shown = text(page(signed_in(shop.instructor), "item", other.pk))
    assert "No setup of the library asks for this specification" in shown


def test_an_alternate_is_named_and_takes_the_place_of_what_is_missing(campus, signed_in):
    spec = scene.exercise()
    setup = spec.setups[0]
    rod = Filler(
        filler_class="ER70S-2",
        diameter=parse_measure("3/32 in", "length"),
        alternates=("ER70S-6",),
    )
    tig = replace(
        spec,
        process="GTAW",
        iso4063="141",
        setups=(
            replace(
                setup,
                filler=rod,
                electrode=replace(setup.electrode, type="EWLa-1.5"),
                polarity="DCEN",
            ),
        ),
    )
    shop = scene.shop(1, campus=campus, exercises=(tig,))
    second = StockItemFactory(
        campus=campus, kind="rod", name="ER70S-6", spec_key="rod:ER70S-6:2400"
    )
    client = signed_in(shop.instructor)
    (one,) = page(client, "item", second.pk).context["uses"].where
    assert one.instead
    first = StockItemFactory(campus=campus, kind="rod", name="ER70S-2", spec_key="rod:ER70S-2:2400")
    (one,) = page(client, "item", first.pk).context["uses"].where
    assert not one.instead
    assert page(client, "item", first.pk).context["uses"].alternates == (second,)
    again = page(client, "item", second.pk).context["uses"]
    assert (again.where, again.alternates) == ((), (first,))


# The page of an item


def test_the_ledger_runs_with_its_balance_over_pages(at_desk, can, clerk):
    for n in range(35):
        move(item=can.item, kind=Kind.RECEIVE, quantity=CAN, key=str(n), by=clerk)
    first = page(at_desk, "item", can.item.pk)
    assert [line.balance for line in first.context["lines"]][:2] == ["350", "340"]
    second = page(at_desk, "item", can.item.pk, page=2)
    assert [line.balance for line in second.context["lines"]] == ["50", "40", "30", "20", "10"]


def test_an_item_is_shown_in_the_units_of_the_reader(at_desk, can, clerk):
    receive_packs(pack=can, packs=1, key="a", by=clerk)
    assert "10 lb on the shelf" in text(page(at_desk, "item", can.item.pk))
    clerk.units = "metric"
    clerk.save()
    assert "4.536 kg on the shelf" in text(page(at_desk, "item", can.item.pk))


def test_the_page_of_an_item_asks_as_often_for_a_long_ledger(at_desk, can, clerk):
    def add(start, count):
        for n in range(start, start + count):
            open_pack(pack=can, key=f"open {n}", by=clerk)

    add(0, 2)
    few = queries(at_desk, "item", can.item.pk)
    add(2, 12)
    assert queries(at_desk, "item", can.item.pk) == few


def test_prices_and_packs_keep_their_history(at_desk, can, clerk):
    data = {
        "name": can.name, "content": "10 lb", "price": "44.50", "lead_days": "5",
        "approval_days": "8", "preferred": "on", "is_active": "on",
    }  # fmt: skip
    assert post(at_desk, "pack_edit", can.pk, **data).status_code == 302
    shown = text(page(at_desk, "item", can.item.pk))
    assert "pack can, 10 lb, price 42.00 44.50 Cleo Marsh" in shown


# Roles and rows

LISTS = ("items", "items_csv")
WRITING = ("item_new", "suppliers", "shelf_count")


@pytest.mark.parametrize("name", LISTS)
def test_who_buys_or_teaches_reads_the_shelf_and_nobody_else(name, campus, clerk, pupil, signed_in):
    teacher, manager = (UserFactory(roles=[role]) for role in (Role.INSTRUCTOR, Role.MANAGER))
    for person in (clerk, teacher, manager):
        assert page(signed_in(person), name).status_code == 200
    assert page(signed_in(pupil), name).status_code == 403


@pytest.mark.parametrize("name", WRITING)
def test_clerk_and_manager_write_and_nobody_else(name, campus, clerk, pupil, signed_in):
    teacher, manager = (UserFactory(roles=[role]) for role in (Role.INSTRUCTOR, Role.MANAGER))
    for person in (clerk, manager):
        assert page(signed_in(person), name).status_code == 200
    for person in (teacher, pupil):
        assert page(signed_in(person), name).status_code == 403
        assert post(signed_in(person), name).status_code == 403


def test_rows_of_another_campus_are_not_there(at_desk, clerk):
    south = CampusFactory(name="South")
    can = PackFactory(item__campus=south)
    by = UserFactory(home_campus=south, roles=[Role.CLERK])
    line = receive_packs(pack=can, packs=2, key="a", by=by)
    opened = open_pack(pack=can, key="b", by=by)
    supplier = SupplierRow.objects.create(campus=south, name="Far Off")
    for name, pk in (
        ("item", can.item.pk), ("item_edit", can.item.pk), ("pack_new", can.item.pk),
        ("pack_edit", can.pk), ("movement_reverse", line.pk), ("supplier_edit", supplier.pk),
    ):  # fmt: skip
        assert page(at_desk, name, pk).status_code == 404, name
    for name, pk in (
        ("move", can.item.pk), ("ask_count", can.item.pk), ("pack_finish", opened.pk),
        ("movement_reverse", line.pk), ("pack_edit", can.pk),
    ):  # fmt: skip
        assert post(at_desk, name, pk, act="issue", amount="1 lb").status_code == 404, name
    assert Movement.objects.count() == 2
    assert not page(at_desk, "items").context["rows"]


# What it is worth


def test_a_shelf_in_quarantine_is_worth_nothing(can, clerk, campus):
    receive_packs(pack=can, packs=2, key="a", by=clerk)
    rows = StockItem.objects.filter(pk=can.item.pk)
    assert shelf_rows(rows, campus, "us")[0].value == 84
    rows.update(quarantined=True)
    assert shelf_rows(rows, campus, "us")[0].value == 0


def test_bars_are_counted_by_length_and_sheets_in_sheets(campus):
    bar = StockItemFactory(
        campus=campus, kind="bar", spec_key="bar:steel:6400:101600", base_unit="mm2", piece_mg=None
    )
    assert str(scale_of(bar, "us").show(619_354)) == "20 ft"
    PackFactory(item=bar, name="bar, 20 ft", size=619_354, length_um=6_096_000)
    assert str(scale_of(bar, "us").show(619_354)) == "20 ft"
    assert scale_of(bar, "us").read("1/2 bar") == 309_677
