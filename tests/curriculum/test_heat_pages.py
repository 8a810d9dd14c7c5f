"""Heat input where people meet it: exercise, sheet, the setup being typed, the command."""

import json
import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from curriculum.core.heat_input import by_pass
from curriculum.core.steps import evaluate
from curriculum.services import to_spec
from shared.people.models import Role
from tests.curriculum.shelf import BEAD, TEE, stock
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def campus():
    return CampusFactory()


def page_of(campus, role, name, *args):
    client = Client()
    person = UserFactory(roles=[role], home_campus=campus)
    client.force_login(person, "shared.people.backends.PasswordBackend")
    answer = client.get(reverse(f"curriculum:{name}", args=args))
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def figures(page):
    return [float(one) for one in re.findall(r'data-figure="heat_input" value="([^"]+)"', page)]


def command(*asked):
    out = StringIO()
    call_command("setup_check", *asked, "--json", stdout=out)
    return json.loads(out.getvalue())["heat_input"]


@pytest.mark.parametrize("role", [Role.STUDENT, Role.INSTRUCTOR, Role.CLERK])
def test_whoever_reads_a_sheet_reads_the_heat_input_that_the_command_gives(campus, role):
    version = stock(campus, BEAD, TEE)
    page = page_of(campus, role, "sheet", version.pk, "11ga")
    assert figures(page) == [command("12/11ga")[0]["working"]["heat_input"]["value"]]
    assert "Arc energy" in page
    assert "voltage assumed" in page
    assert "American codes" in page


def test_an_exercise_shows_the_heat_input_of_each_setup(campus):
    version = stock(campus, BEAD, TEE)
    page = page_of(campus, Role.INSTRUCTOR, "version", version.pk)
    rows = [command(f"12/{key}")[0] for key in ("11ga", "14ga")]
    assert figures(page) == [row["working"]["heat_input"]["value"] for row in rows]


def test_the_command_gives_steps_that_can_be_worked_again(campus):
    stock(campus, BEAD, TEE)
    (row,) = command("12/11ga")
    for side in ("low", "working", "high"):
        heat = row[side]
        for step in heat["steps"]:
            values = {name: one["value"] for name, one in step["inputs"].items()}
            assert evaluate(step["expression"], values) == pytest.approx(step["value"], rel=1e-9)
        assert heat["steps"][-1]["value"] == heat["heat_input"]["value"]
        # EN 1011-1 Table 1: k of gas tungsten arc is 0.6
        assert heat["efficiency"]["value"] == 0.6
    assert row["low"]["heat_input"]["value"] < row["high"]["heat_input"]["value"]


def test_a_setup_that_states_no_speed_is_said_to_lack_it(campus):
    version = stock(campus, BEAD)
    content = to_spec(version)
    page = page_of(campus, Role.INSTRUCTOR, "sheet", version.pk, "1-4in")
    assert [list(one.missing) for one in by_pass(content, content.setups[0])] == [["travel speed"]]
    assert "Heat input: not stated, or zero: travel speed" in re.sub("<[^>]+>", "", page)
    assert figures(page) == []


def test_the_command_says_it_in_words_too(campus, capsys):
    stock(campus, BEAD, TEE)
    call_command("setup_check", "12/11ga")
    assert re.search(r"Heat input .*kJ/in; .*kJ/mm", capsys.readouterr().out)
    call_command("setup_check", "11/1-4in")
    assert "not stated, or zero: travel speed" in capsys.readouterr().out
