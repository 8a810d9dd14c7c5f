"""Cutting pages: the list, a new plan, its drawings and paper, what came off, what if."""

import re
from datetime import timedelta
from io import BytesIO
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from curriculum.models import PlanEntry, ShopClass
from inventory.models import CutPart, CutPlan, Movement
from inventory.services.blanks_needed import blanks_needed
from inventory.services.cutplans import Wanted, draft_plans, store_plan
from inventory.services.pieces import hand_out, receive_pieces
from shared.people.models import Role
from tests.factories import PackFactory, UserFactory
from tests.forms import posting_form
from tests.inventory.cutting_shop import BLANK, IN, LARGE, cutting_shop
from tests.world import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(campus, clerk):
    return cutting_shop(campus, clerk)


@pytest.fixture
def at_desk(shop, signed_in):
    return signed_in(shop.by)


def url(name, *args):
    return reverse(f"inventory:{name}", args=args)


def text(answer):
    return " ".join(re.sub(r"<[^>]*>", " ", answer.content.decode()).split())


def form_of(client, path):
    answer = client.get(path)
    assert answer.status_code == 200
    return dict(posting_form(answer.content.decode(), path, path.partition("?")[0]).data)


def by_hand(client, item, *, size="3 × 6 in", count="16", line=0, **more):
    """Open a new plan and write one line of blanks."""
    path = url("cutting_new")
    data = form_of(client, path)
    data |= {f"line-{line}-item": [str(item.pk)], f"line-{line}-size": [size]}
    data |= {f"line-{line}-count": [count]} | {name: [value] for name, value in more.items()}
    return client.post(path, data), data


# A new plan


def test_blanks_written_by_hand_are_planned_and_shown(at_desk, shop):
    answer, _data = by_hand(at_desk, shop.item)
    plan = CutPlan.objects.get()
    assert answer["Location"] == url("cutting_plan", plan.pk)
    page = at_desk.get(answer["Location"])
    assert "1 remnant to cut" in text(page)
    assert "no plan is cheaper (proven)" in text(page)
    assert "<svg" in page.content.decode()


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ({"size": "six by three"}, "is no size"),
        ({"size": "3 in"}, "is no size"),
        ({"size": "0.001 × 3 in"}, "under 0.1 mm"),
        ({"size": "3 × 6000 in"}, "is no size"),
        ({"count": "-3"}, "whole number from 0 to 20,000"),
        ({"count": "30000"}, "whole number from 0 to 20,000"),
        ({"count": "many"}, "whole number from 0 to 20,000"),
        ({"count": ""}, "Write how many"),
        ({"count": "0"}, "Write how many"),
    ],
)
def test_what_cannot_be_read_is_said_beside_it_and_nothing_typed_is_lost(
    at_desk, shop, written, says
):
    answer, data = by_hand(at_desk, shop.item, **written)
    assert answer.status_code == 422
    assert says in text(answer)
    for name in ("line-0-size", "line-0-count"):
        assert f'value="{data[name][0]}"' in answer.content.decode() or not data[name][0]
    assert not CutPlan.objects.exists()


def test_an_empty_form_says_that_nothing_is_to_be_cut(at_desk, shop):
    answer = at_desk.post(url("cutting_new"), form_of(at_desk, url("cutting_new")))
    assert answer.status_code == 422
    assert "Nothing is to be cut" in text(answer)


def test_a_day_that_is_over_is_refused(at_desk, shop):
    answer = at_desk.get(
        url("cutting_new"), {"first": "2020-01-01", "last": "2020-01-02", "figure": "ample"}
    )
    assert answer.status_code == 422
    assert "That day is over" in text(answer)


def test_ten_thousand_pieces_get_a_plan(at_desk, shop):
    answer, _data = by_hand(at_desk, shop.item, count="10000")
    assert answer.status_code == 302
    # by hand: 32 of the remnants, 9968 of sheets that hold 256: at least 39 sheets
    assert "39 sheets" in text(at_desk.get(answer["Location"]))


def test_a_piece_larger_than_every_sheet_is_named_on_the_page(at_desk, shop):
    answer, _data = by_hand(at_desk, shop.item, size="60 × 120 in", count="2")
    page = text(at_desk.get(answer["Location"]))
    assert "2 blanks cannot be had." in page
    assert "2 of 60 × 120 in: larger than any stock here" in page


def test_the_same_form_sent_twice_makes_one_plan(at_desk, shop):
    first, data = by_hand(at_desk, shop.item)
    again = at_desk.post(url("cutting_new"), data)
    assert again["Location"] == first["Location"]
    assert CutPlan.objects.count() == 1


def test_planning_again_keeps_the_lines_by_hand_and_gives_the_old_plan_up(at_desk, shop):
    old = shop.plan((BLANK, 16))
    path = f"{url('cutting_new')}?instead={old.pk}"
    data = form_of(at_desk, path)
    assert data["line-0-count"] == ["16"]
    assert at_desk.post(url("cutting_new"), data).status_code == 302
    old.refresh_from_db()
    assert old.state == CutPlan.State.CANCELLED
    # another tab that was open beside it does not make the same plan twice unasked
    other_tab = data | {"submission_key": [str(uuid4())]}
    answer = at_desk.post(url("cutting_new"), other_tab)
    assert answer.status_code == 422
    assert "cut or given up by now" in text(answer)
    assert CutPlan.objects.count() == 2


def test_planning_again_for_a_class_that_is_over_asks_for_those_that_run(at_desk, shop):
    today = shop.campus.today()
    over, running = (
        ShopClass.objects.create(
            campus=shop.campus, name=name, starts=today - timedelta(days=90), ends=ends
        )
        for name, ends in (("Over", today - timedelta(days=1)), ("Running", today))
    )
    old = shop.plan((BLANK, 16), classes=[over, running])
    path = f"{url('cutting_new')}?instead={old.pk}"
    assert form_of(at_desk, path)["classes"] == [str(running.pk)]
    # asked for by hand, the one that is over is refused at its field
    asked = {"first": today, "last": today, "figure": "ample", "classes": over.pk}
    answer = at_desk.get(url("cutting_new"), asked)
    assert answer.status_code == 422
    assert f"{over.pk} is not one of the available choices" in text(answer)


def test_a_plan_that_waits_for_the_same_class_and_days_is_named(at_desk, shop):
    today = shop.campus.today()
    running = ShopClass.objects.create(
        campus=shop.campus, name="Running", starts=today, ends=today + timedelta(days=90)
    )
    old = shop.plan((BLANK, 16), classes=[running])
    asked = {"first": today, "last": today, "figure": "ample"}
    warned = "its blanks count as needed here too"
    assert warned in text(at_desk.get(url("cutting_new"), asked))
    assert warned not in text(at_desk.get(url("cutting_new"), asked | {"instead": old.pk}))
    later = {"first": today + timedelta(days=1), "last": today + timedelta(days=7)}
    assert warned not in text(at_desk.get(url("cutting_new"), asked | later))


def test_the_need_of_classes_stands_there_less_what_is_on_the_shelf():
    world = build()
    first = world.today.date + timedelta(days=1)
    last = first + timedelta(weeks=3)
    classes = [world.shop_class, world.other_class]
    needed = blanks_needed(classes, first, last)
    lines = {(line.item.kind, line.size.length): line for line in needed.lines}
    sheet = lines["sheet", 152_400]
    # the world has 30 blanks of 2 x 6 in; 10 ga sheet is no item of it
    assert sheet.to_cut == max(sheet.needed - 30, 0)
    assert [one.name for one in needed.missing if "10 ga" in one.name]
    page = world.client(world.clerk).get(
        url("cutting_new"),
        {"first": first.isoformat(), "last": last.isoformat(), "figure": "ample"},
    )
    assert "for exercise 12" in text(page)
    assert "no item of the shelf has its metal and thickness" in text(page)
    receive_pieces(
        item=sheet.item, form="blank", size=sheet.size, pieces=500, key="more", by=world.clerk
    )
    again = blanks_needed(classes, first, last)
    assert {line.to_cut for line in again.lines if line.size == sheet.size} == {0}
    # nothing planned, nothing needed
    PlanEntry.objects.all().delete()
    assert blanks_needed(classes, first, last).lines == ()


# The plan and the list


def test_the_list_names_the_next_plan_and_the_stale_ones(at_desk, shop):
    plan = shop.plan((BLANK, 16))
    page = text(at_desk.get(url("cutting")))
    assert f"plan {plan.number} is next" in page
    hand_out(sized=shop.remnant, pieces=1, key="out", by=shop.by)
    assert "the stock has changed since" in text(at_desk.get(url("cutting")))
    assert "The stock has changed since" in text(at_desk.get(url("cutting_plan", plan.pk)))


def test_the_list_and_a_plan_take_a_constant_number_of_queries(at_desk, shop):
    def queries(path):
        with CaptureQueriesContext(connection) as seen:
            assert at_desk.get(path).status_code == 200
        return sum(one["sql"].startswith("SELECT") for one in seen)

    plan = shop.plan((BLANK, 16))
    counts = queries(url("cutting")), queries(url("cutting_plan", plan.pk))
    for _ in range(5):
        shop.plan((BLANK, 5))
    many = shop.plan(*((BLANK.__class__(BLANK.length, n * IN), 2) for n in range(1, 6)))
    assert (queries(url("cutting")), queries(url("cutting_plan", many.pk))) == counts


def test_a_stored_plan_that_fails_its_check_is_not_shown(at_desk, shop):
    part = shop.plan((BLANK, 16)).parts.get()
    blanks = [one for one in part.answer["stock_used"][0]["parts"] if one["kind"] == "blank"]
    blanks[0]["length"] *= 2
    part.save()
    page = at_desk.get(url("cutting_plan", part.plan_id))
    assert "does not pass its check" in text(page)
    assert at_desk.get(url("cutting_done", part.pk)).status_code == 404
    assert at_desk.get(url("cutting_pdf", part.plan_id)).status_code == 404


def test_the_paper_holds_what_is_still_to_be_cut_and_all_of_it_when_done(at_desk, shop):
    other = PackFactory(
        item__campus=shop.campus, item__kind="sheet", item__name="Other sheet",
        item__spec_key="sheet:steel:2700", item__base_unit="mm2", item__piece_mg=None,
        size=2_972_897, length_um=96 * IN, width_um=48 * IN,
    ).item  # fmt: skip
    day = shop.campus.today()
    wanted = [Wanted(item=item, size=BLANK, count=6) for item in (shop.item, other)]
    plan = store_plan(
        draft_plans(wanted, campus=shop.campus), campus=shop.campus, first=day, last=day, by=shop.by
    )

    def paper():
        pdf = PdfReader(BytesIO(at_desk.get(url("cutting_pdf", plan.pk)).content))
        return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())

    assert paper().count("hands outside the guard") == 1  # both are cut on one shear
    told = []
    for part in [*plan.parts.all(), None]:
        told.append([item.name in paper() for item in (shop.item, other)])
        if part is not None:
            path = url("cutting_done", part.pk)
            at_desk.post(path, form_of(at_desk, path))
    assert told == [[True, True], [False, True], [True, True]]


def test_the_paper_is_a_pdf(at_desk, shop):
    plan = shop.plan((BLANK, 16))
    answer = at_desk.get(url("cutting_pdf", plan.pk))
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_a_plan_is_given_up_once(at_desk, shop):
    plan = shop.plan((BLANK, 16))
    data = {"submission_key": str(uuid4())}
    page = at_desk.post(url("cutting_cancel", plan.pk), data, follow=True)
    assert "is given up" in text(page)
    again = at_desk.post(
        url("cutting_cancel", plan.pk), {"submission_key": str(uuid4())}, follow=True
    )
    assert "was not open any more" in text(again)


# What came off


def test_what_is_sent_unchanged_is_booked_as_planned(at_desk, shop):
    part = shop.plan((BLANK, 14)).parts.get()
    path = url("cutting_done", part.pk)
    answer = at_desk.post(path, form_of(at_desk, path))
    assert answer["Location"] == url("cutting_plan", part.plan_id)
    assert shop.sizes()["blank", BLANK.length, BLANK.width] == 14
    page = text(at_desk.get(answer["Location"]))
    assert "Cut and booked" in page


def test_a_remnant_that_was_kept_besides_goes_to_the_shelf_with_its_mark(at_desk, shop):
    part = shop.plan((BLANK, 14)).parts.get()
    path = url("cutting_done", part.pk)
    data = form_of(at_desk, path)
    place = max(int(name.split("-")[1]) for name in data if name.startswith("rest-"))
    pk = part.pieces.get().pk
    data |= {f"blank-{pk}": ["10"], f"rest-{place}-size": ["3 × 6 in"]}
    data |= {f"rest-{place}-count": ["2"], f"rest-{place}-label": ["R 7"]}
    assert at_desk.post(path, data).status_code == 302
    row = shop.item.sizes.get(label="R 7")
    assert (row.form, row.length_um, row.width_um, row.count) == (
        "remnant", BLANK.length, BLANK.width, 2,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"used-0": "0"}, "Nothing was cut up"),
        ({"blank": "500"}, "more than was cut up"),
        ({"on": "2099-01-01"}, "still to come"),
        ({"rest": "60 × 120 in"}, "fits into nothing that was cut up"),
        ({"rest": "big"}, "is no size"),
        ({"rest": "", "rest-1-label": "by the door"}, "Write its size"),
    ],
)
def test_what_cannot_have_come_off_is_refused_with_a_sentence(at_desk, shop, changed, says):
    part = shop.plan((BLANK, 16)).parts.get()
    path, lines = url("cutting_done", part.pk), Movement.objects.count()
    data = form_of(at_desk, path)
    places = {"blank": f"blank-{part.pieces.get().pk}", "rest": "rest-1-size"}
    data |= {places.get(name, name): [value] for name, value in changed.items()}
    if "rest" in changed:
        data["rest-1-count"] = ["1"]
    answer = at_desk.post(path, data)
    assert answer.status_code == 422
    assert says in text(answer)
    assert Movement.objects.count() == lines


def test_what_is_booked_already_leads_back_to_the_plan(at_desk, shop):
    part = shop.plan((BLANK, 16)).parts.get()
    path = url("cutting_done", part.pk)
    data = form_of(at_desk, path)
    at_desk.post(path, data)
    lines = Movement.objects.count()
    other_tab = data | {"submission_key": [str(uuid4())]}
    assert at_desk.post(path, other_tab).status_code == 302
    assert Movement.objects.count() == lines


# What if, and who may


def test_changes_stand_side_by_side(at_desk, shop):
    part = shop.plan((BLANK, 300)).parts.get()
    asked = {"sheet": "60 x 120 in", "sheet_price": "70", "blank": "1", "blank_price": "0.30",
             "kerf": "1/8 in", "machine": ""}  # fmt: skip
    page = at_desk.get(url("cutting_what_if", part.pk), asked)
    assert "128.00 70.00" in text(page)
    assert "the fewest found to save stock" in text(page)
    part.refresh_from_db()
    assert part.answer["cost"] == "128.00" or float(part.answer["cost"]) == 128


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"sheet": "60 x 120 in"}, "Write what one costs"),
        ({"sheet_price": "70"}, "Say what it is the price of"),
        ({"kerf": "wide"}, "wide"),
        ({"sheet": "60 x 120 in", "sheet_price": "-4"}, "amount from 0"),
    ],
)
def test_half_a_change_is_refused_at_its_place(at_desk, shop, asked, says):
    part = shop.plan((BLANK, 16)).parts.get()
    page = at_desk.get(url("cutting_what_if", part.pk), {"sheet": ""} | asked)
    assert page.status_code == 422
    assert says in text(page)


def test_a_plan_of_another_campus_is_not_found(shop, signed_in):
    part = shop.plan((BLANK, 16)).parts.get()
    elsewhere = UserFactory(name="Fay Lorn", username="fay", roles=[Role.CLERK],
                            home_campus__name="South")  # fmt: skip
    client = signed_in(elsewhere)
    assert client.get(url("cutting_plan", part.plan_id)).status_code == 404
    assert client.get(url("cutting_what_if", part.pk)).status_code == 404


def test_the_state_of_a_search_is_asked_for_while_it_lasts(at_desk, shop):
    part = shop.plan((BLANK, 16), (LARGE, 1)).parts.get()
    page = at_desk.get(url("cutting_state", part.pk)).content.decode()
    assert "hx-trigger" not in page
    now = timezone.now()
    CutPart.objects.update(search=uuid4(), search_beat=now, search_ends=now)
    assert "every 2s" in at_desk.get(url("cutting_state", part.pk)).content.decode()
