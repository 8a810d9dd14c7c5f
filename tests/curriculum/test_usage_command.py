"""The command `usage`."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

# -- command

FILE = """
[[exercise]]
number = "G1"
title = "Square groove on sheet"
objective = "Join two sheets edge to edge."
process = "GTAW"
position = "1G"
weld = "square groove"
first_pass = 0.3
minutes = 35
[[exercise.setup]]
key = "sheet"
base_metal = "low-carbon steel sheet"
thickness = "14 ga"
weld_length = "6 in"
pieces = [{count = 2, thickness = "14 ga", width = "1-1/2 in", length = "6 in"}]
joint = {kind = "square groove", root_opening = "3/64 in", face_reinforcement = "1/32 in"}
electrode = {type = "EWLa-1.5", diameter = "1/16 in"}
filler = {class = "ER70S-6", diameter = "1/16 in"}
gas = {name = "argon", flow = "14 cfh"}
current = "55-75 A"
"""


def run(*arguments: str) -> dict[str, Any]:
    out = StringIO()
    call_command("usage", *arguments, "--json", stdout=out)
    answer: dict[str, Any] = json.loads(out.getvalue())
    return answer


def test_the_command_answers_with_the_contract(tmp_path: Path) -> None:
    file = tmp_path / "one.toml"
    file.write_text(FILE, encoding="utf-8")
    answer = run("--file", str(file))
    assert answer["contract"] == "usage/1"
    assert {"area", "volume", "deposit"} <= answer["weld"].keys()
    assert {"arc", "gas", "booth"} <= answer["time"].keys()
    assert answer["time"]["booth"] == {"value": 2100.0, "unit": "s"}
    assert [item["kind"] for item in answer["items"]] == ["sheet", "rod", "gas", "tungsten", "wear"]
    rod = answer["items"][1]
    assert rod["spec"] == "rod:ER70S-6:1600"
    assert rod["stock_item"] is None
    assert rod["steps"][-1]["value"] == rod["quantity"]["value"]
    table = StringIO()
    call_command("usage", "--file", str(file), stdout=table)
    assert "ER70S-6 1/16 in" in table.getvalue()


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("minutes = 35", 'minutes = 35\ncolour = "red"', "exercise[0].colour"),
        ('"14 ga"\nweld', '"14"\nweld', "exercise[0].setup[0].thickness"),
        ('kind = "square groove"', 'kind = "tee fillet"', "exercise[0].setup[0].joint.leg"),
    ],
)
def test_the_command_names_what_is_wrong(tmp_path: Path, old: str, new: str, where: str) -> None:
    file = tmp_path / "one.toml"
    file.write_text(FILE.replace(old, new), encoding="utf-8")
    out = StringIO()
    with pytest.raises(CommandError) as refused:
        call_command("usage", "--file", str(file), "--json", stdout=out)
    assert refused.value.returncode == 1
    assert where in [fault["where"] for fault in json.loads(out.getvalue())["errors"]]


def test_the_command_wants_a_setup_or_a_file() -> None:
    with pytest.raises(CommandError) as refused:
        call_command("usage", "--json")
    assert refused.value.returncode == 2


@pytest.mark.django_db
def test_the_command_reads_the_library_too(tmp_path: Path) -> None:
    from curriculum.core.library import read_exercises
    from curriculum.services import load_library
    from shared.people.models import Campus

    file = tmp_path / "one.toml"
    file.write_text(FILE, encoding="utf-8")
    exercises, faults = read_exercises(FILE)
    assert not faults
    load_library(campus=Campus.objects.create(name="North"), contents=exercises, by=None)
    assert run("G1/sheet")["items"] == run("--file", str(file))["items"]
    for which, where in (("G9/sheet", "exercise"), ("G1/plate", "setup")):
        out = StringIO()
        with pytest.raises(CommandError):
            call_command("usage", which, "--json", stdout=out)
        assert [one["where"] for one in json.loads(out.getvalue())["errors"]] == [where]


def test_the_week_of_the_term_may_be_named(tmp_path: Path) -> None:
    file = tmp_path / "one.toml"
    file.write_text(FILE, encoding="utf-8")

    def tungsten(*more: str) -> float:
        (found,) = (
            item["quantity"]["value"]
            for item in run("--file", str(file), *more)["items"]
            if item["kind"] == "tungsten"
        )
        return float(found)

    # planning figures, from memory: 5 regrinds a booth hour in the first weeks, then 1.5
    assert tungsten("--week", "1") / tungsten("--week", "10") == pytest.approx(5 / 1.5)
    assert tungsten("--week", "10") < tungsten() < tungsten("--week", "1")
    out = StringIO()
    with pytest.raises(CommandError) as refused:
        call_command("usage", "--file", str(file), "--week", "0", "--json", stdout=out)
    assert refused.value.returncode == 1
    assert [one["where"] for one in json.loads(out.getvalue())["errors"]] == ["week"]


PLASMA = """
[[exercise]]
number = "P1"
title = "Straight cut"
objective = "Part a sheet."
process = "PAC"
position = "1G"
weld = "cut"
first_pass = 0.6
minutes = 30
[[exercise.setup]]
key = "10ga"
base_metal = "low-carbon steel sheet"
thickness = "10 ga"
weld_length = "12 in"
gas = {name = "compressed air", flow = "240 cfh"}
current = "40-45 A"
nozzle = "1/16 in"
travel_speed = "40 in/min"
pieces = [{count = 1, thickness = "10 ga", width = "6 in", length = "12 in"}]
"""


def test_a_plasma_cut_is_read_without_a_joint(tmp_path: Path) -> None:
    file = tmp_path / "one.toml"
    file.write_text(PLASMA, encoding="utf-8")
    answer = run("--file", str(file))
    assert answer["weld"]["deposit"]["value"] == 0
    assert [item["kind"] for item in answer["items"]] == ["sheet", "wear", "wear"]
    assert [one["kind"] for one in answer["supplies"]] == ["energy", "air"]
