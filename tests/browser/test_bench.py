"""The instructor's bench in Chromium: steps of the gauge, the verdict forming, the next coupon."""

import re

import pytest
from playwright.sync_api import expect

from grading.models import Reading, Verdict
from tests.browser.conftest import PHONE, TABLET, faults_at_every_width
from tests.grading.scene import shop

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def stepper(page, name):
    """Return the figure and the two buttons of a criterion."""
    group = page.get_by_role("group", name=name, exact=True)
    less = group.get_by_role("button", name=f"{name}: one step less")
    more = group.get_by_role("button", name=f"{name}: one step more")
    return group.get_by_role("textbox"), less, more


def test_one_thumb_measures_a_coupon_and_goes_on_to_the_next(open_as):
    made = shop(2)
    first, second = (made.coupon(one, "logged") for one in made.given)
    page = open_as(made.instructor, TABLET)
    page.goto(f"/attempts/{first.pk}/grade/")
    forming = page.locator("#forming")
    expect(forming).to_contain_text("Nothing is read yet")

    figure, less, more = stepper(page, "leg")
    more.click()
    expect(figure).to_have_value("5/16")  # an empty field begins at its limit
    less.click()
    expect(figure).to_have_value("9/32")
    expect(page.locator("#forming")).to_contain_text("Redo, so far")
    more.click()
    more.click()
    expect(figure).to_have_value("11/32")
    expect(page.locator("#forming")).to_contain_text("No verdict yet")
    assert not Reading.objects.filter(own=False).exists()

    page.get_by_text("Goes", exact=True).click()
    stepper(page, "fused")[2].click()
    expect(stepper(page, "fused")[0]).to_have_value("95")
    page.locator("label", has_text="3").first.click()
    stepper(page, "pores")[2].click()
    stepper(page, "pores")[1].click()
    expect(stepper(page, "pores")[0]).to_have_value("1")
    page.get_by_label("Openings").fill("1/16, 1/32")
    expect(page.locator("#forming")).to_contain_text("6 of 6 read")
    assert faults_at_every_width(page) == []

    page.get_by_role("button", name="Confirm pass, next coupon").click()
    expect(page).to_have_url(re.compile(f"/attempts/{second.pk}/grade/"))
    expect(page.get_by_label("Judged just now")).to_contain_text(first.mark)
    assert Verdict.objects.get().kind == "pass"


def test_a_step_past_whole_inches_is_written_as_the_trade_does(open_as):
    made = shop(1)
    coupon = made.coupon(made.given[0], "logged")
    page = open_as(made.instructor, PHONE)
    page.goto(f"/attempts/{coupon.pk}/grade/")
    figure, less, more = stepper(page, "leg")
    for typed, steps, shown in (
        ("31/32", 1, "1"),
        ("1", 1, "1-1/32"),
        ("1-1/32", -1, "1"),
        ("0.33", 1, "11/32"),
        ("0.33", -1, "5/16"),
        ("0", -1, "0"),
        ("9 mm", 1, "9 mm"),  # in another unit: left as it is
    ):
        figure.fill(typed)
        (more if steps > 0 else less).click()
        expect(figure).to_have_value(shown)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_without_a_script_the_fields_and_buttons_do_the_same(open_as):
    made = shop(1)
    coupon = made.coupon(made.given[0], "logged")
    page = open_as(made.instructor, TABLET, java_script_enabled=False)
    page.goto(f"/attempts/{coupon.pk}/grade/")
    leg = coupon.setup.version.criteria.get(name="leg").pk
    page.locator(f"input[name=c{leg}]").fill("9/32")
    page.get_by_text("Overrule or void, with a reason").click()
    page.get_by_role("button", name="Redo", exact=True).click()
    assert Verdict.objects.get().kind == "redo"
