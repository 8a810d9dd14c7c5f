"""Cutting plans as they are made, kept, booked, searched for longer and given up."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db.models import Sum
from django.utils import timezone

from inventory.core.cutting import check_plan, plan_of_json
from inventory.core.sizes import Size
from inventory.models import CutPart, CutPlan, Movement
from inventory.services import cut_search
from inventory.services.attempt_cost import last_cuts
from inventory.services.cut_booking import CameOff, book_part
from inventory.services.cut_pages import StockNames, answer_of, shown_parts
from inventory.services.cut_search import begin_search, end_search, search
from inventory.services.cut_what_if import variants
from inventory.services.cutplans import (
    NothingPlanned,
    NotOpen,
    Wanted,
    cancel_plan,
    draft_plans,
    plan_of,
    problem_of,
    stale_parts,
)
from inventory.services.ledger import reverse
from inventory.services.machines import Machines
from inventory.services.pieces import hand_out
from inventory.services.sized import FitsInNone, Made, MoreThanWentIn
from shared.units import parse_measure
from tests.factories import PackFactory
from tests.inventory.cutting_shop import BLANK, IN, LARGE, SHEET, cutting_shop, machine

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(campus, clerk):
    return cutting_shop(campus, clerk)


def as_planned(part, **more):
    """What came off exactly as planned."""
    plan = plan_of(part)
    used, made, kept = {}, {}, []
    pieces = list(part.pieces.all())
    for layout in plan.layouts:
        used[layout.stock] = used.get(layout.stock, 0) + layout.count
        for blank in layout.blanks:
            pk = pieces[int(blank.piece) - 1].pk
            made[pk] = made.get(pk, 0) + layout.count
        for rest in layout.remnants:
            size = (round(rest.length * 1e6), round(rest.width * 1e6))
            kept.append(Made(*size, "", layout.count))
    return CameOff(**({"used": used, "blanks": made, "remnants": kept} | more))


def test_remnants_are_cut_before_a_sheet_is(shop):
    # by hand: a remnant of 12 x 24 in holds 16 blanks of 3 x 6 in (288 / 18 in2), without kerf
    part = shop.plan((BLANK, 32)).parts.get()
    plan = plan_of(part)
    assert [(one.stock, one.count) for one in plan.layouts] == [(f"row:{shop.remnant.pk}", 2)]
    assert plan.cost == 0
    assert plan.proven
    assert "2 remnants" in answer_of(plan, StockNames([part], "us").tally(part, plan))


def test_a_sheet_of_the_shelf_and_then_of_the_offer_is_taken_at_its_price(shop):
    # by hand: 2 remnants hold 32 and a sheet of 48 x 96 in 256; 300 need two sheets, 128.00
    part = shop.plan((BLANK, 300)).parts.get()
    plan = plan_of(part)
    assert plan.cost == Decimal(128)
    tally = StockNames([part], "us").tally(part, plan)
    assert (tally.full, tally.bought) == (1, 1)


@pytest.mark.parametrize(("price_e4", "cost"), [(640_000, 64), (600_000, 60), (700_000, 64)])
def test_a_sheet_on_the_shelf_is_used_before_one_of_its_size_is_bought(shop, price_e4, cost):
    # by hand: 2 remnants hold 32 and one sheet 256, so 200 need one sheet; it costs what the
    # cheapest pack of its size does, the usual one or another at `price_e4`
    PackFactory(item=shop.item, name="another", size=2_972_897, price_e4=price_e4,
                length_um=SHEET.length, width_um=SHEET.width, preferred=False)  # fmt: skip
    part = shop.plan((BLANK, 200)).parts.get()
    plan = plan_of(part)
    tally = StockNames([part], "us").tally(part, plan)
    assert (tally.full, tally.bought, plan.cost) == (1, 0, Decimal(cost))
    assert plan.proven


def test_a_stored_plan_passes_the_check_and_reads_back(shop):
    part = shop.plan((BLANK, 40), (Size(8 * IN, 6 * IN), 7)).parts.get()
    check_plan(problem_of(part), plan_of_json(part.answer))
    assert [row.count for row in part.pieces.all()] == [40, 7]


def test_numbers_go_on_by_campus(shop):
    assert [shop.plan((BLANK, 1)).number for _ in range(3)] == [1, 2, 3]


def test_a_piece_larger_than_every_sheet_is_named_and_the_rest_is_planned(shop):
    plan = shop.plan((BLANK, 4), (LARGE, 2))
    shown = shown_parts(CutPlan.objects.with_parts().get(pk=plan.pk), units="us")[0]
    assert [(one.count, one.reason) for one in shown.plan.unplaceable] == [(2, "size")]
    assert len(shown.plan.layouts) == 1
    assert any("60 × 120 in" in text for text in shown.sheets.impossible)


def test_nothing_wanted_is_no_plan(shop):
    with pytest.raises(NothingPlanned):
        draft_plans([Wanted(item=shop.item, size=BLANK, count=0)], campus=shop.campus)


@pytest.mark.parametrize(
    ("change", "lack"),
    [
        (lambda shop: type(shop.shear).objects.update(is_down=True), "machine"),
        (lambda shop: shop.shear.delete(), "machine"),
        (lambda shop: type(shop.shear).objects.update(steel_m=0.001), "machine"),
        (lambda shop: type(shop.item).objects.update(quarantined=True), "quarantine"),
    ],
)
def test_without_a_machine_or_a_grade_the_blanks_are_named_and_nothing_is_planned(
    shop, change, lack
):
    change(shop)
    shop.item.refresh_from_db()
    part = shop.plan((BLANK, 5)).parts.get()
    assert (part.lack, part.answer) == (lack, None)
    shown = shown_parts(CutPlan.objects.with_parts().get(pk=part.plan_id), units="us")[0]
    assert shown.not_planned == ("5 of 3 × 6 in",)


def test_a_machine_that_is_picked_is_used_even_where_another_is_usual(shop):
    saw = machine(shop.campus, "Saw", "bandsaw", kerf="1/8 in", steel="4 in")
    drafts = draft_plans(
        [Wanted(item=shop.item, size=BLANK, count=16)], campus=shop.campus, picked=Machines(saw)
    )
    assert drafts[0].machine == saw
    # by hand: with 1/8 in a cut, 24 in hold 3 of 6 in and 12 in hold 3 of 3 in (or 1 and 7)
    assert sum(one.count for one in drafts[0].plan.layouts) == 2


def test_a_gauge_thickness_at_the_limit_is_cut(shop):
    # 1/8 in is 3.175 mm, kept as 3.2 mm in an item's key: the same plate
    type(shop.item).objects.update(spec_key="sheet:steel:3200")
    shop.item.refresh_from_db()
    assert shop.plan((BLANK, 5)).parts.get().lack == ""


def test_booking_takes_the_stock_and_puts_blanks_and_remnants_on_the_shelf(shop):
    before = shop.item.on_hand
    part = shop.plan((BLANK, 40)).parts.get()
    plan = plan_of(part)
    book_part(part=part, came=as_planned(part), by=shop.by)
    shop.item.refresh_from_db()
    found = shop.sizes()
    assert found["blank", BLANK.length, BLANK.width] == 40
    kept = sum(one.count * len(one.remnants) for one in plan.layouts)
    left = 2 - sum(one.count for one in plan.layouts if one.stock == f"row:{shop.remnant.pk}")
    assert sum(n for (form, *_), n in found.items() if form == "remnant") == kept + left
    # a shear takes nothing away: what is missing is scrap; areas are rounded to the mm2
    scrap = sum(one.count * part.length * part.width for one in plan.layouts for part in one.scrap)
    assert before - shop.item.on_hand == pytest.approx(scrap * 1e6, abs=25)
    assert shop.item.on_hand == shop.item.movements.aggregate(n=Sum("quantity"))["n"]
    part.refresh_from_db()
    assert part.plan.state == CutPlan.State.DONE
    assert part.spent == plan.cost


def test_booking_twice_counts_once(shop):
    part = shop.plan((BLANK, 40)).parts.get()
    came = as_planned(part)
    book_part(part=part, came=came, by=shop.by)
    lines = Movement.objects.count()
    book_part(part=part, came=came, by=shop.by)
    assert Movement.objects.count() == lines


def test_more_than_went_in_is_refused_and_nothing_moves(shop):
    part = shop.plan((BLANK, 16)).parts.get()
    lines, piece = Movement.objects.count(), part.pieces.get()
    with pytest.raises(MoreThanWentIn):
        book_part(part=part, came=as_planned(part, blanks={piece.pk: 17}), by=shop.by)
    too_long = as_planned(part, blanks={}, remnants=[Made(25 * IN, IN, "", 1)])
    with pytest.raises(FitsInNone):
        book_part(part=part, came=too_long, by=shop.by)
    with pytest.raises(ValueError, match="no such stock"):
        book_part(part=part, came=as_planned(part, used={"row:0": 1}), by=shop.by)
    part.refresh_from_db()
    assert part.done_at is None
    assert Movement.objects.count() == lines


def test_what_really_came_off_is_booked_and_kept_beside_the_plan(shop):
    part = shop.plan((BLANK, 16)).parts.get()
    piece = part.pieces.get()
    book_part(part=part, came=as_planned(part, blanks={piece.pk: 14}), by=shop.by)
    piece.refresh_from_db()
    assert (piece.count, piece.made) == (16, 14)
    assert shop.sizes()["blank", BLANK.length, BLANK.width] == 14


def test_a_plan_knows_that_its_stock_has_changed_since(shop):
    part = shop.plan((BLANK, 16)).parts.get()
    assert stale_parts([part]) == set()
    hand_out(sized=shop.remnant, pieces=1, key="test:out", by=shop.by)
    assert stale_parts([part]) == {part.pk}


def test_a_plan_given_up_is_not_booked(shop):
    plan = shop.plan((BLANK, 16))
    cancel_plan(plan=plan, by=shop.by)
    part = plan.parts.get()
    with pytest.raises(NotOpen):
        book_part(part=part, came=as_planned(part), by=shop.by)
    with pytest.raises(NotOpen):
        cancel_plan(plan=plan, by=shop.by)


def test_a_new_plan_gives_up_the_one_it_is_made_instead_of(shop):
    old = shop.plan((BLANK, 16))
    shop.plan((BLANK, 20), instead_of=old)
    old.refresh_from_db()
    assert old.state == CutPlan.State.CANCELLED


def take_back(shop, key="test:back"):
    """Reverse the newest cut by one of its lines."""
    line = Movement.objects.filter(kind=Movement.Kind.CUT).first()
    return reverse(movement=line, by=shop.by, reason="not cut yet", key=key)


def test_a_cut_that_is_reversed_is_to_be_cut_again_of_stock_that_has_moved(shop):
    part = shop.plan((BLANK, 16)).parts.get()
    before = shop.sizes()
    book_part(part=part, came=as_planned(part), by=shop.by)
    take_back(shop)
    assert shop.sizes() == before
    part.refresh_from_db()
    assert part.can_be_cut
    assert (part.spent_e4, part.done_by, part.pieces.get().made) == (None, None, None)
    assert part.plan.state == CutPlan.State.OPEN
    assert stale_parts([part]) == {part.pk}


def test_a_cut_that_was_reversed_is_booked_again_and_reversed_again(shop):
    part = shop.plan((BLANK, 16)).parts.get()
    piece, before = part.pieces.get(), shop.sizes()
    for cut in (16, 14):
        book_part(part=part, came=as_planned(part, blanks={piece.pk: cut}), by=shop.by)
        assert shop.sizes()["blank", BLANK.length, BLANK.width] == cut
        part = CutPart.objects.get(pk=part.pk)
        assert part.plan.state == CutPlan.State.DONE
        take_back(shop, f"test:back:{cut}")
        assert shop.sizes() == before
    shop.item.refresh_from_db()
    assert shop.item.on_hand == shop.item.movements.aggregate(n=Sum("quantity"))["n"]


def test_a_reversal_sent_again_leaves_what_was_booked_anew(shop):
    part = shop.plan((BLANK, 16)).parts.get()
    book_part(part=part, came=as_planned(part), by=shop.by)
    line = take_back(shop).reverses
    part = CutPart.objects.get(pk=part.pk)
    book_part(part=part, came=as_planned(part), by=shop.by)
    reverse(movement=line, by=shop.by, reason="not cut yet", key="test:back")
    part.refresh_from_db()
    assert part.done_at is not None
    assert shop.sizes()["blank", BLANK.length, BLANK.width] == 16


def test_a_plan_given_up_stays_that_when_its_cut_is_reversed(shop):
    plan = shop.plan((BLANK, 16))
    part = plan.parts.get()
    book_part(part=part, came=as_planned(part), by=shop.by)
    CutPlan.objects.update(state=CutPlan.State.CANCELLED)
    take_back(shop)
    plan.refresh_from_db()
    assert plan.state == CutPlan.State.CANCELLED


# A longer search


def worse(part):
    """Let the stored plan look as though nothing were proven of it."""
    part.answer |= {"bound": "0", "gap": 1.0, "proven": False}
    part.save()


def test_a_search_proves_the_plan_and_ends(shop, monkeypatch, django_capture_on_commit_callbacks):
    monkeypatch.setattr(cut_search, "launch", lambda work: work())
    part = shop.plan((BLANK, 300)).parts.get()
    worse(part)
    with django_capture_on_commit_callbacks(execute=True):
        begin_search(part=part, seconds=5)
    part.refresh_from_db()
    assert part.answer["proven"]
    assert part.search is None


def test_a_search_that_was_ended_writes_no_more(shop):
    part = shop.plan((BLANK, 300)).parts.get()
    worse(part)
    run = uuid4()
    CutPart.objects.filter(pk=part.pk).update(search=run, search_beat=timezone.now())
    end_search(part=part)
    search(part.pk, run, 1)
    part.refresh_from_db()
    assert not part.answer["proven"]


def test_a_search_goes_on_when_it_is_asked_for_again(
    shop, monkeypatch, django_capture_on_commit_callbacks
):
    begun = []
    monkeypatch.setattr(cut_search, "launch", begun.append)
    part = shop.plan((BLANK, 300)).parts.get()
    with django_capture_on_commit_callbacks(execute=True):
        begin_search(part=part)
        begin_search(part=part)
    assert len(begun) == 1
    part.refresh_from_db()
    assert part.searching(timezone.now())
    assert not part.searching(timezone.now() + timedelta(minutes=2))


def test_nothing_is_searched_for_in_a_plan_that_is_over(shop):
    plan = shop.plan((BLANK, 16))
    cancel_plan(plan=plan, by=shop.by)
    with pytest.raises(NotOpen):
        begin_search(part=plan.parts.get())


# What if


def asked(**more):
    return {"sheet": None, "blank": "", "kerf": None, "machine": None} | more


def compared(shop, count=300, **more):
    part = shop.plan((BLANK, count)).parts.get()
    problem, plan = problem_of(part), plan_of(part)
    return variants(part, problem, plan, asked(**more), units="us", seconds=20)


def test_a_larger_sheet_on_offer_is_compared(shop):
    # by hand: 300 - 32 of the remnants; one sheet of 60 x 120 in holds 400, for 70.00
    found = compared(shop, sheet=Size(120 * IN, 60 * IN), sheet_price=Decimal(70))
    assert [one.cost for one in found] == [128, 70]
    assert found[1].of_new == 1


def test_blanks_bought_cut_cost_their_price_and_leave_nothing_to_cut(shop):
    # by hand: 300 x 0.30 = 90.00
    found = compared(shop, blank="1", blank_price=Decimal("0.30"))
    assert (found[-1].cost, found[-1].bought_cut, found[-1].stock) == (Decimal(90), 300, 0)


def test_the_fewest_blanks_bought_cut_that_save_a_sheet_are_found(shop):
    # by hand: one sheet and the remnants hold 256 + 32, so 12 of 300 bought save the other sheet
    planned, fewest, every = compared(shop, blank="1", blank_price=Decimal("0.30"))
    assert [one.bought_cut for one in (planned, fewest, every)] == [0, 12, 300]
    assert fewest.cost == 128 - 64 + Decimal("3.60")
    assert "12 of 3 × 6 in" in fewest.words


def test_a_kerf_of_ten_inches_gets_an_answer(shop):
    found = compared(shop, count=20, kerf=parse_measure("10 in", "length"))
    assert found[1].plan is not None


def test_a_machine_that_does_not_cut_it_says_so(shop):
    thin = machine(shop.campus, "Notcher", "bandsaw", steel="1 mm")
    found = compared(shop, machine=thin)
    assert found[1].plan is None
    assert "does not cut" in found[1].why_not


# What a blank cost


def test_the_last_cut_of_a_size_tells_its_cost(shop):
    part = shop.plan((BLANK, 256)).parts.get()
    sheet = next(row["id"] for row in part.problem["stock"] if row["price"] != "0")
    piece = part.pieces.get()
    came = CameOff(used={sheet: 1}, blanks={piece.pk: 256})
    book_part(part=part, came=came, by=shop.by)
    found = last_cuts([shop.item])
    assert found[shop.item.pk, BLANK].spent == 64
    assert SHEET.length * SHEET.width == 256 * BLANK.length * BLANK.width
