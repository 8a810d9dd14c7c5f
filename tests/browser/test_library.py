"""The library in a real Chromium: typing beside a living drawing, and nothing axe finds serious."""

import pytest
from django.urls import reverse

from curriculum.models import ExerciseVersion
from curriculum.services import copy_to_draft
from shared.people.models import Role
from tests.browser.conftest import DESKTOP, faults_at_every_width
from tests.curriculum.shelf import BEAD, TEE, stock
from tests.factories import CampusFactory, UserFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def url(name, *args):
    return reverse(f"curriculum:{name}", args=args)


@pytest.fixture
def teacher():
    return UserFactory(roles=[Role.INSTRUCTOR], home_campus=CampusFactory())


@pytest.fixture
def tee(teacher):
    return stock(teacher.home_campus, BEAD, TEE)


@pytest.fixture
def draft(teacher, tee):
    return copy_to_draft(version=tee, by=teacher)


def test_drawing_check_and_usage_follow_what_is_typed(open_as, teacher, draft):
    page = open_as(teacher, DESKTOP)
    page.goto(url("setup_edit", draft.pk, "11ga"))
    live = page.locator(".live")
    before = live.locator("[data-figure='usage.filler']").get_attribute("value")
    page.fill("#id_setup-joint-leg", "1/4 in")
    page.wait_for_function(
        "was => document.querySelector('.live [data-figure=\"usage.filler\"]')?.value !== was",
        arg=before,
    )
    page.fill("#id_setup-current", "300 A")
    live.get_by_text("outside").first.wait_for()
    page.fill("#id_setup-thickness", "14")
    live.get_by_text("Not yet drawn").wait_for()
    assert faults_at_every_width(page) == []
    page.fill("#id_setup-thickness", "11 ga")
    page.fill("#id_setup-current", "95 A")
    page.get_by_role("button", name="Save the setup").last.click()
    page.get_by_text("Draft saved.").wait_for()
    saved = ExerciseVersion.objects.get(state="draft").setups.get(key="11ga")
    assert saved.joint_leg.typed == "1/4 in"


def test_enter_in_a_field_saves_and_removes_no_row(open_as, teacher, draft):
    page = open_as(teacher, DESKTOP)
    page.goto(url("draft_edit", draft.pk))
    page.fill("#id_exercise-title", "Tee, by Enter")
    page.press("#id_exercise-title", "Enter")
    page.get_by_text("Draft saved.").wait_for()
    saved = ExerciseVersion.objects.get(state="draft")
    assert saved.title == "Tee, by Enter"
    assert saved.criteria.count() == 1
