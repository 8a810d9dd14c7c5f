"""The commands with a fixed answer: their shape, their exit codes, and input made to break them."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction

from curriculum.models import Enrolment
from tests.world import LIBRARY, World, build

pytestmark = pytest.mark.django_db
HUGE = "9" * 5_000  # more digits than Python turns into a number
ROSTER = "number,name\nS-101,Sol Reyes\nS-900,Ida Moor\n"


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """One shop for the module, undone at its end; each test is undone after itself."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield build()
        transaction.set_rollback(True)


def call(*args: str) -> dict[str, Any]:
    """Return the one object that a command prints."""
    out = io.StringIO()
    call_command(*args, "--json", stdout=out, stderr=io.StringIO())
    found: dict[str, Any] = json.loads(out.getvalue())
    return found


def refused(*args: str) -> tuple[int, list[dict[str, Any]]]:
    """Return exit code and errors of a command that must not be done."""
    out = io.StringIO()
    with pytest.raises(CommandError) as caught:
        call_command(*args, "--json", stdout=out, stderr=io.StringIO())
    printed = json.loads(out.getvalue()) if out.getvalue() else {"errors": []}
    for error in printed["errors"]:
        assert error.keys() >= {"where", "got", "message", "accepts"}
        assert error["message"]
    return caught.value.returncode, printed["errors"]


def test_usage_of_a_setup_in_the_library_is_that_of_its_file(world: World) -> None:
    asked = call("usage", "12/14ga")
    assert asked["contract"] == "usage/1"
    assert asked == call("usage", "12/14ga", "--file", str(LIBRARY))
    assert set(asked["weld"]) >= {"area", "volume", "deposit"}
    assert set(asked["time"]) >= {"arc", "gas", "booth"}
    kinds = [item["kind"] for item in asked["items"]]
    assert kinds[:3] == ["sheet", "rod", "gas"]
    for item in asked["items"]:
        assert item["steps"][-1]["value"] == pytest.approx(item["quantity"]["value"], rel=1e-9)


def test_each_step_of_usage_is_arithmetic_on_its_inputs(world: World) -> None:
    for which in ("11/1-4in", "12/14ga", "12/10ga"):
        for item in call("usage", which)["items"]:
            for step in item["steps"]:
                named = {name: one["value"] for name, one in step["inputs"].items()}
                value = eval(
                    step["expression"], {"__builtins__": {}, "pi": 3.141592653589793}, named
                )
                assert value == pytest.approx(step["value"], rel=1e-9)
                assert all(one["source"] for one in step["inputs"].values())


def test_a_setup_check_of_the_library_is_that_of_its_file(world: World) -> None:
    asked = call("setup_check", "12/14ga")
    assert asked["contract"] == "setup_check/1"
    assert asked["findings"]
    assert asked["findings"] == call("setup_check", "12/14ga", "--file", str(LIBRARY))["findings"]
    for finding in asked["findings"]:
        assert finding.keys() >= {"rule", "level", "value", "limit", "source"}
        assert finding["level"] in {"ok", "look", "outside"}


@pytest.mark.parametrize("command", ["usage", "setup_check"])
@pytest.mark.parametrize("which", ["99/1-4in", "12/none", "/", HUGE, "12/14ga/14ga", "' OR 1=1"])
def test_a_setup_that_is_not_there_is_refused_with_a_sentence(
    world: World, command: str, which: str
) -> None:
    code, errors = refused(command, which)
    assert code == 1
    assert errors


@pytest.mark.parametrize("command", ["usage", "setup_check"])
def test_without_a_setup_the_call_is_wrong(command: str) -> None:
    assert refused(command) == (2, [])


def test_a_forecast_of_a_class_has_the_contracts_fields(world: World) -> None:
    found = call("forecast", world.shop_class.name, "--runs", "60")
    assert found["contract"] == "forecast/1"
    assert len(found["sessions"]) == len(found["items"][0]["cumulative"]["likely"])
    assert len(found["weeks"]) == len(found["items"][0]["weekly"]["likely"])
    for item in found["items"]:
        assert item.keys() >= {
            "item", "unit", "cumulative", "weekly", "total", "on_hand", "on_order", "p_run_out",
            "packs", "order_by", "late", "cost_likely", "cost_ample",
        }  # fmt: skip
        total = item["total"]
        assert total.keys() >= {"mean", "se_mean", "likely", "likely_ci", "ample", "ample_ci"}
        assert 0 <= total["likely"] <= total["ample"]
    assert {one["item"] for one in found["unmatched"]} >= {"sheet:steel:3400"}
    assert all(0 <= one["p"] <= 1 for one in found["finish"])


@pytest.mark.parametrize("name", ["No such class", "", HUGE, "%"])
def test_a_forecast_of_no_class_is_refused(world: World, name: str) -> None:
    code, errors = refused("forecast", name)
    assert code == 1
    assert errors


def test_a_roster_is_checked_without_a_change_and_loaded_once(world: World, tmp_path: Path) -> None:
    file = tmp_path / "roster.csv"
    file.write_text(ROSTER, encoding="utf-8")
    args = ("roster", world.shop_class.name, str(file))
    before = Enrolment.objects.count()
    looked = call(*args, "--check")
    assert looked["contract"] == "roster/1"
    assert (looked["added"], looked["unchanged"]) == (["S-900"], ["S-101"])
    assert Enrolment.objects.count() == before
    assert call(*args, "--load")["added"] == ["S-900"]
    again = call(*args, "--load", "--whole")
    assert (again["added"], again["changed"]) == ([], [])
    assert sorted(again["left"]) == ["S-102", "S-103"]


def test_a_bad_row_stops_a_roster_whole_and_is_named(world: World, tmp_path: Path) -> None:
    file = tmp_path / "roster.csv"
    file.write_text(f"{ROSTER},Nobody\n", encoding="utf-8")
    code, errors = refused("roster", world.shop_class.name, str(file), "--load")
    assert code == 1
    assert [(error["row"], error["column"]) for error in errors] == [(4, "number")]
    assert Enrolment.objects.filter(student__student_number="S-900").count() == 0


HOSTILE = {
    "empty": b"",
    "blank": b"\n\n \n",
    "nul": b"number,name\n\0\0,\0\n",
    "binary": bytes(range(256)) * 8,
    "deep": b"[" * 50_000,
    "huge number": f"[[exercise]]\nnumber = {HUGE}\nminutes = 1e999\n".encode(),
    "huge number in JSON": f'{{"sessions": {HUGE}}}'.encode(),
    "no letters": b"\xff\xfe\xfa\xfb",
    "surrogate": b'{"a": "\\ud800"}',
}
READING = {
    "usage": ("usage", "--file", "FILE"),
    "setup_check": ("setup_check", "--file", "FILE"),
    "library --check": ("library", "FILE", "--check"),
    "library --load": ("library", "FILE", "--load", "--campus", "North"),
    "roster": ("roster", "Evening class", "FILE", "--load"),
    "forecast": ("forecast", "--case", "FILE"),
}


@pytest.mark.parametrize("command", READING)
@pytest.mark.parametrize("content", HOSTILE)
def test_a_file_made_to_break_a_command_is_refused_with_a_sentence(
    world: World, tmp_path: Path, command: str, content: str
) -> None:
    file = tmp_path / "hostile"
    file.write_bytes(HOSTILE[content])
    code, errors = refused(*(str(file) if one == "FILE" else one for one in READING[command]))
    assert code == 1
    assert errors


@pytest.mark.parametrize("command", READING)
@pytest.mark.parametrize("where", ["missing", "folder"])
def test_a_file_that_cannot_be_read_is_refused_with_a_sentence(
    world: World, tmp_path: Path, command: str, where: str
) -> None:
    file = tmp_path if where == "folder" else tmp_path / "missing"
    code, errors = refused(*(str(file) if one == "FILE" else one for one in READING[command]))
    assert code in {1, 2}
    assert code == 2 or errors


def test_routes_name_every_page() -> None:
    out = io.StringIO()
    call_command("routes", "--json", stdout=out)
    found = json.loads(out.getvalue())
    assert all(one.keys() >= {"name", "path", "methods", "roles"} for one in found)
    assert {"grading:today", "inventory:to_order"} <= {one["name"] for one in found}
