"""The forecast command on a case file: no database, one fixed answer."""

import json

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from shared.management.base import Refused, WrongCall
from tests.inventory.core.cases import one_task


@pytest.fixture
def case_file(tmp_path):
    def write(data):
        path = tmp_path / "case.json"
        path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
        return str(path)

    return write


def answer(capsys, *args):
    call_command("forecast", *args, "--json")
    return json.loads(capsys.readouterr().out)


def test_a_case_file_is_forecast_without_a_database(case_file, capsys):
    path = case_file(one_task(first_pass=1))
    found = answer(capsys, "--case", path, "--as-of", "2026-09-07", "--runs", "50")
    assert found["contract"] == "forecast/1"
    assert (found["runs"], found["as_of"], len(found["sessions"])) == (50, "2026-09-07", 9)
    assert found["items"][0]["total"]["ample"] == 18


def test_the_answer_is_fixed_by_case_runs_and_seed(case_file, capsys):
    path = case_file(one_task())
    first, again, other = (
        answer(capsys, "--case", path, "--runs", "200", "--seed", seed) for seed in ("3", "3", "4")
    )
    assert first == again
    assert first["items"] != other["items"]


def test_the_table_says_what_to_order_and_what_matches_nothing(case_file, capsys):
    data = one_task(first_pass=1)
    data["items"][0].update(price="2.50", pack=10, unit="piece")
    data["tasks"][0]["uses"].append({"item": "backing", "quantity": 1})
    call_command("forecast", "--case", case_file(data), "--runs", "50")
    out = capsys.readouterr().out
    row = next(line for line in out.splitlines() if line.startswith("plate"))
    figures = ["18", "18", "0", "0", "piece", "2026-09-07", "2026-09-07", "2", "5.00"]
    assert row.split() == ["plate", *figures]
    assert "backing  18  (A)" in out
    assert "s17" in out


def test_all_faults_of_a_case_come_in_one_answer(case_file, capsys):
    data = one_task()
    data["pace"], data["tasks"][0]["minutes"] = "fast", 0
    with pytest.raises(Refused) as caught:
        call_command("forecast", "--case", case_file(data), "--json")
    assert caught.value.returncode == 1
    errors = json.loads(capsys.readouterr().out)["errors"]
    assert {error["where"] for error in errors} == {"pace", "tasks[0].minutes"}
    assert errors[0].keys() == {"where", "got", "message", "accepts"}


@pytest.mark.parametrize("text", ["{", "", "[1", '"case"', "[" * 100_000])
def test_what_is_no_case_is_refused(case_file, text):
    with pytest.raises(Refused):
        call_command("forecast", "--case", case_file(text))


def test_a_file_that_is_not_there_or_no_text_is_refused(tmp_path):
    with pytest.raises(Refused, match="cannot be read"):
        call_command("forecast", "--case", str(tmp_path / "none.json"))
    (tmp_path / "binary").write_bytes(b"\xff\xfe\xfa")
    with pytest.raises(Refused, match="not text"):
        call_command("forecast", "--case", str(tmp_path / "binary"))


def test_a_class_or_a_case_not_both_nor_neither(case_file):
    with pytest.raises(WrongCall) as neither:
        call_command("forecast")
    with pytest.raises(WrongCall) as both:
        call_command("forecast", "Evening", "--case", case_file(one_task()))
    assert neither.value.returncode == both.value.returncode == 2


@pytest.mark.parametrize("extra", [["--runs", "0"], ["--seed", "-1"], ["--as-of", "Monday"]])
def test_an_option_out_of_range_is_a_wrong_call(case_file, extra):
    with pytest.raises(CommandError):
        call_command("forecast", "--case", case_file(one_task()), *extra)
