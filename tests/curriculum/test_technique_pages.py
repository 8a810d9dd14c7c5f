"""Sheets show how the tool is held, for the hand of whoever reads them."""

from __future__ import annotations

import io
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from shared.people.models import Role
from tests.curriculum.shelf import TEE, stock, text
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db

RIGHT, LEFT = "Right hand: from right to left.", "Left hand: from left to right."
HELD = 'work_angle = "45 deg"\ntravel_angle = "10-15 deg"\ntravel_direction = "push"\n'


@pytest.fixture
def campus():
    return CampusFactory()


@pytest.fixture
def tee(campus):
    """A pushed tee, published."""
    written = text(TEE).replace('prerequisites = ["11"]', "")
    nozzle = 'nozzle = "7/16 in"\n'
    assert nozzle in written
    return stock(campus, written.replace(nozzle, nozzle + HELD, 1))


@pytest.fixture
def as_student(campus):
    def sign_in(**fields):
        person = UserFactory(roles=[Role.STUDENT], home_campus=campus, **fields)
        client = Client()
        client.force_login(person, "shared.people.backends.PasswordBackend")
        client.person = person
        return client

    return sign_in


def sheet(version, name="sheet"):
    return reverse(f"curriculum:{name}", args=[version.pk, "11ga"])


def body(response):
    assert response.status_code == 200
    return response.content.decode()


def test_a_sheet_draws_both_views_and_says_them(as_student, tee):
    page = body(as_student().get(sheet(tee)))
    assert page.count('data-role="axis"') == 2
    for words in ("work angle 45° from the plate", "travel angle 10–15° from upright", RIGHT):
        # once for whoever sees the drawing, once as its name
        assert page.count(words) == 2
    assert LEFT not in page


def test_a_left_handed_student_reads_a_sheet_for_a_left_hand(as_student, tee):
    page = body(as_student(left_handed=True).get(sheet(tee)))
    assert LEFT in page
    assert RIGHT not in page


def test_a_student_says_which_hand_for_themselves_alone(as_student, tee):
    one, other = as_student(), as_student()
    answer = one.post(
        reverse("people:own_settings"),
        {"left_handed": "on", "pk": other.person.pk, "submission_key": str(uuid4())},
    )
    assert answer.status_code == 302
    one.person.refresh_from_db()
    other.person.refresh_from_db()
    assert one.person.left_handed
    assert not other.person.left_handed
    assert LEFT in body(one.get(sheet(tee)))
    assert RIGHT in body(other.get(sheet(tee)))


def test_nobody_chooses_a_hand_without_signing_in(client):
    answer = client.post(reverse("people:own_settings"), {"left_handed": "on"})
    assert answer.status_code == 302
    assert reverse("people:sign_in") in answer["Location"]


@pytest.mark.pdf
@pytest.mark.parametrize(
    ("asked", "said"), [("", RIGHT), ("?hand=right", RIGHT), ("?hand=left", LEFT)]
)
def test_paper_is_for_a_right_hand_unless_a_left_one_is_asked_for(as_student, tee, asked, said):
    from pypdf import PdfReader

    # whoever prints it: a left-handed reader may print for the whole class
    response = as_student(left_handed=True).get(sheet(tee, "sheet_pdf") + asked)
    pages = PdfReader(io.BytesIO(response.content)).pages
    assert len(pages) == 2
    assert said in " ".join(pages[1].extract_text().split())
