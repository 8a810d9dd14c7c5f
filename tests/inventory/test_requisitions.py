"""Requisitions: written, edited, approved, listed, printed."""

import csv
import io
from datetime import timedelta
from decimal import Decimal
from threading import Barrier, Thread
from uuid import uuid4

import pytest
from django.db import connection
from django.db.models import ProtectedError
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from inventory.models import Movement, Pack, ReceiptLine, Requisition, RequisitionLine
from inventory.services import requisitions as services
from inventory.services.requisitions import Came, Wanted, WrongState
from shared.people.models import AuditEntry, Campus, Membership, Role
from tests.factories import CampusFactory, PackFactory, UserFactory
from tests.inventory.pages import text
from tests.inventory.requisition_forms import edit, on_hand, send

pytestmark = pytest.mark.django_db

CAN = 4_535_924
QUERIES = [12, 8, 8]  # list, one on order, one being written


# Who may


@pytest.mark.parametrize("role", [Role.STUDENT, Role.INSTRUCTOR])
def test_other_roles_are_refused(signed_in, order, role):
    client = signed_in(UserFactory(roles=[role]))
    for name in ("requisition", "requisition_pdf", "requisition_csv"):
        assert client.get(reverse(f"inventory:{name}", args=[order.pk])).status_code == 403
    assert client.get(reverse("inventory:requisitions")).status_code == 403
    for name in ("requisition", "requisition_approve", "requisition_cancel", "receive"):
        assert send(client, name, order.pk).status_code == 403
    order.refresh_from_db()
    assert order.state == "draft"


def test_another_campus_is_not_found(signed_in, order):
    far = CampusFactory(name="South")
    client = signed_in(UserFactory(home_campus=far, roles=[Role.CLERK, Role.MANAGER]))
    assert client.get(reverse("inventory:requisition", args=[order.pk])).status_code == 404
    for name in ("requisition", "requisition_approve", "requisition_cancel", "receive"):
        assert send(client, name, order.pk).status_code == 404
    assert "R1" not in text(client.get(reverse("inventory:requisitions")))


def test_a_clerk_prepares_and_a_manager_approves(at_desk, as_manager, order):
    page = at_desk.get(order.get_absolute_url())
    assert "Approve and order" not in text(page)
    assert send(at_desk, "requisition_approve", order.pk).status_code == 403
    assert "Approve and order" in text(as_manager.get(order.get_absolute_url()))
    assert send(as_manager, "requisition_approve", order.pk).status_code == 302
    order.refresh_from_db()
    assert (order.state, order.approved_by.name) == ("approved", "Mara Quill")


def test_one_person_with_both_roles_does_both(signed_in, campus, can, clerk, order):
    Membership.objects.create(user=clerk, campus=campus, role=Role.MANAGER)
    assert send(signed_in(clerk), "requisition_approve", order.pk).status_code == 302


# Numbers


def test_numbers_are_the_campuss_own(campus, clerk, can, order):
    far = PackFactory(item__campus=CampusFactory(name="South"))
    second = services.make_requisition(campus=campus, wanted=[Wanted(can, 1)], by=clerk)
    first = services.make_requisition(campus=far.item.campus, wanted=[Wanted(far, 1)], by=clerk)
    assert (order.number, second.number, first.number) == (1, 2, 1)


@pytest.mark.django_db(transaction=True)
def test_numbers_have_no_gap_when_many_write_at_once():
    pack, people = PackFactory(), [UserFactory() for _ in range(6)]
    barrier, wrong, each_writes = Barrier(len(people), timeout=60), [], 4

    def write(person):
        try:
            barrier.wait()
            campus = Campus.objects.get(pk=pack.item.campus_id)
            for _ in range(each_writes):
                services.make_requisition(campus=campus, wanted=[Wanted(pack, 1)], by=person)
        except Exception as error:
            wrong.append(error)
        finally:
            connection.close()

    threads = [Thread(target=write, args=(person,)) for person in people]
    for each in threads:
        each.start()
    for each in threads:
        each.join(timeout=120)
    assert not wrong
    numbers = sorted(Requisition.objects.values_list("number", flat=True))
    assert numbers == list(range(1, len(people) * each_writes + 1))


@pytest.mark.django_db(transaction=True)
def test_twenty_equal_deliveries_at_once_count_once(signed_in):
    pack, clerk = PackFactory(), UserFactory(roles=[Role.CLERK])
    campus = pack.item.campus
    order = services.make_requisition(campus=campus, wanted=[Wanted(pack, 9)], by=clerk)
    Requisition.objects.update(state="approved")
    line, key = order.lines.get(), str(uuid4())
    data = {
        "submission_key": key,
        "received_on": campus.today().isoformat(),
        f"line-{line.pk}-right": "2",
    }
    barrier, codes = Barrier(20, timeout=60), []
    clients = [signed_in(clerk) for _ in range(20)]

    def post(client):
        barrier.wait()
        codes.append(client.post(reverse("inventory:receive", args=[order.pk]), data).status_code)
        connection.close()

    threads = [Thread(target=post, args=(client,)) for client in clients]
    for each in threads:
        each.start()
    for each in threads:
        each.join(timeout=120)
    assert codes == [302] * 20
    assert ReceiptLine.objects.count() == Movement.objects.count() == 1
    assert on_hand(pack) == 2 * CAN


# Writing and editing


def test_money_is_exact(at_desk, order):
    line = order.lines.get()
    assert edit(at_desk, order, lines={line.pk: {"packs": "3", "price": "0.3333"}}).status_code == (
        302
    )
    line.refresh_from_db()
    assert (line.price_e4, line.cost) == (3333, Decimal("0.9999"))


def test_a_draft_is_edited_line_by_line(at_desk, campus, order, can):
    line = order.lines.get()
    more = PackFactory(item__campus=campus, item__name="Wire", name="spool", price_e4=330_000)
    day = campus.today() + timedelta(days=30)
    answer = edit(
        at_desk,
        order,
        lines={line.pk: {"packs": "7", "expected": day}},
        account="Grant 12",
        note="Back door",
        add_pack=more.pk,
        add_packs="2",
    )
    assert answer.status_code == 302
    order.refresh_from_db()
    line.refresh_from_db()
    assert (order.account, order.note) == ("Grant 12", "Back door")
    assert (line.packs, line.expected) == (7, day)
    added = order.lines.get(pack=more)
    assert (added.packs, added.price_e4, added.item) == (2, 330_000, more.item)


def test_a_pack_that_is_on_it_already_is_added_to_its_line(at_desk, order, can):
    edit(at_desk, order, add_pack=can.pk, add_packs="2")
    assert order.lines.get().packs == 5


def test_a_line_is_taken_out_whatever_stands_in_it(at_desk, order):
    line = order.lines.get()
    answer = edit(at_desk, order, lines={line.pk: {"remove": "on", "packs": "many"}})
    assert answer.status_code == 302
    assert not order.lines.exists()


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("packs", "0"),
        ("packs", "1.5"),
        ("packs", "100001"),
        ("price", "-1"),
        ("price", "0.00001"),
        ("price", "NaN"),
        ("expected", "soon"),
    ],
)
def test_bad_input_stays_in_the_form_and_changes_nothing(at_desk, order, field, typed):
    line = order.lines.get()
    answer = edit(at_desk, order, lines={line.pk: {field: typed}}, note="kept")
    assert answer.status_code == 422
    assert f'value="{typed}"' in answer.content.decode()
    assert ">\nkept</textarea>" in answer.content.decode()
    assert "One line has something to put right" in text(answer)
    said = text(answer)
    assert any(
        words in said
        for words in ("whole number from 1 to 100000", "amount such as 38.40", "date such as")
    )
    order.refresh_from_db()
    line.refresh_from_db()
    assert (order.note, line.packs, line.price_e4) == ("", 3, 420_000)


@pytest.mark.parametrize("fields", [{"add_packs": "2"}, {"add_pack": "can"}])
def test_half_an_addition_is_refused(at_desk, order, can, fields):
    given = {name: can.pk if value == "can" else value for name, value in fields.items()}
    assert edit(at_desk, order, **given).status_code == 422
    assert order.lines.get().packs == 3


def test_only_packs_on_offer_here_can_be_added(at_desk, order):
    far = PackFactory(item__campus=CampusFactory(name="South"))
    assert edit(at_desk, order, add_pack=far.pk, add_packs="1").status_code == 422


def test_an_approved_one_is_edited_no_more(at_desk, approved):
    line = approved.lines.get()
    answer = edit(at_desk, approved, lines={line.pk: {"packs": "7"}})
    assert answer.status_code == 409
    assert "Nothing was changed: R1 is approved, on order meanwhile." in text(answer)
    line.refresh_from_db()
    assert line.packs == 3


def test_an_empty_draft_is_not_approved(as_manager, order):
    order.lines.all().delete()
    answer = send(as_manager, "requisition_approve", order.pk)
    assert answer.status_code == 422
    assert "add at least one line" in text(answer)
    order.refresh_from_db()
    assert order.state == "draft"


def test_approving_twice_is_harmless(as_manager, order):
    assert send(as_manager, "requisition_approve", order.pk).status_code == 302
    assert send(as_manager, "requisition_approve", order.pk).status_code == 409
    assert AuditEntry.objects.filter(action="requisition.approved").count() == 1


def test_approval_moves_a_day_that_cannot_be_kept(order, manager, can):
    today = order.campus.today()
    order.lines.update(expected=today)
    services.approve(requisition=order, by=manager, now=timezone.now())
    assert order.lines.get().expected == services.expected_on(can, today, approved=True)


def test_a_draft_is_given_up(at_desk, order):
    assert send(at_desk, "requisition_cancel", order.pk).status_code == 302
    page = at_desk.get(order.get_absolute_url())
    assert "R1: cancelled" in text(page)
    with pytest.raises(WrongState):
        services.cancel(requisition=order, by=order.created_by)


# Lists and paper


def test_the_list_says_what_is_open_and_filters_by_state(at_desk, campus, clerk, can, approved):
    services.make_requisition(campus=campus, wanted=[Wanted(can, 1)], by=clerk)
    page = at_desk.get(reverse("inventory:requisitions"))
    assert "Requisitions: one is on order" in text(page)
    assert "One is being written and waits for approval." in text(page)
    assert "126.00" in text(page)
    drafts = at_desk.get(reverse("inventory:requisitions"), {"state": "draft"})
    assert [row["requisition"].number for row in drafts.context["rows"]] == [2]


def test_two_roles_of_one_person_do_not_double_the_cost(at_desk, campus, clerk, order):
    Membership.objects.create(user=clerk, campus=campus, role=Role.MANAGER)
    (row,) = at_desk.get(reverse("inventory:requisitions")).context["rows"]
    assert row["total"] == Decimal("126")


def test_htmx_gets_the_rows_alone(at_desk, order):
    answer = at_desk.get(reverse("inventory:requisitions"), headers={"HX-Request": "true"})
    assert answer.content.decode().lstrip().startswith('<div id="requisitions">')


@pytest.mark.parametrize("rows", [3, 20])
def test_the_queries_do_not_grow_with_rows_or_lines(at_desk, campus, clerk, rows):
    packs = [PackFactory(item__campus=campus) for _ in range(rows)]
    wanted = [Wanted(pack, 2) for pack in packs]
    orders = [
        services.make_requisition(campus=campus, wanted=wanted, by=clerk) for _ in range(rows)
    ]
    Requisition.objects.filter(pk=orders[0].pk).update(state="approved")
    line = orders[0].lines.first()
    services.receive(
        requisition=orders[0], came=[Came(line=line, right=1)], by=clerk, on=campus.today()
    )
    found = []
    for url in (
        reverse("inventory:requisitions"),
        orders[0].get_absolute_url(),
        orders[1].get_absolute_url(),
    ):
        with CaptureQueriesContext(connection) as queries:
            at_desk.get(url)
        found.append(len(queries))
    assert found == QUERIES


def test_the_table_of_a_requisition_is_exact(at_desk, order):
    RequisitionLine.objects.update(price_e4=123_456)
    answer = at_desk.get(reverse("inventory:requisition_csv", args=[order.pk]))
    (row,) = csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig")))
    assert (row["packs"], row["price"], row["cost"]) == ("3", "12.3456", "37.0368")


def test_the_table_of_the_list_has_every_requisition(at_desk, order):
    answer = at_desk.get(reverse("inventory:requisitions_csv"))
    (row,) = csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig")))
    assert (row["number"], row["state"], row["total"]) == ("R1", "being written", "126.00")


@pytest.mark.pdf
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_paper_has_every_line_its_total_and_nothing_clipped(at_desk, campus, clerk, paper):
    Campus.objects.update(paper=paper)
    packs = [
        PackFactory(item__campus=campus, item__name=f"Electrode of long name number {n:02}, 1/8 in")
        for n in range(30)
    ]
    order = services.make_requisition(
        campus=campus, wanted=[Wanted(pack, 2) for pack in packs], by=clerk
    )
    answer = at_desk.get(reverse("inventory:requisition_pdf", args=[order.pk]))
    assert answer["Content-Type"] == "application/pdf"
    reader = PdfReader(io.BytesIO(answer.content))
    wide = {"A4": 595, "Letter": 612}[paper]
    assert round(float(reader.pages[0].mediabox.width)) == wide
    words = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    for pack in packs:
        assert pack.item.name in words
    assert "Requisition R1" in words
    assert "2,520.00" in words
    right = []
    for page in reader.pages:
        page.extract_text(
            visitor_text=lambda said, cm, tm, font, size: (
                said.strip() and right.append(tm[4] * cm[0] + cm[4])
            )
        )
    assert right
    assert max(right) < wide - 30  # the margin


def test_a_pack_that_was_ordered_is_never_lost(order, can):
    with pytest.raises(ProtectedError):
        can.delete()
    assert Pack.objects.filter(pk=can.pk).exists()
