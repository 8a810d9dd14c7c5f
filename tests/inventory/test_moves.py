"""What is done at the shelf from its pages: moves, packs put away, lines reversed, the count."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from inventory.models import Movement, OpenPack, ReceiptLine, Requisition, RequisitionLine
from inventory.services import open_pack, receive_packs
from shared.people.models import AuditEntry, Role
from tests.factories import CampusFactory, PackFactory, StockItemFactory, UserFactory
from tests.inventory.pages import page, post, text

CAN = 4_535_924  # mg in 10 lb
CYLINDER = 9_344_559  # mL in 330 ft3
Kind = Movement.Kind
PARALLEL = 20


def act(client, item, kind, **fields):
    return post(client, "move", item.pk, act=kind, **{"on": str(item.campus.today()), **fields})


def lines(item):
    return list(item.movements.order_by("pk").values_list("kind", "quantity"))


@pytest.fixture
def at_bench(campus, signed_in):
    return signed_in(UserFactory(name="Ines Vale", roles=[Role.INSTRUCTOR]))


@pytest.fixture
def cylinder(campus):
    return PackFactory(
        item__campus=campus, item__name="Argon", item__kind="gas", item__base_unit="mL",
        item__spec_key="gas:argon", item__moved_by="exchange", item__piece_mg=None,
        name="cylinder, 330 ft3", size=CYLINDER,
    )  # fmt: skip


# Moves


def test_packs_are_received_and_the_movement_says_so(at_desk, can, clerk):
    answer = act(at_desk, can.item, "receive", amount="2 cans", reason="donated")
    assert answer["Location"] == can.item.get_absolute_url()
    line = Movement.objects.get()
    assert (line.kind, line.quantity, line.pack, line.by) == ("receive", 2 * CAN, can, clerk)
    assert (line.reason, line.on) == ("donated", can.item.campus.today())
    assert "Done: 20 lb on the shelf." in text(page(at_desk, "item", can.item.pk))


def test_what_is_handed_out_and_taken_back_moves_the_shelf(at_desk, can):
    act(at_desk, can.item, "receive", amount="10 lb")
    act(at_desk, can.item, "issue", amount="40 pcs")
    act(at_desk, can.item, "return", amount="1 lb")
    assert lines(can.item) == [("receive", CAN), ("issue", -40 * 34_000), ("return", 453_592)]


def test_plate_is_cut_by_the_sheet(at_bench, campus):
    sheet = PackFactory(
        item=StockItemFactory(
            campus=campus, kind="sheet", spec_key="sheet:steel:6400", base_unit="mm2",
            moved_by="cut", piece_mg=None,
        ),
        name="sheet 48 × 96 in", size=2_972_897,
    )  # fmt: skip
    act(at_bench, sheet.item, "cut", amount="0.5")
    act(at_bench, sheet.item, "cut", amount="12 x 24 in")
    assert lines(sheet.item) == [("cut", -1_486_449), ("cut", -185_806)]  # 185806.08


def test_packs_are_opened_each_with_a_line_of_its_own(at_bench, can):
    act(at_bench, can.item, "open", pack=can.pk, packs="2")
    assert lines(can.item) == [("open", -CAN)] * 2
    assert OpenPack.objects.filter(item=can.item, finished_at=None).count() == 2


def test_nobody_is_refused_and_the_book_is_short(at_bench, can):
    answer = act(at_bench, can.item, "issue", amount="3 lb")
    assert answer.status_code == 302
    shown = text(page(at_bench, "item", can.item.pk))
    assert "The book says −3 lb: a count is asked for." in shown
    assert "book short by 3 lb" in shown


def test_the_gas_that_goes_with_a_cylinder_is_noted_and_not_put_on_the_shelf(at_bench, cylinder):
    act(at_bench, cylinder.item, "exchange", pack=cylinder.pk)
    first = OpenPack.objects.get()
    act(
        at_bench, cylinder.item, "exchange", pack=cylinder.pk, replaces=first.pk,
        left="500 of 2200 psi",
    )  # fmt: skip
    assert lines(cylinder.item) == [("exchange", -CYLINDER)] * 2
    first.refresh_from_db()
    # Volumes of argon in one of water at 70 °F: 35.78 at 500 psig, 159.95 at 2200 (CoolProp 8.0.0).
    assert first.left == pytest.approx(CYLINDER * 35.78 / 159.95, rel=1e-3)
    assert OpenPack.objects.filter(finished_at=None).count() == 1


def test_a_cylinder_that_stays_keeps_its_gas_on_the_shelf(at_bench, cylinder):
    act(at_bench, cylinder.item, "exchange", pack=cylinder.pk)
    act(
        at_bench, cylinder.item, "exchange", pack=cylinder.pk,
        replaces=OpenPack.objects.get().pk, left="25 %", stays="on",
    )  # fmt: skip
    assert ("return", 2_336_140) in lines(cylinder.item)


def test_a_cylinder_may_be_put_beside_another(at_bench, cylinder):
    for _ in range(2):
        act(at_bench, cylinder.item, "exchange", pack=cylinder.pk, replaces="")
    assert OpenPack.objects.filter(finished_at=None).count() == 2


@pytest.mark.parametrize(
    ("kind", "fields", "field", "said"),
    [
        ("issue", {"amount": "3 ft"}, "amount", "10 lb, 2 × can, 40 pcs"),
        ("issue", {"amount": "0"}, "amount", "10 lb"),
        ("issue", {"amount": ""}, "amount", "required"),
        ("issue", {"amount": "1 lb", "on": "2999-01-01"}, "on", "still to come"),
        ("issue", {"amount": "1 lb", "on": "soon"}, "on", "date"),
        ("receive", {"amount": "2000000000 kg"}, "amount", "10 lb"),
        ("open", {"packs": "0"}, "packs", "1"),
        ("open", {"packs": "21"}, "packs", "20"),
        ("open", {"packs": "1", "pack": "999"}, "pack", "Select a valid choice"),
        ("issue", {"amount": "1 lb", "reason": "x" * 201}, "reason", "200"),
    ],
)
def test_a_wrong_move_is_refused_at_its_field_and_moves_nothing(
    at_desk, can, kind, fields, field, said
):
    answer = act(at_desk, can.item, kind, **{"pack": can.pk, **fields})
    assert answer.status_code == 422
    assert said in answer.context["form"].errors[field][0]
    for value in (fields | {"pack": ""}).values():
        assert value in answer.content.decode()
    assert not Movement.objects.exists()


@pytest.mark.parametrize(
    ("left", "said"),
    [("400 ft3", "at most 330 ft³"), ("much", "10 ft³"), ("500 psi", "500 / 2200 psi")],
)
def test_gas_left_that_cannot_be_is_refused(at_bench, cylinder, left, said):
    act(at_bench, cylinder.item, "exchange", pack=cylinder.pk)
    opened = OpenPack.objects.get()
    answer = act(
        at_bench, cylinder.item, "exchange", pack=cylinder.pk, replaces=opened.pk, left=left
    )
    assert answer.status_code == 422
    assert said in text(answer)
    opened.refresh_from_db()
    assert opened.finished_at is None
    assert Movement.objects.count() == 1


def test_gas_left_in_no_cylinder_is_refused(at_bench, cylinder):
    act(at_bench, cylinder.item, "exchange", pack=cylinder.pk)
    answer = act(at_bench, cylinder.item, "exchange", pack=cylinder.pk, replaces="", left="10 ft3")
    assert answer.status_code == 422
    assert "No cylinder goes" in answer.context["form"].errors["left"][0]


def test_nothing_in_quarantine_is_used(at_bench, at_desk, can):
    can.item.quarantined = True
    can.item.save()
    answer = act(at_bench, can.item, "open", pack=can.pk, packs="1")
    assert answer.status_code == 422
    assert "have its grade checked" in text(answer)
    assert not Movement.objects.exists()
    assert act(at_desk, can.item, "receive", amount="1 can").status_code == 302
    shown = at_desk.get(can.item.get_absolute_url()).content.decode()
    assert "?act=receive" in shown
    assert "?act=open" not in shown


@pytest.mark.parametrize("kind", ["receive", "return", "count", "reverse", "no such", ""])
def test_shop_work_alone_is_the_instructors(at_bench, can, kind):
    assert act(at_bench, can.item, kind, amount="1 lb").status_code == 404
    assert not Movement.objects.exists()


def test_students_do_nothing_at_the_shelf(can, clerk, signed_in):
    pupil = signed_in(UserFactory(roles=[Role.STUDENT]))
    opened = open_pack(pack=can, key="a", by=clerk)
    assert page(pupil, "item", can.item.pk).status_code == 403
    for name, pk in (
        ("move", can.item.pk), ("ask_count", can.item.pk), ("pack_finish", opened.pk),
        ("movement_reverse", opened.movement_id),
    ):  # fmt: skip
        assert post(pupil, name, pk, act="issue", amount="1 lb").status_code == 403
    assert Movement.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_twenty_of_the_same_form_at_once_move_the_shelf_once():
    campus = CampusFactory()
    clerk = UserFactory(roles=[Role.CLERK])
    can = PackFactory(item__campus=campus)
    data = {
        "submission_key": str(uuid4()), "act": "issue", "amount": "1 lb",
        "on": str(campus.today()),
    }  # fmt: skip
    clients = [Client() for _ in range(PARALLEL)]
    for each in clients:
        each.force_login(clerk, "shared.people.backends.PasswordBackend")
    gate = Barrier(PARALLEL, timeout=60)

    def send(client):
        try:
            gate.wait()
            return client.post(reverse("inventory:move", args=[can.item.pk]), data).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(PARALLEL) as pool:
        assert set(pool.map(send, clients)) == {302}
    can.item.refresh_from_db()
    assert lines(can.item) == [("issue", -453_592)]
    assert can.item.on_hand == -453_592


# Packs put away


def test_a_can_is_put_away_with_what_is_left(at_bench, can, clerk):
    opened = open_pack(pack=can, key="a", by=clerk)
    assert post(at_bench, "pack_finish", opened.pk, left="4 lb").status_code == 302
    assert lines(can.item)[-1] == ("return", 1_814_369)
    again = post(at_bench, "pack_finish", opened.pk, left="3 lb")
    assert again.status_code == 302
    assert len(lines(can.item)) == 2


def test_more_than_a_can_holds_is_refused_beside_it(at_bench, can, clerk):
    opened = open_pack(pack=can, key="a", by=clerk)
    answer = post(at_bench, "pack_finish", opened.pk, left="11 lb")
    assert answer.status_code == 422
    assert "at most 10 lb" in text(answer)
    assert 'value="11 lb"' in answer.content.decode()
    assert len(lines(can.item)) == 1


# Lines reversed


def test_a_wrong_line_is_reversed_with_its_reason(at_desk, can, clerk):
    line = receive_packs(pack=can, packs=2, key="a", by=clerk)
    assert "received 20 lb" in text(page(at_desk, "movement_reverse", line.pk))
    assert post(at_desk, "movement_reverse", line.pk).status_code == 422
    assert post(at_desk, "movement_reverse", line.pk, reason="entered twice").status_code == 302
    assert lines(can.item) == [("receive", 2 * CAN), ("reverse", -2 * CAN)]
    assert line.reversed_by.reason == "entered twice"
    again = post(at_desk, "movement_reverse", line.pk, reason="entered twice")
    assert again.status_code == 422
    assert "reversed before" in text(again)
    assert "reversed" in text(page(at_desk, "item", can.item.pk))


def test_a_receipt_is_reversed_at_its_requisition(at_desk, can, clerk):
    line = receive_packs(pack=can, packs=2, key="a", by=clerk)
    order = Requisition.objects.create(campus=can.item.campus, number=1, created_by=clerk)
    row = RequisitionLine.objects.create(
        requisition=order, item=can.item, pack=can, packs=2, price_e4=1
    )
    ReceiptLine.objects.create(line=row, packs=2, movement=line, received_on=line.on, by=clerk)
    answer = post(at_desk, "movement_reverse", line.pk, reason="wrong")
    assert answer.status_code == 422
    assert "reverse its receipt there" in text(answer)
    assert order.get_absolute_url() in answer.content.decode()
    assert reverse("inventory:movement_reverse", args=[line.pk]) not in (
        page(at_desk, "item", can.item.pk).content.decode()
    )


def test_the_instructor_reverses_nothing(at_bench, can, clerk):
    line = receive_packs(pack=can, packs=2, key="a", by=clerk)
    assert post(at_bench, "movement_reverse", line.pk, reason="wrong").status_code == 403
    assert len(lines(can.item)) == 1


# The count


def count(client, **lines):
    return post(client, "shelf_count", **lines)


def counted(item, found, reason=""):
    return {f"item-{item.pk}-found": found, f"item-{item.pk}-reason": reason}


def test_anybody_of_the_shop_asks_for_a_count(at_bench, can):
    assert post(at_bench, "ask_count", can.item.pk).status_code == 302
    post(at_bench, "ask_count", can.item.pk)
    can.item.refresh_from_db()
    assert can.item.count_due == can.item.campus.today()
    assert AuditEntry.objects.filter(action="stock.count_asked").count() == 1


def test_the_ten_dearest_are_counted_those_asked_for_first(at_desk, campus, clerk):
    for n in range(1, 13):
        pack = PackFactory(item__campus=campus, item__name=f"Item {n:02}", price_e4=n * 10_000)
        receive_packs(pack=pack, packs=1, key=str(n), by=clerk)
    post(at_desk, "ask_count", pack.item.campus.stock_items.get(name="Item 01").pk)
    rows = [form.row.item.name for form in page(at_desk, "shelf_count").context["forms"]]
    assert rows == ["Item 01", *(f"Item {n:02}" for n in range(12, 3, -1))]


def test_a_count_sets_the_shelf_and_shows_its_variance(at_desk, can, clerk):
    receive_packs(pack=can, packs=3, key="a", by=clerk)
    can.item.count_due = can.item.campus.today()
    can.item.save()
    answer = count(at_desk, **counted(can.item, "2 cans + 5 lb", "one was opened unwritten"))
    assert answer.status_code == 302
    can.item.refresh_from_db()
    assert can.item.on_hand == 2 * CAN + 2_267_962
    assert can.item.count_due is None
    shown = text(page(at_desk, "shelf_count"))
    assert "30 25 −5 lb one was opened unwritten Cleo Marsh" in shown


def test_a_line_left_empty_is_not_counted_and_the_book_to_the_digit_is_no_variance(
    at_desk, campus, clerk
):
    one, other = (PackFactory(item__campus=campus) for _ in range(2))
    for pack in (one, other):
        receive_packs(pack=pack, packs=3, key=str(pack.pk), by=clerk)
    answer = count(at_desk, **counted(one.item, "30"), **counted(other.item, ""))
    assert answer.status_code == 302
    assert lines(one.item) == [("receive", 3 * CAN), ("count", 0)]
    assert lines(other.item) == [("receive", 3 * CAN)]


def test_a_variance_wants_a_reason_and_all_lines_are_kept_or_none(at_desk, campus, clerk):
    one, other = (PackFactory(item__campus=campus) for _ in range(2))
    answer = count(
        at_desk, **counted(one.item, "2 cans"), **counted(other.item, "1 lb", "found one")
    )
    assert answer.status_code == 422
    shown = text(answer)
    assert "Not saved: one line to put right" in shown
    assert "20 lb more than the book says: write why" in shown
    assert 'value="2 cans"' in answer.content.decode()
    assert 'value="found one"' in answer.content.decode()
    assert not Movement.objects.exists()


def test_what_cannot_be_read_and_nothing_at_all_are_refused(at_desk, can):
    answer = count(at_desk, **counted(can.item, "some"))
    assert answer.status_code == 422
    assert "10 lb, 2 × can, 40 pcs" in text(answer)
    answer = count(at_desk, **counted(can.item, ""))
    assert answer.status_code == 422
    assert "Nothing was counted" in text(answer)


def test_a_count_takes_the_lines_that_were_sent_though_others_are_dearer_by_now(
    at_desk, campus, clerk
):
    cheap = PackFactory(item__campus=campus, price_e4=10_000)
    for n in range(10):
        pack = PackFactory(item__campus=campus, price_e4=10**6)
        receive_packs(pack=pack, packs=1, key=str(n), by=clerk)
    assert count(at_desk, **counted(cheap.item, "1 lb", "found")).status_code == 302
    assert lines(cheap.item) == [("count", 453_592)]


def test_a_count_sent_twice_counts_once(at_desk, can):
    key = str(uuid4())
    for _ in range(2):
        count(at_desk, submission_key=key, **counted(can.item, "1 lb", "found"))
    assert lines(can.item) == [("count", 453_592)]


def test_counts_of_another_campus_are_not_taken(at_desk):
    far = PackFactory(item__campus=CampusFactory(name="South"))
    assert count(at_desk, **counted(far.item, "1 lb", "found")).status_code == 422
    assert not Movement.objects.exists()


def test_a_day_before_is_a_day_that_may_be_written(at_desk, can):
    day = can.item.campus.today() - timedelta(days=3)
    act(at_desk, can.item, "issue", amount="1 lb", on=str(day))
    assert Movement.objects.get().on == day
