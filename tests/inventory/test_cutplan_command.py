"""The cutplan command on a case file: no database, one fixed answer."""

import json
import time

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from inventory.core.cutting import Problem, check_plan, plan_of_json
from shared.management.base import Refused


@pytest.fixture
def case_file(tmp_path):
    def write(data):
        path = tmp_path / "case.json"
        path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
        return str(path)

    return write


def coupons(**changes):
    """Return a case: 24 blanks of 6 x 2 in of a sheet of 48 x 96 in."""
    return {
        "kerf": 0.0032,
        "trim": 0.005,
        "rotate": True,
        "stages": 2,
        "stock": [
            {"id": "sheet", "length": 2.4384, "width": 1.2192, "price": "84.50", "count": None}
        ],
        "pieces": [{"id": "coupon", "length": 0.1524, "width": 0.0508, "count": 24}],
        **changes,
    }


def answer(capsys, path, *more):
    call_command("cutplan", "--case", path, "--json", *more)
    return json.loads(capsys.readouterr().out)


def test_a_case_is_planned_without_a_database(case_file, capsys):
    found = answer(capsys, case_file(coupons()))
    assert found["contract"] == "cutplan/1"
    assert (found["cost"], found["bound"], found["gap"]) == ("84.50", "84.50", 0.0)
    assert found["proven"] is True
    [used] = found["stock_used"]
    assert (used["stock"], used["count"], len(used["pieces"])) == ("sheet", 1, 24)
    assert used["pieces"][0].keys() == {"id", "x", "y", "length", "width", "rotated"}
    for piece in used["pieces"]:
        assert 0.005 <= piece["x"] <= 2.4384 - 0.005 - piece["length"] + 1e-9
        assert 0.005 <= piece["y"] <= 1.2192 - 0.005 - piece["width"] + 1e-9
    for cut in used["cuts"]:
        (x1, y1), (x2, y2) = cut["from"], cut["to"]
        assert (x1 == x2) == (cut["runs"] == "width")
        assert (y1 == y2) == (cut["runs"] == "length")
    assert used["remnants"]
    check_plan(Problem.from_case(coupons()), plan_of_json(found))


def test_bars_have_no_width(case_file, capsys):
    case = coupons(
        stock=[{"id": "bar", "length": 6.0, "width": None, "count": 1}],
        pieces=[{"id": "strap", "length": 0.5, "width": None, "count": 11}],
    )
    found = answer(capsys, case_file(case))
    assert {piece["width"] for piece in found["stock_used"][0]["pieces"]} == {None}
    assert (found["cost"], found["unplaceable"]) == ("1.00", [])


def test_the_grain_of_the_case_holds_unless_a_piece_says_otherwise(case_file, capsys):
    tall = {"id": "tall", "length": 0.5, "width": 2.0, "count": 1}
    case = coupons(rotate=False, pieces=[tall, {**tall, "id": "free", "rotate": True}])
    found = answer(capsys, case_file(case))
    assert [row["piece"] for row in found["unplaceable"]] == ["tall"]
    assert [piece["id"] for piece in found["stock_used"][0]["pieces"]] == ["free"]


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"kerf": -0.1}, "kerf"),
        ({"kerf": "1/8 in"}, "kerf"),
        ({"trim": float("inf")}, "trim"),
        ({"stages": 4}, "stages"),
        ({"stages": True}, "stages"),
        ({"rotate": "yes"}, "rotate"),
        ({"blade": 1}, "blade"),
        ({"stock": None}, "stock"),
        ({"stock": [{"id": "s", "length": 0}]}, "stock[0].length"),
        ({"stock": [{"id": "s", "length": 1, "price": "cheap"}]}, "stock[0].price"),
        ({"stock": [{"id": "s", "length": 1, "count": 1.5}]}, "stock[0].count"),
        ({"stock": [{"length": 1}]}, "stock[0].id"),
        ({"stock": [7]}, "stock[0]"),
        (
            {"stock": [{"id": "a", "length": 1, "price": 3}, {"id": "b", "length": 1}]},
            "stock[1].price",
        ),
        ({"pieces": [{"id": "p", "length": 1, "count": -1}]}, "pieces[0].count"),
        ({"pieces": [{"id": "p", "length": 1, "count": 1e9}]}, "pieces[0].count"),
        ({"pieces": [{"id": "p", "length": 1, "grain": True}]}, "pieces[0].grain"),
        ({"pieces": [{"id": "p", "length": 1}, {"id": "p", "length": 2}]}, "pieces[1].id"),
        ({"pieces": [{"id": n, "length": 1, "count": 9999} for n in range(3)]}, "pieces"),
        ({"pieces": [{"id": n, "length": 1} for n in range(201)]}, "pieces"),
    ],
)
def test_what_is_wrong_is_named_at_its_place(case_file, capsys, changes, where):
    text = json.dumps(coupons(**changes)).replace("Infinity", "1e999")
    with pytest.raises(Refused) as caught:
        call_command("cutplan", "--case", case_file(text), "--json")
    assert caught.value.returncode == 1
    errors = json.loads(capsys.readouterr().out)["errors"]
    assert where in [error["where"] for error in errors]
    assert all(error.keys() == {"where", "got", "message", "accepts"} for error in errors)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"kerf": 0.254}, None),  # ten inches
        ({"trim": 1.0}, "size"),
        ({"pieces": [{"id": "huge", "length": 90, "width": 90, "count": 9}]}, "size"),
        ({"pieces": [{"id": "tiny", "length": 0.0001, "width": 0.0001, "count": 999}]}, None),
        ({"pieces": [{"id": "p", "length": 0.05, "width": 0.031, "count": 10_000}]}, None),
        ({"pieces": [{"id": "p", "length": 0.333333333, "width": 0.1, "count": 0}]}, None),
        ({"stock": []}, "stock"),
        ({"thickness": 0.02, "thickest": 0.01}, "thickness"),
        ({"stages": 3, "narrowest": 0.1}, None),
        (
            {
                "pieces": [
                    {"id": n, "length": 0.1 + n * 0.00731, "width": 0.05 + n * 0.00177, "count": 60}
                    for n in range(160)
                ]
            },
            None,
        ),
    ],
)
def test_absurd_numbers_end_in_a_plan_or_a_name(case_file, capsys, changes, why):
    begin = time.monotonic()
    found = answer(capsys, case_file(coupons(**changes)))
    assert time.monotonic() - begin < 60
    reasons = {row["reason"] for row in found["unplaceable"]}
    assert reasons == ({why} if why else set())
    check_plan(Problem.from_case(coupons(**changes)), plan_of_json(found))


HALF_A_LETTER = r'{"stock": [], "pieces": [{"id": "\ud800", "length": 1}]}'


@pytest.mark.parametrize("text", ["{", "", "[1", '"case"', "[" * 100_000, "null", HALF_A_LETTER])
def test_what_is_no_case_is_refused(case_file, text):
    with pytest.raises(Refused):
        call_command("cutplan", "--case", case_file(text))


@pytest.mark.parametrize("seconds", ["0", "-1", "nan", "soon", "1e9"])
def test_a_search_has_a_time(case_file, seconds):
    with pytest.raises(CommandError):
        call_command("cutplan", "--case", case_file(coupons()), "--seconds", seconds)


def test_the_table_says_what_is_cut_and_that_it_is_proven(case_file, capsys):
    huge = {"id": "huge", "length": 9, "width": 9}
    case = coupons(pieces=[*coupons()["pieces"], huge])
    call_command("cutplan", "--case", case_file(case))
    out = capsys.readouterr().out
    assert "1 × sheet" in out
    assert "remnant: " in out
    assert "Not planned: 1 of huge: larger than any stock here, less its trim" in out
    assert "Cost 84.50; no plan is cheaper." in out
