"""From the need of a class to blanks on the shelf, in a real Chromium."""

import pytest
from django.urls import reverse

from inventory.models import CutPlan, StockItem
from inventory.services.pieces import receive_pieces
from tests.browser.conftest import DESKTOP, PHONE, TABLET, faults_at_every_width
from tests.inventory.cutting_shop import BLANK, SHEET
from tests.world import build

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def url(name, *args):
    return reverse(f"inventory:{name}", args=args)


@pytest.fixture
def world(transactional_db):
    return build()


def test_the_clerk_plans_prints_and_books_the_blanks_of_a_class(open_as, world):
    sheet = world.items["sheet"]
    page = open_as(world.clerk, DESKTOP)
    page.goto(url("cutting_new"))
    row = page.locator(".cut-lines tbody tr").nth(-1)
    row.get_by_role("combobox").select_option(label=sheet.name)
    row.locator("input[name$=size]").fill("3 by 6")
    row.locator("input[name$=count]").fill("40")
    page.get_by_role("button", name="Plan the cuts").click()
    page.get_by_text("is no size").wait_for()
    assert row.locator("input[name$=count]").input_value() == "40"
    assert faults_at_every_width(page) == []
    row.locator("input[name$=size]").fill("3 × 6 in")
    page.get_by_role("button", name="Plan the cuts").click()
    page.get_by_text("no plan is cheaper (proven)").first.wait_for()
    plan = CutPlan.objects.first()
    assert page.locator(".cut-sheet svg").count() >= 1
    link = page.get_by_role("link", name="Print for the machine (PDF)")
    assert page.request.get(link.get_attribute("href") or "").body().startswith(b"%PDF")
    part = plan.parts.get(item=sheet)
    page.locator(f"#part-{part.pk}").get_by_role("link", name="It is cut").click()
    page.get_by_role("heading", name="what came off").wait_for()
    page.get_by_role("button", name="Book it").click()
    page.get_by_text("blanks and remnants on the shelf").wait_for()
    blank = StockItem.objects.get(pk=sheet.pk).sizes.get(
        form="blank", length_um=BLANK.length, width_um=BLANK.width
    )
    assert blank.count == 40


def test_the_instructor_searches_longer_and_ends_it_again(open_as, world):
    page = open_as(world.instructor, TABLET)
    page.goto(world.cut_plan.get_absolute_url())
    page.get_by_role("button", name="Search longer").click()
    page.get_by_text("The search is over").or_(
        page.get_by_text("no plan is cheaper (proven)")
    ).first.wait_for()
    assert world.cut_plan.parts.get().answer["proven"]


def test_nothing_is_serious_and_no_page_scrolls_sideways(open_as, world):
    """Booking with sheets on the shelf, and another sheet asked about; see `test_every_page`."""
    receive_pieces(
        item=world.items["sheet"], form="full", size=SHEET, pieces=1, key="one", by=world.clerk
    )
    part = world.cut_plan.parts.get()
    page = open_as(world.clerk, PHONE)
    for path in (
        url("cutting_done", part.pk),
        f"{url('cutting_what_if', part.pk)}?sheet=60+x+120+in&sheet_price=70",
    ):
        page.goto(path)
        assert faults_at_every_width(page) == [], path
