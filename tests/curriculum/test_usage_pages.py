"""Where usage figures stand: each opens into its steps, for whoever may read the page."""

import json
import re

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from shared.people.models import Role
from tests.curriculum.shelf import BEAD, TEE, stock, text
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def campus():
    return CampusFactory()


@pytest.fixture
def tee(campus):
    return stock(campus, BEAD, TEE)


def page_for(campus, role, name, *args):
    client = Client()
    person = UserFactory(roles=[role], home_campus=campus)
    client.force_login(person, "shared.people.backends.PasswordBackend")
    return client.get(reverse(f"curriculum:{name}", args=args)).content.decode()


def opened(page):
    """Return (address, anchor) of each figure of usage that is a link."""
    return re.findall(r'<a href="([^"#]*)#([\w-]+)"><data data-figure="usage\.', page)


def unopened(page):
    """Return the figures of usage in the page's tables that are no link."""
    tables = "".join(re.findall(r"<table.*?</table>", page, re.DOTALL))
    return re.findall(r'(?<!">)<data data-figure="usage\.[^"]+"', tables)


def test_every_figure_of_the_usage_page_opens_into_its_steps(campus, tee):
    page = page_for(campus, Role.MANAGER, "usage", tee.pk, "11ga")
    assert len(opened(page)) >= 8
    assert not unopened(page)
    for _address, anchor in opened(page):
        section = re.search(rf'id="{anchor}">(.*?)</section>', page, re.DOTALL)
        assert section, anchor
        assert '<ol class="worked">' in section[1]


def test_figures_of_an_exercise_lead_staff_to_the_page_with_the_steps(campus, tee):
    page = page_for(campus, Role.INSTRUCTOR, "version", tee.pk)
    steps = page_for(campus, Role.INSTRUCTOR, "usage", tee.pk, "11ga")
    here = reverse("curriculum:usage", args=[tee.pk, "11ga"])
    anchors = {anchor for address, anchor in opened(page) if address == here}
    assert anchors
    assert not unopened(page)
    for anchor in anchors:
        assert f'id="{anchor}"' in steps


def test_a_student_opens_them_on_the_exercise_itself(campus, tee):
    page = page_for(campus, Role.STUDENT, "version", tee.pk)
    found = opened(page)
    assert found
    assert {address for address, _anchor in found} == {""}
    for _address, anchor in found:
        assert page.count(f'id="{anchor}"') == 1


@pytest.mark.parametrize(
    ("role", "seen"), [(Role.MANAGER, True), (Role.INSTRUCTOR, False), (Role.CLERK, False)]
)
def test_electric_energy_is_for_the_manager(campus, tee, role, seen):
    page = page_for(campus, role, "usage", tee.pk, "11ga")
    assert ('data-figure="usage.energy"' in page) is seen


def test_energy_of_the_page_is_that_of_the_command(campus, tee, capsys):
    page = page_for(campus, Role.MANAGER, "usage", tee.pk, "11ga")
    call_command("usage", "12/11ga", "--json")
    told = json.loads(capsys.readouterr().out)
    energy = next(one for one in told["supplies"] if one["kind"] == "energy")
    shown = re.search(r'data-figure="usage.energy" value="([^"]+)"', page)
    assert float(shown[1]) == energy["quantity"]["value"]


def test_a_pass_shows_its_share_of_the_metal_where_there_are_several(campus):
    root = '[[exercise.setup.pass]]\ntechnique = "stringer"\ntravel_speed = "2 in/min"\n'
    twice = text(TEE).replace("[[exercise.setup.pass]]", f"{root}\n[[exercise.setup.pass]]", 1)
    one = page_for(campus, Role.INSTRUCTOR, "sheet", stock(campus, BEAD, TEE).pk, "11ga")
    assert "Of the metal" not in one
    other = CampusFactory()
    version = stock(other, BEAD, twice)
    page = page_for(other, Role.INSTRUCTOR, "sheet", version.pk, "11ga")
    shares = [
        int(share) for share in re.findall(r"Of the metal</span> <b><span class=\"q\">(\d+)", page)
    ]
    assert len(shares) == 2
    assert sum(shares) == 100
    assert shares[0] > shares[1]
