"""The clerk's day in a real Chromium: what to order, the requisition, what has come."""

import pytest
from django.urls import reverse

from inventory.models import Requisition, StockItem
from tests.browser.conftest import DESKTOP, PHONE, TABLET, faults_at_every_width
from tests.inventory.buying import CAN, buying

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def url(name, *args):
    return reverse(f"inventory:{name}", args=args)


@pytest.fixture
def made():
    return buying()


def test_from_the_forecast_to_the_shelf(open_as, made):
    page = open_as(made.clerk, DESKTOP)
    page.goto(url("to_order"))
    page.get_by_role("heading", name="To order: 2 items are late").wait_for()
    button = page.get_by_role("button", name="Make requisition")
    assert "2 picked" in " ".join(button.inner_text().split())
    page.get_by_role("checkbox", name="Plate 3/8 in").uncheck()
    assert "1 picked" in " ".join(button.inner_text().split())
    page.get_by_role("link", name="E7018 1/8 in").first.click()
    page.get_by_role("heading", name="E7018 1/8 in: ample demand passes the shelf").wait_for()
    assert page.url.endswith(url("to_order"))  # only the outlook was fetched
    button.click()
    page.get_by_role("heading", name="R1").wait_for()
    page.get_by_label("Packs: E7018 1/8 in").fill("3")
    page.get_by_label("Account or grant").fill("Grant 12")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved.").wait_for()

    boss = open_as(made.manager, TABLET)
    boss.goto(Requisition.objects.get().get_absolute_url())
    boss.get_by_role("button", name="Approve and order").click()
    boss.get_by_role("heading", name="R1: one line is still to come").wait_for()

    page.goto(Requisition.objects.get().get_absolute_url())
    page.get_by_label("Came now, kept: E7018 1/8 in").fill("3")
    page.get_by_role("button", name="Put on the shelf").click()
    page.get_by_role("heading", name="R1: all received").wait_for()
    assert StockItem.objects.get(name="E7018 1/8 in").on_hand == 3 * CAN
    page.goto(url("to_order"))
    row = page.get_by_role("row", name="E7018 1/8 in")
    assert "enough" in row.inner_text()


def test_what_if_answers_without_a_script_too(open_as, made):
    page = open_as(made.clerk, DESKTOP, java_script_enabled=False)
    page.goto(url("to_order"))
    page.get_by_label("filler dearer by").fill("10")
    page.get_by_role("button", name="Show the difference").click()
    page.get_by_role("heading", name="It changes the order of one item").wait_for()
    assert not Requisition.objects.exists()


def test_nothing_is_serious_and_no_page_scrolls_sideways(open_as, made):
    """The question what if, and an order approved; the rest is `test_every_page`'s."""
    page = open_as(made.clerk, PHONE)
    page.goto(url("to_order"))
    page.get_by_role("button", name="Make requisition").click()
    page.get_by_role("heading", name="R1").wait_for()
    draft = page.url
    page.goto(url("to_order") + "?students=3")
    assert faults_at_every_width(page) == []
    Requisition.objects.update(state="approved")
    page.goto(draft)
    assert faults_at_every_width(page) == []
