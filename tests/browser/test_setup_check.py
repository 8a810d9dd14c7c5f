"""A too high current in a real Chromium: outside with its limit, then mended; heat input opens."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from curriculum.core.setup_check import check
from curriculum.services import copy_to_draft, to_spec
from shared.people.models import Role
from tests.browser.conftest import DESKTOP, PHONE, faults_at_every_width
from tests.curriculum.shelf import BEAD, TEE, stock
from tests.factories import CampusFactory, UserFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def teacher():
    return UserFactory(roles=[Role.INSTRUCTOR], home_campus=CampusFactory())


@pytest.fixture
def draft(teacher):
    return copy_to_draft(version=stock(teacher.home_campus, BEAD, TEE), by=teacher)


def test_a_too_high_current_is_outside_with_its_limit_until_it_is_mended(open_as, teacher, draft):
    page = open_as(teacher, DESKTOP)
    page.goto(reverse("curriculum:setup_edit", args=[draft.pk, "11ga"]))
    live = page.locator(".live")
    page.fill("#id_setup-current", "400 A")
    finding = live.locator(".findings li", has_text="400 A is more than a tungsten")
    # the tables' largest current of a 3/32 in tungsten on DCEN, which the check itself names
    expect(finding.get_by_text("outside")).to_be_visible()
    expect(finding).to_contain_text("at most")
    expect(finding.locator(".source")).not_to_be_empty()
    page.fill("#id_setup-current", "95 A, 85 to 105")
    expect(live.get_by_text("more than a tungsten")).to_have_count(0)
    page.get_by_role("button", name="Save the setup").last.click()
    page.get_by_text("Draft saved.").wait_for()
    draft.refresh_from_db()
    content = to_spec(type(draft).objects.with_content().get(pk=draft.pk))
    assert all(one.level != "outside" for one in check(content, content.setups[0]))


def test_the_heat_input_opens_into_its_steps(open_as, teacher, draft):
    page = open_as(teacher, PHONE)
    page.goto(reverse("curriculum:sheet", args=[draft.pk, "11ga"]))
    heat = page.locator(".heat li").first
    expect(heat.get_by_text("voltage × current / speed").first).to_be_hidden()
    heat.locator("summary").click()
    expect(heat.get_by_text("voltage × current / speed").first).to_be_visible()
    assert faults_at_every_width(page) == []
