"""A line that is lost while something is booked at the shelf, in a real Chromium."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.conftest import TABLET
from tests.world import build

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def world(transactional_db):
    return build()


def url(name, *args):
    return reverse(f"inventory:{name}", args=args)


def test_a_cut_booked_off_line_goes_to_the_shelf_once_when_the_line_is_back(open_as, world):
    part = world.cut_plan.parts.get()
    page = open_as(world.clerk, TABLET)
    page.goto(url("cutting_done", part.pk))
    for name, typed in (("size", "6 × 6 in"), ("count", "1"), ("label", "by the east door")):
        page.locator(f"input[name^=rest][name$={name}]").last.fill(typed)
    page.context.set_offline(True)
    page.get_by_role("button", name="Book it").dblclick()
    expect(page.locator("#unsent")).to_be_visible()
    page.context.set_offline(False)
    page.wait_for_url(f"**{world.cut_plan.get_absolute_url()}")
    page.get_by_text("blanks and remnants on the shelf").wait_for()
    assert part.item.sizes.get(label="by the east door").count == 1


def test_a_plain_form_is_not_sent_into_a_lost_line(open_as, world):
    page = open_as(world.clerk, TABLET)
    page.goto(url("pieces_receive", world.items["sheet"].pk))
    page.locator("input[name=size]").fill("10 × 12 in")
    page.context.set_offline(True)
    page.get_by_role("button", name="Receive").click()
    page.get_by_text("No connection. Nothing you typed is lost.").wait_for()
    assert page.locator("input[name=size]").input_value() == "10 × 12 in"
    page.context.set_offline(False)
    expect(page.locator("#trouble")).to_be_hidden()
