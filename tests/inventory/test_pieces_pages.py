"""Pieces by size from their pages: received, handed out, thrown away, graded, counted."""

import pytest

from inventory.models import Movement, SizedStock
from inventory.services import receive_packs
from inventory.services.pieces import receive_pieces
from inventory.services.sized import Made, book_cut
from shared.people.models import Role
from tests.factories import CampusFactory, UserFactory
from tests.inventory.pages import page, post, text
from tests.inventory.sheets import INCH, SHEET, bar_item, inches, sheet_item, sheet_pack


@pytest.fixture
def sheet(campus):
    return sheet_item(campus)


@pytest.fixture
def at_bench(campus, signed_in):
    return signed_in(UserFactory(name="Ines Vale", roles=[Role.INSTRUCTOR]))


def put(item, by, form="blank", size=None, pieces=10, key="put"):
    """Put pieces on the shelf and return their row."""
    size = size or inches(6, 2)
    line = receive_pieces(item=item, form=form, size=size, pieces=pieces, key=key, by=by)
    return SizedStock.objects.get(pk=line.sized_id)


def day(item):
    return str(item.campus.today())


def test_offcuts_are_received_as_they_are_measured(at_desk, sheet):
    fields = {"form": "remnant", "size": "10 x 20-1/2 in", "pieces": "2", "label": "R7"}
    answer = post(at_desk, "pieces_receive", sheet.pk, on=day(sheet), **fields)
    assert answer["Location"] == sheet.get_absolute_url()
    row = sheet.sizes.get()
    assert (row.form, row.label, row.count) == ("remnant", "R7", 2)
    assert (row.length_um, row.width_um) == (20.5 * INCH, 10 * INCH)
    shown = text(page(at_desk, "item", sheet.pk))
    assert "10 × 20-1/2 in" in shown
    assert "not told apart" not in shown


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"size": "20 in"}, "“20 in” is no size; write both sides"),
        ({"size": ""}, "required"),
        ({"pieces": "0"}, "greater than or equal to 1"),
        ({"pieces": "10001"}, "less than or equal to 10000"),
        ({"on": "2999-01-01"}, "That day is still to come"),
    ],
)
def test_what_cannot_be_read_is_said_at_its_place_and_loses_nothing(at_desk, sheet, wrong, said):
    fields = {"form": "blank", "size": "2 × 6 in", "pieces": "5", "label": "kept", "on": day(sheet)}
    answer = post(at_desk, "pieces_receive", sheet.pk, **(fields | wrong))
    assert answer.status_code == 422
    assert said in text(answer)
    assert 'value="kept"' in answer.content.decode()
    assert not Movement.objects.exists()


def test_blanks_are_handed_out_at_the_bench_also_when_the_book_is_short(at_bench, sheet, clerk):
    row = put(sheet, clerk, pieces=4)
    for pieces in ("3", "2"):
        post(at_bench, "pieces_move", row.pk, act="hand out", pieces=pieces, on=day(sheet))
    row.refresh_from_db()
    sheet.refresh_from_db()
    assert row.count == -1
    assert sheet.on_hand == -row.each
    assert sheet.count_due
    assert "book short" in text(page(at_bench, "item", sheet.pk))


def test_what_is_thrown_away_has_its_reason(at_desk, sheet, clerk):
    row = put(sheet, clerk)
    sent = {"act": "throw away", "pieces": "2", "on": day(sheet)}
    answer = post(at_desk, "pieces_move", row.pk, **sent)
    assert answer.status_code == 422
    assert "Write why it is thrown away" in text(answer)
    post(at_desk, "pieces_move", row.pk, reason="rusted", **sent)
    line = Movement.objects.first()
    assert (line.kind, line.pieces, line.reason) == ("scrap", -2, "rusted")


def test_what_is_in_quarantine_is_graded_or_thrown_away_alone(at_bench, campus, clerk):
    unknown = bar_item(campus, spec_key="bar:unknown:6400:101600", quarantined=True)
    row = put(unknown, clerk, "remnant", inches(30), 2)
    shown = text(page(at_bench, "pieces_move", row.pk))
    assert "nothing of it is used before its grade is checked" in shown
    assert "No graded item of this thickness" in shown
    sent = {"pieces": "2", "on": day(unknown)}
    assert post(at_bench, "pieces_move", row.pk, act="hand out", **sent).status_code == 422
    steel = bar_item(campus)
    sent |= {"act": "regrade", "into": str(steel.pk)}
    answer = post(at_bench, "pieces_move", row.pk, **sent)
    assert "Write who checked the grade, and how" in text(answer)
    post(at_bench, "pieces_move", row.pk, reason="W. Example, spark test", **sent)
    assert steel.sizes.get().count == 2
    row.refresh_from_db()
    assert row.count == 0


def test_a_count_by_size_tells_a_shelf_apart(at_desk, sheet, clerk):
    receive_packs(pack=sheet_pack(sheet), packs=2, key="a", by=clerk)
    row = sheet.sizes.get()
    fields = {
        f"found-{row.pk}": "1",
        "form-0": "remnant",
        "size-0": "48 × 30 in",
        "label-0": "R1",
        "pieces-0": "1",
        "all_told": "on",
        "reason": "one was cut up",
    }
    post(at_desk, "pieces_count", sheet.pk, **fields)
    sheet.refresh_from_db()
    counts = dict(sheet.sizes.values_list("form", "count"))
    assert counts == {"full": 1, "remnant": 1}
    assert sheet.on_hand == SHEET + 929_030  # 30/96 of a sheet: 929 030.4 mm²


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, "Nothing is written"),
        ({"size-1": "6 × 6 in"}, "Write how many of that size lie there"),
        ({"pieces-2": "4"}, "Write the size of one"),
        ({"size-0": "6", "pieces-0": "1"}, "is no size"),
    ],
)
def test_a_count_says_what_it_lacks_and_changes_nothing(at_desk, sheet, fields, said):
    answer = post(at_desk, "pieces_count", sheet.pk, **fields)
    assert answer.status_code == 422
    assert said in text(answer)
    assert not SizedStock.objects.exists()


def test_the_weekly_count_leads_to_the_sizes_of_which_the_book_is_short(at_desk, sheet, clerk):
    put(sheet, clerk, "full", inches(96, 48), 1, key="full")
    row, url = put(sheet, clerk, pieces=4), f'href="/stock/{sheet.pk}/sizes/count/"'
    assert url not in page(at_desk, "shelf_count").content.decode()
    post(at_desk, "pieces_move", row.pk, act="hand out", pieces="5", on=day(sheet))
    sheet.refresh_from_db()
    assert sheet.on_hand > 0
    assert url in page(at_desk, "shelf_count").content.decode()


def test_reversing_a_line_of_a_cut_says_that_the_cut_goes_with_it(at_desk, sheet, clerk):
    full = put(sheet, clerk, "full", inches(96, 48), 1)
    lines = book_cut(
        item=sheet,
        used=[(full, 1)],
        blanks=[Made(6 * INCH, 2 * INCH, "", 9)],
        key="cut",
        by=clerk,
    )
    assert "are reversed with it" in text(page(at_desk, "movement_reverse", lines[0].pk))
    post(at_desk, "movement_reverse", lines[0].pk, reason="wrong sheet")
    sheet.refresh_from_db()
    assert sheet.on_hand == SHEET


def test_the_page_of_an_item_costs_no_more_with_more_sizes(
    at_desk, sheet, clerk, django_assert_max_num_queries, django_assert_num_queries
):
    put(sheet, clerk)
    page(at_desk, "item", sheet.pk)
    with django_assert_max_num_queries(60) as few:
        page(at_desk, "item", sheet.pk)
    for n in range(20):
        put(sheet, clerk, "remnant", inches(20 + n, 10), 1, f"more {n}")
    with django_assert_num_queries(len(few)):
        page(at_desk, "item", sheet.pk)


def test_sizes_of_another_campus_and_of_what_is_not_cut_are_not_found(at_desk, can, clerk):
    far = put(sheet_item(CampusFactory(name="Far Campus")), clerk)
    assert page(at_desk, "pieces_move", far.pk).status_code == 404
    for name in ("pieces_receive", "pieces_count"):
        assert page(at_desk, name, can.item.pk).status_code == 404
