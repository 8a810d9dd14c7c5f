"""What the setup check finds, as instructors read it: their units, and who accepted it."""

import pytest
from django.test import Client
from django.urls import reverse

from curriculum.services import copy_to_draft
from shared.people.models import Role
from tests.curriculum.shelf import BEAD, stock
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def bead():
    """A published exercise whose low-hydrogen electrode comes from nowhere in particular."""
    return stock(CampusFactory(), BEAD)


def page_of(version, role, **fields):
    person = UserFactory(roles=[role], home_campus=version.exercise.campus, **fields)
    client = Client()
    client.force_login(person, "shared.people.backends.PasswordBackend")
    page = client.get(reverse("curriculum:version", args=[version.pk])).content.decode()
    return page.replace("\u00a0", " ")


def test_a_look_again_of_a_published_version_names_who_accepted_it(bead):
    page = page_of(bead, Role.INSTRUCTOR)
    assert "takes up moisture" in page
    assert f"Accepted by {bead.reviewed_by}" in page


def test_nobody_has_accepted_what_a_draft_says(bead):
    draft = copy_to_draft(version=bead, by=UserFactory(home_campus=bead.exercise.campus))
    page = page_of(draft, Role.INSTRUCTOR)
    assert "takes up moisture" in page
    assert "Accepted by" not in page


def test_a_student_reads_no_findings(bead):
    page = page_of(bead, Role.STUDENT)
    assert bead.title in page
    assert "takes up moisture" not in page
    assert "Accepted by" not in page


def test_figures_of_findings_come_in_the_readers_units(bead):
    assert "an electrode E7018 of 1/8 in: 110" in page_of(bead, Role.INSTRUCTOR, units="us")
    assert "an electrode E7018 of 3.18 mm: 110" in page_of(bead, Role.INSTRUCTOR, units="metric")
