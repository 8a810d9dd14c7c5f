"""What comes in on a requisition: received in parts, substituted, sent back, taken back."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from inventory.models import Movement, ReceiptLine, Requisition, RequisitionLine
from inventory.services import requisitions as services
from inventory.services.requisitions import Wanted
from shared.people.models import AuditEntry, Role
from tests.factories import CampusFactory, PackFactory, StockItemFactory, UserFactory
from tests.inventory.pages import text
from tests.inventory.requisition_forms import deliver, on_hand, send

pytestmark = pytest.mark.django_db

CAN = 4_535_924


def test_a_whole_delivery_fills_the_shelf_and_ends_the_requisition(at_desk, approved, can):
    answer = deliver(at_desk, approved, right="3", note="dock 2")
    assert answer.status_code == 302
    approved.refresh_from_db()
    assert (approved.state, on_hand(can)) == ("done", 3 * CAN)
    receipt = ReceiptLine.objects.get()
    assert (receipt.packs, receipt.outcome, receipt.note) == (3, "right", "dock 2")
    assert receipt.movement.quantity == 3 * CAN
    assert "R1: all received" in text(at_desk.get(approved.get_absolute_url()))


def test_what_was_paid_becomes_the_price_of_the_pack(at_desk, approved, can):
    RequisitionLine.objects.update(price_e4=455_000)
    deliver(at_desk, approved, wrong="1")
    can.refresh_from_db()
    assert can.price == Decimal("42")
    deliver(at_desk, approved, right="1")
    can.refresh_from_db()
    assert can.price == Decimal("45.5")
    assert can.history.count() == 2


def test_a_part_delivery_leaves_the_rest_on_order(at_desk, approved, can):
    deliver(at_desk, approved, right="1")
    approved.refresh_from_db()
    page = at_desk.get(approved.get_absolute_url())
    assert (approved.state, on_hand(can)) == ("approved", CAN)
    assert "R1: one line is still to come" in text(page)
    (row,) = page.context["rows"]
    assert (row.kept, row.open, row.over) == (1, 2, 0)


def test_more_than_ordered_is_counted_and_said(at_desk, approved, can):
    line = approved.lines.get()
    answer = at_desk.post(
        reverse("inventory:receive", args=[approved.pk]),
        {
            "submission_key": str(uuid4()),
            "received_on": approved.campus.today(),
            f"line-{line.pk}-right": "5",
        },
        follow=True,
    )
    assert on_hand(can) == 5 * CAN
    assert "More came of E7018 1/8 in than was ordered; it is counted." in text(answer)
    assert "2 over" in text(answer)


def test_a_wrong_item_goes_back_and_moves_nothing(at_desk, approved, can):
    deliver(at_desk, approved, wrong="2", note="E6013 came")
    approved.refresh_from_db()
    receipt = ReceiptLine.objects.get()
    assert (receipt.outcome, receipt.movement, on_hand(can)) == ("wrong", None, 0)
    assert approved.state == "approved"
    assert at_desk.get(approved.get_absolute_url()).context["rows"][0].open == 3


def test_kept_and_sent_back_in_one_delivery(at_desk, approved, can):
    deliver(at_desk, approved, right="2", wrong="1")
    assert sorted(ReceiptLine.objects.values_list("packs", "outcome")) == [
        (1, "wrong"),
        (2, "right"),
    ]
    assert on_hand(can) == 2 * CAN


def test_a_substitute_that_is_kept_stands_on_its_own_shelf(at_desk, campus, approved, can):
    other = PackFactory(
        item=StockItemFactory(campus=campus, name="E7016 1/8 in"), name="can, 5 kg", size=5_000_000
    )
    answer = deliver(at_desk, approved, right="3", instead=other.pk)
    assert answer.status_code == 302
    approved.refresh_from_db()
    assert (on_hand(can), on_hand(other), approved.state) == (0, 15_000_000, "done")
    assert "kept instead: E7016 1/8 in, can, 5 kg" in text(at_desk.get(approved.get_absolute_url()))


def test_a_substitute_is_of_the_same_kind(at_desk, campus, approved):
    other = PackFactory(item=StockItemFactory(campus=campus, kind="rod", spec_key="rod:X:1600"))
    assert deliver(at_desk, approved, right="3", instead=other.pk).status_code in (302, 422)
    assert on_hand(other) == 0


@pytest.mark.parametrize(
    "given",
    [{"right": "-1"}, {"right": "two"}, {"right": "100001"}, {"wrong": "1.5"}, {"right": ""}],
)
def test_a_delivery_that_cannot_be_read_changes_nothing(at_desk, approved, can, given):
    answer = deliver(at_desk, approved, note="kept", **given)
    assert answer.status_code == 422
    assert 'value="kept"' in answer.content.decode()
    assert not ReceiptLine.objects.exists()
    assert on_hand(can) == 0


def test_one_bad_line_stops_the_whole_delivery(at_desk, campus, clerk, manager, can):
    other = PackFactory(item__campus=campus)
    order = services.make_requisition(
        campus=campus, wanted=[Wanted(can, 1), Wanted(other, 1)], by=clerk
    )
    Requisition.objects.update(state="approved")
    first, second = order.lines.order_by("pk")
    fields = {f"line-{first.pk}-right": "1", f"line-{second.pk}-right": "x"}
    answer = send(at_desk, "receive", order.pk, received_on=campus.today(), **fields)
    assert answer.status_code == 422
    assert not Movement.objects.exists()


def test_a_delivery_of_tomorrow_is_refused(at_desk, approved):
    tomorrow = approved.campus.today() + timedelta(days=1)
    answer = deliver(at_desk, approved, right="1", on=tomorrow)
    assert answer.status_code == 422
    assert "This day has not come yet" in text(answer)


@pytest.mark.parametrize("state", ["draft", "done", "cancelled"])
def test_only_what_is_on_order_is_received(at_desk, order, state, can):
    Requisition.objects.update(state=state)
    assert deliver(at_desk, order, right="1").status_code == 409
    assert on_hand(can) == 0


def test_what_has_come_stays_when_the_rest_is_cancelled(at_desk, approved, can):
    deliver(at_desk, approved, right="1")
    send(at_desk, "requisition_cancel", approved.pk)
    assert on_hand(can) == CAN


def test_a_receipt_is_taken_back_with_its_stock_once(at_desk, approved, can):
    deliver(at_desk, approved, right="3")
    receipt = ReceiptLine.objects.get()
    answer = send(at_desk, "receipt_reverse", receipt.pk, reason="counted the wrong pallet")
    assert answer.status_code == 302
    approved.refresh_from_db()
    assert (approved.state, on_hand(can)) == ("approved", 0)
    again = send(at_desk, "receipt_reverse", receipt.pk, reason="once more")
    assert again.status_code == 409
    assert on_hand(can) == 0
    assert Movement.objects.filter(kind="reverse").get().reason == "counted the wrong pallet"


def test_taking_back_needs_a_reason(at_desk, approved, can):
    deliver(at_desk, approved, right="1")
    answer = send(at_desk, "receipt_reverse", ReceiptLine.objects.get().pk)
    assert answer.status_code == 422
    assert "Say why it is taken back." in text(answer)
    assert on_hand(can) == CAN


def test_another_campuss_receipt_is_not_found(signed_in, at_desk, approved):
    deliver(at_desk, approved, right="1")
    far = UserFactory(home_campus=CampusFactory(name="South"), roles=[Role.CLERK])
    receipt = ReceiptLine.objects.get()
    assert send(signed_in(far), "receipt_reverse", receipt.pk, reason="x").status_code == 404
    assert receipt.reversed_at is None


def test_every_step_is_in_the_audit(at_desk, as_manager, order):
    send(as_manager, "requisition_approve", order.pk)
    deliver(at_desk, order, right="3")
    send(at_desk, "receipt_reverse", ReceiptLine.objects.get().pk, reason="wrong pallet")
    actions = AuditEntry.objects.filter(action__startswith="requisition.").order_by("pk")
    assert list(actions.values_list("action", flat=True)) == [
        "requisition.made",
        "requisition.approved",
        "requisition.received",
        "requisition.receipt_reversed",
    ]
