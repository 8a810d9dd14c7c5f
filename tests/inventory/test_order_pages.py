"""What to order: the list, what would be if, one item's outlook, the fragment of a class."""

import csv
import io
import re
from datetime import date, timedelta
from decimal import Decimal
from math import ceil
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from curriculum.models import Session
from inventory.core.forecast import forecast
from inventory.models import Requisition, RequisitionLine, StockItem
from inventory.services import class_forecast_case, forecast_basis, reckon
from inventory.services.orders import order_list
from inventory.services.outlook import item_outlook
from inventory.services.requisitions import expected_on
from inventory.services.what_if import differences, what_if
from shared.people.models import Role
from tests.factories import CampusFactory, PackFactory, StockItemFactory, UserFactory
from tests.grading import scene
from tests.inventory.buying import buying, coming
from tests.inventory.pages import page, text

pytestmark = pytest.mark.django_db

PLATE, ROD = "sheet:steel:9500", "electrode:E7018:3200"


@pytest.fixture
def made():
    return buying()


@pytest.fixture
def at_desk(made, signed_in):
    return signed_in(made.clerk)


def figures(answer):
    """The computed figures of a page, by name."""
    found = re.findall(r'<data data-figure="([^"]+)" value="([^"]*)">', answer.content.decode())
    return dict(found)


def make(client, **fields):
    data = {"submission_key": str(uuid4()), **fields}
    return client.post(reverse("inventory:requisition_make"), data)


# Who may


@pytest.mark.parametrize(
    ("role", "status"),
    [(Role.CLERK, 200), (Role.MANAGER, 200), (Role.INSTRUCTOR, 200), (Role.STUDENT, 403)],
)
def test_buyers_and_instructors_look_and_students_do_not(made, signed_in, role, status):
    client = signed_in(UserFactory(home_campus=made.shop.campus, roles=[role]))
    pk = made.item("sheet").pk
    assert page(client, "to_order").status_code == status
    assert page(client, "order_csv").status_code == status
    assert page(client, "item_forecast", pk).status_code == status
    assert page(client, "forecast_steps", pk).status_code == status


def test_an_instructor_sees_the_own_classes_and_orders_nothing(made, signed_in):
    other = scene.shop(1, name="Morning class", campus=made.shop.campus)
    client = signed_in(made.shop.instructor)
    answer = page(client, "to_order")
    assert "Make requisition" not in text(answer)
    assert 'type="checkbox" name="item"' not in answer.content.decode()
    assert "Other classes take from the same shelf" in text(answer)
    assert "Morning class" not in text(answer)
    assert page(client, "to_order", **{"class": other.shop_class.pk}).status_code == 404
    assert make(client, item=[made.item("sheet").pk]).status_code == 403
    assert not Requisition.objects.exists()


def test_another_campus_is_not_there(made, signed_in):
    far = CampusFactory(name="South")
    client = signed_in(UserFactory(home_campus=far, roles=[Role.CLERK]))
    pk = made.item("sheet").pk
    assert "Plate 3/8 in" not in text(page(client, "to_order"))
    assert page(client, "to_order", **{"class": made.shop.shop_class.pk}).status_code == 404
    assert page(client, "item_forecast", pk).status_code == 404
    assert page(client, "forecast_steps", pk).status_code == 404
    assert page(client, "class_consumables", made.shop.shop_class.pk).status_code == 404


# The list


def test_the_head_says_how_many_are_late_and_the_rows_say_how_late(made, at_desk):
    answer = page(at_desk, "to_order")
    basis = forecast_basis([made.shop.shop_class], made.today)
    late = reckon(basis).item(PLATE).order
    assert late.late
    assert "To order: 2 items are late" in text(answer)
    days = (made.today - late.order_by).days
    assert f"{days} days late" in text(answer)


def test_the_figures_are_those_of_the_command(made, at_desk):
    found = forecast(class_forecast_case(made.shop.shop_class, made.today), as_of=made.today)
    shown = figures(page(at_desk, "to_order", **{"class": made.shop.shop_class.pk}))
    for key in (PLATE, ROD):
        one = found.item(key)
        assert float(shown[f"forecast.{key}.likely"]) == one.total.likely
        assert float(shown[f"forecast.{key}.ample"]) == one.total.ample
        assert int(shown[f"forecast.{key}.packs"]) == one.order.packs
        assert shown[f"forecast.{key}.order_by"] == one.order.order_by.isoformat()
        assert Decimal(shown[f"forecast.{key}.cost_ample"]) == one.order.cost_ample
    total = sum(one.order.cost_ample for one in found.items)
    assert Decimal(shown["forecast.total"]) == total


def test_quantities_stand_in_the_readers_units(made, at_desk):
    made.stock("electrode", 3, "in")
    assert "30 – lb" in text(page(at_desk, "to_order"))
    made.clerk.units = "metric"
    made.clerk.save()
    assert "13.6 – kg" in text(page(at_desk, "to_order"))


def test_what_is_enough_is_a_group_and_has_nothing_to_tick(made, at_desk):
    made.stock("sheet", 5, "in")
    made.stock("electrode", 5, "in2")
    answer = page(at_desk, "to_order")
    assert "Nothing to order: the shelf is enough for the term" in text(answer)
    assert "Enough for the term" in text(answer)
    assert 'name="item"' not in answer.content.decode()


def test_an_item_of_an_order_that_comes_too_late_says_so(made):
    made.stock("sheet", 1, "in")
    basis = forecast_basis([made.shop.shop_class], made.today)
    order = Requisition.objects.create(
        campus=made.shop.campus, number=1, state="approved", created_by=made.clerk
    )
    RequisitionLine.objects.create(
        requisition=order,
        item=made.item("electrode"),
        pack=made.packs["electrode"],
        packs=20,
        price_e4=1,
        expected=made.today + timedelta(days=25),
    )
    basis = forecast_basis([made.shop.shop_class], made.today)
    row = next(row for row in order_list(basis, "us").rows if row.item == made.item("electrode"))
    assert (row.found.order.packs, row.state) == (0, "short")
    assert not row.can_order
    assert row.state_words == "short before the order comes"


def test_an_item_on_a_draft_is_not_ticked_again(made, at_desk):
    make(at_desk, item=[made.item("sheet").pk])
    basis = forecast_basis([made.shop.shop_class], made.today)
    rows = {row.item: row for row in order_list(basis, "us").rows}
    assert rows[made.item("electrode")].picked
    assert not rows[made.item("sheet")].picked
    assert "being written: R1" in text(page(at_desk, "to_order"))


def test_a_need_without_an_item_is_listed_with_its_exercise(made, at_desk):
    said = text(page(at_desk, "to_order"))
    assert "Matches no stock item grinding disc" in said
    assert "wanted by exercise 23/3-8in" in said


def test_a_need_without_an_item_leads_to_a_form_that_knows_it(made, at_desk):
    StockItem.objects.filter(spec_key=ROD).update(is_active=False, spec_key="electrode:X:1")
    basis = forecast_basis([made.shop.shop_class], made.today)
    lacking = {one.key: one for one in order_list(basis, "us").missing}[ROD]
    address = f"{reverse('inventory:item_new')}?{lacking.query}"
    assert f'href="{address.replace("&", "&amp;")}"' in page(at_desk, "to_order").content.decode()
    form = at_desk.get(address).context["form"]
    answer = at_desk.post(
        reverse("inventory:item_new"),
        {
            "submission_key": str(uuid4()),
            "factor": "1.8",
            "bias_cv": "0.1",
            "use_cv": "0.15",
            "is_active": "on",
            **form.initial,
        },
    )
    assert answer.status_code == 302
    assert StockItem.objects.filter(spec_key=ROD).exists()


def test_an_item_without_a_pack_cannot_be_ordered(made, at_desk):
    made.packs["sheet"].delete()
    answer = page(at_desk, "to_order")
    assert "say its pack" in text(answer)
    assert make(at_desk, item=[made.item("sheet").pk]).status_code == 422


def test_no_class_or_no_session_left_is_said(made, at_desk):
    Session.objects.filter(date__gt=made.today).delete()
    assert "Nothing to order: no session is left" in text(page(at_desk, "to_order"))
    assert page(at_desk, "item_forecast", made.item("sheet").pk).status_code == 200


@pytest.mark.parametrize("query", [{"class": "x"}, {"class": "999"}, {"item": "999"}])
def test_what_is_not_there_is_not_found(at_desk, query):
    assert page(at_desk, "to_order", **query).status_code == 404


def test_htmx_gets_the_list_alone(at_desk):
    answer = at_desk.get(reverse("inventory:to_order"), headers={"HX-Request": "true"})
    assert answer.content.decode().lstrip().startswith('<div id="orders">')


@pytest.mark.parametrize("rows", [3, 20])
def test_the_queries_of_the_list_do_not_grow_with_its_rows(signed_in, rows):
    made = buying(rows)
    for _ in range(rows):
        PackFactory(item=StockItemFactory(campus=made.shop.campus))
    client = signed_in(made.clerk)
    page(client, "to_order")
    with CaptureQueriesContext(connection) as queries:
        page(client, "to_order")
    assert len(queries) == 32


def test_the_table_has_every_item_and_what_matches_none(made, at_desk):
    answer = page(at_desk, "order_csv", **{"class": made.shop.shop_class.pk})
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert {row["item"] for row in rows[:2]} == {"Plate 3/8 in", "E7018 1/8 in"}
    assert [row["item"] for row in rows[2:]] == ["grinding disc"]
    plate = next(row for row in rows if row["item"] == "Plate 3/8 in")
    found = forecast(class_forecast_case(made.shop.shop_class, made.today), as_of=made.today)
    ample = found.item(PLATE).total.ample * 1e6 / made.packs["sheet"].size
    assert float(plate["ample"]) == pytest.approx(ample, rel=1e-5)
    assert (plate["unit"], plate["price"]) == ("sheet", "310")


# What would be if


def test_what_if_shows_the_difference_and_changes_nothing(made, at_desk):
    before = figures(page(at_desk, "to_order"))
    answer = page(at_desk, "to_order", students=12, dearer="10", lost=1)
    assert answer.status_code == 200
    assert "It changes the order of" in text(answer)
    assert figures(answer) == before
    assert figures(page(at_desk, "to_order")) == before


def test_dearer_filler_costs_more_and_the_rest_the_same(made):
    basis = forecast_basis([made.shop.shop_class], made.today)
    before, after = (order_list(one, "us") for one in (basis, what_if(basis, dearer=Decimal(10))))
    (change,) = differences(before, after)
    assert change.after.item == made.item("electrode")
    old, new = change.before.found.order, change.after.found.order
    assert new.packs == old.packs
    assert new.cost_ample == old.cost_ample * Decimal("1.1")


def test_more_students_never_want_less_and_fewer_never_more(made):
    basis = forecast_basis([made.shop.shop_class], made.today)
    more, fewer = (what_if(basis, students=n) for n in (2, -2))
    amounts = [reckon(one).item(PLATE).total.mean for one in (fewer, basis, more)]
    assert amounts == sorted(amounts)
    assert [len(one.case.students) for one in (fewer, basis, more)] == [1, 3, 5]


def test_the_first_to_go_are_those_furthest_behind(made):
    made.shop.coupon(made.shop.given[0], "pass")
    basis = forecast_basis([made.shop.shop_class], made.today)
    (left,) = what_if(basis, students=-2).case.students
    assert left.passed == {"23/3-8in"}


def test_a_lost_session_is_the_next_one_of_each_class(made):
    other = scene.shop(1, name="Morning class", campus=made.shop.campus)
    coming(other, weeks=2)
    classes = [made.shop.shop_class, other.shop_class]
    basis = forecast_basis(classes, made.today)
    left = what_if(basis, lost=1).case.sessions
    assert len(basis.case.sessions) - len(left) == 2
    assert min(one.day for one in left) == made.today + timedelta(weeks=2)


@pytest.mark.parametrize("query", [{"students": "many"}, {"dearer": "-90"}, {"lost": "-1"}])
def test_a_what_if_that_cannot_be_read_keeps_what_was_typed(at_desk, query):
    answer = page(at_desk, "to_order", **query)
    assert answer.status_code == 422
    assert f'value="{next(iter(query.values()))}"' in answer.content.decode()
    assert answer.context["what_if"].errors


# One item


def test_the_chart_has_its_table_with_the_same_figures(made, at_desk):
    made.stock("sheet", 1, "in")
    basis = forecast_basis([made.shop.shop_class], made.today)
    listed = order_list(basis, "us")
    row = next(row for row in listed.rows if row.item == made.item("electrode"))
    outlook = item_outlook(basis, row)
    answer = page(at_desk, "item_forecast", row.item.pk)
    body = answer.content.decode()
    assert body.lstrip().startswith('<section class="item" id="item"')
    assert "<svg" in body
    assert outlook.title in text(answer)
    assert len(outlook.weeks) == 4
    for week in outlook.weeks:
        assert f"<b>{week.ample}</b>" in body
    assert outlook.weeks[-1].ample == row.ample


def test_weeks_are_numbered_as_in_the_term_plan_and_a_week_without_shop_is_off(made):
    days = made.shop.shop_class.sessions.order_by("date")
    Session.objects.filter(pk=days[2].pk).delete()  # the second week to come
    Session.objects.filter(pk=days[2].pk).update(state=Session.State.LOST)  # now the third
    basis = forecast_basis([made.shop.shop_class], made.today)
    weeks = item_outlook(basis, order_list(basis, "us").rows[0]).weeks
    # today's is week 1; off is not counted; a lost week keeps its number
    assert [week.label for week in weeks] == ["2", "off", "3", "4"]
    assert [week.has_shop for week in weeks] == [True, False, False, True]


def test_the_item_asked_for_stands_under_the_list(made, at_desk):
    answer = page(at_desk, "to_order", item=made.item("electrode").pk)
    assert answer.context["outlook"].row.item == made.item("electrode")


def test_steps_lead_from_pass_rates_to_packs(made, at_desk):
    answer = page(at_desk, "forecast_steps", made.item("electrode").pk)
    said = text(answer)
    assert "Share of first coupons that pass" in said
    assert "(weight × opinion + passes) / (weight + passes + fails)" in said
    assert "Packs, rounded up" in said
    assert "23/3-8in" in said
    for step, _task in answer.context["steps"]:
        names = {name: one.value for name, one in step.inputs.items()}
        value = eval(step.expression, {"max": max, "ceil": ceil}, names)
        assert value == pytest.approx(step.value, abs=1e-9)


# The fragment beside a plan


@pytest.mark.parametrize("who", ["instructor", "clerk", "manager"])
def test_a_plan_shows_what_its_class_will_use(made, signed_in, who):
    person = made.shop.instructor if who == "instructor" else getattr(made, who)
    answer = page(signed_in(person), "class_consumables", made.shop.shop_class.pk)
    assert answer.content.decode().lstrip().startswith('<section class="block" id="consumables"')
    assert "Plate 3/8 in" in text(answer)
    assert "matches no stock item" in text(answer)


def test_an_instructor_of_another_class_does_not_find_it(made, signed_in):
    other = scene.shop(1, name="Morning class", campus=made.shop.campus)
    client = signed_in(other.instructor)
    assert page(client, "class_consumables", made.shop.shop_class.pk).status_code == 404
    assert page(signed_in(made.shop.students[0]), "class_consumables", 1).status_code == 403


# The requisition that comes of it


def test_picked_items_become_a_requisition_with_the_forecasts_packs(made, at_desk):
    found = forecast(class_forecast_case(made.shop.shop_class, made.today), as_of=made.today)
    answer = make(at_desk, item=[made.item("sheet").pk, made.item("electrode").pk])
    order = Requisition.objects.get()
    assert answer["Location"] == order.get_absolute_url()
    assert (order.number, order.state, order.created_by) == (1, "draft", made.clerk)
    assert order.shop_class is None  # all classes together
    for line in order.lines.all():
        wanted = found.item(line.item.spec_key).order
        assert (line.packs, line.order_by) == (wanted.packs, wanted.order_by)
        assert line.price_e4 == line.pack.price_e4
        assert line.expected > made.today


def test_a_requisition_of_one_class_says_so(made, at_desk):
    make(at_desk, item=[made.item("sheet").pk], **{"class": made.shop.shop_class.pk})
    assert Requisition.objects.get().shop_class == made.shop.shop_class


def test_nothing_picked_writes_nothing_and_says_what_to_do(made, at_desk):
    answer = make(at_desk)
    assert answer.status_code == 422
    assert "Pick at least one item" in text(answer)
    assert not Requisition.objects.exists()


def test_the_same_form_sent_twice_writes_one(made, at_desk):
    fields = {"item": [made.item("sheet").pk], "submission_key": str(uuid4())}
    first, second = (make(at_desk, **fields) for _ in range(2))
    assert first["Location"] == second["Location"]
    assert Requisition.objects.count() == 1


def test_expected_is_approval_and_lead_time_after_today():
    pack = PackFactory.build(lead_days=5, approval_days=8, item=None)
    # Monday 7 September 2026 + 13 working days is Thursday the 24th
    assert expected_on(pack, date(2026, 9, 7)) == date(2026, 9, 24)
    assert expected_on(pack, date(2026, 9, 7), approved=True) == date(2026, 9, 14)
    assert expected_on(pack, date(2026, 9, 7), [date(2026, 9, 8)]) == date(2026, 9, 25)
