"""`manage.py quantity` and what all commands with a fixed answer share."""

import io
import json
import subprocess
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from shared.management.base import Fault, JsonCommand, Refused, WrongCall
from shared.units import Measure, Range


def run(*args):
    out = io.StringIO()
    call_command("quantity", *args, stdout=out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("args", "answer"),
    [
        (
            ("1 1/2 in", "--dimension", "length"),
            {"si": {"value": 0.0381, "unit": "m"}, "typed": "1 1/2 in", "us": "1-1/2 in",
             "metric": "38.1 mm"},
        ),
        (
            ("16 ga", "--dimension", "length", "--material", "steel"),
            {"si": {"value": 0.00151892, "unit": "m"}, "typed": "16 ga", "us": "16 ga",
             "metric": "1.51892 mm"},
        ),
        (
            ("85-95 A", "--dimension", "current"),
            {"si": {"low": 85.0, "high": 95.0, "start": None, "unit": "A"}, "typed": "85-95 A",
             "us": "85–95 A", "metric": "85–95 A"},
        ),
    ],
)  # fmt: skip
def test_the_answer_is_one_object(args, answer):
    assert json.loads(run(*args, "--json")) == {"contract": "quantity/1", **answer}


@pytest.mark.parametrize("text", ["14", "nan mm", "-3 mm", "1e400 mm", "["])
def test_what_is_refused_is_refused_in_words(text):
    out = io.StringIO()
    with pytest.raises(Refused) as caught:
        call_command("quantity", text, "--dimension", "length", "--json", stdout=out)
    assert caught.value.returncode == 1
    (fault,) = json.loads(out.getvalue())["errors"]
    assert fault["where"] == "text"
    assert fault["got"] == text
    assert fault["message"] in str(caught.value)
    assert fault["accepts"]


def test_without_json_the_answer_is_a_table_and_errors_are_not_on_stdout():
    assert run("1 1/2 in", "--dimension", "length").splitlines() == [
        "SI      0.0381 m",
        "typed   1 1/2 in",
        "US      1-1/2 in",
        "metric  38.1 mm",
    ]
    out = io.StringIO()
    with pytest.raises(Refused, match="14 ga, 14 mm"):
        call_command("quantity", "14", "--dimension", "length", stdout=out)
    assert out.getvalue() == ""


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (["1 in", "--dimension", "length", "--json"], 0),
        (["14", "--dimension", "length", "--json"], 1),
        (["1 in", "--dimension", "girth"], 2),
        (["1 in"], 2),
    ],
)
def test_exit_codes(args, code):
    script = Path(settings.BASE_DIR, "manage.py")
    done = subprocess.run([sys.executable, script, "quantity", *args], capture_output=True)
    assert done.returncode == code
    if "--json" in args:
        json.loads(done.stdout)  # one object and nothing else


class Answering(JsonCommand):
    contract = "answering/1"
    reply: dict = {}

    def answer(self, **options):
        if self.reply.get("refuse"):
            raise Refused([Fault("a[1].b", "14", "no", ("15",)), Fault("", "", "nor this")])
        if self.reply.get("wrong"):
            raise WrongCall("one of the two")
        return self.reply


def ask(reply, **options):
    out = io.StringIO()
    command = Answering(stdout=out, stderr=io.StringIO())
    command.reply = reply
    call_command(command, **options)
    return out.getvalue()


def test_an_answer_may_hold_what_json_has_no_word_for():
    got = json.loads(
        ask(
            {
                "money": Decimal("12.50"),
                "day": date(2030, 1, 2),
                "mass": Measure.of(1, "kg"),
                "amps": Range.of(1, 2, "A"),
                "list": ("a", "b"),
                "set": frozenset({"x"}),
            },
            json=True,
        )
    )
    assert got == {
        "contract": "answering/1",
        "money": "12.50",
        "day": "2030-01-02",
        "mass": {"value": 1.0, "unit": "kg"},
        "amps": {"low": 1, "high": 2, "start": None, "unit": "A"},
        "list": ["a", "b"],
        "set": ["x"],
    }


def test_no_answer_holds_what_is_not_a_number():
    with pytest.raises(ValueError, match="JSON compliant"):
        ask({"bad": float("nan")}, json=True)
    with pytest.raises(TypeError, match="no form in JSON"):
        ask({"bad": object()}, json=True)


def test_all_faults_stand_in_one_answer():
    out = io.StringIO()
    command = Answering(stdout=out, stderr=io.StringIO())
    command.reply = {"refuse": True}
    with pytest.raises(Refused, match=r"a\[1\]\.b: no\nnor this"):
        call_command(command, json=True)
    assert json.loads(out.getvalue())["errors"] == [
        {"where": "a[1].b", "got": "14", "message": "no", "accepts": ["15"]},
        {"where": "", "got": "", "message": "nor this", "accepts": []},
    ]


def test_a_wrong_call_ends_with_two():
    with pytest.raises(CommandError) as caught:
        ask({"wrong": True}, json=True)
    assert caught.value.returncode == 2


def test_the_table_lists_what_is_nested():
    assert (
        ask({"a": {"b": [1, None]}, "c": Decimal("2.0")}) == "a\n  b\n    1  1\n    2  –\nc  2.0\n"
    )
