"""Reading a case: all faults at once, each at its place."""

import copy
from datetime import date
from decimal import Decimal

import pytest

from inventory.core.case import CaseError, read_case
from tests.inventory.core.cases import one_task


def faults(data):
    with pytest.raises(CaseError) as caught:
        read_case(data)
    return {fault.where: fault for fault in caught.value.faults}


def broken(path, value):
    data = copy.deepcopy(one_task())
    *way, last = path
    target = data
    for step in way:
        target = target[step]
    target[last] = value
    return data


def test_what_is_left_out_takes_the_stated_defaults():
    case = read_case(
        {
            "sessions": [{"date": "2026-09-07", "minutes": 130}],
            "students": [{"id": 7}],
            "tasks": [
                {
                    "id": "A",
                    "minutes": 30,
                    "first_pass": 0.6,
                    "uses": [{"item": "x", "quantity": 1}],
                }
            ],
            "items": [{"id": "x"}],
        }
    )
    (task,), (item,), (student,) = case.tasks, case.items, case.students
    assert (task.weight, task.redo_odds, task.cap, task.uses[0].cv) == (8, 1.5, 6, 0.15)
    assert (item.factor, item.bias_cv, item.pack, item.price) == (1, 0.1, 1, None)
    assert (student.id, student.attendance, case.pace, case.service) == ("7", 1, "own", 0.9)
    assert case.sessions[0].booths is None


def test_null_is_no_bound():
    data = one_task()
    data["tasks"][0].update(cap=None, target=None, pass_probability=None)
    data["students"][0].update({"from": None, "until": None})
    data["sessions"][0]["booths"] = None
    data["items"][0]["price"] = None
    case = read_case(data)
    assert (case.tasks[0].cap, case.tasks[0].target, case.students[0].until) == (None, None, None)


def test_a_null_attempts_cap_differs_from_a_cap_left_out():
    data = one_task()
    del data["tasks"][0]["cap"]
    assert read_case(data).tasks[0].cap == 6


def test_all_faults_come_at_once_each_with_what_is_accepted():
    data = one_task()
    data["sessions"][1]["date"] = "next Monday"
    data["students"][2].update(attendance=1.2, passed=["Z"], attempts={"Y": 1, "A": -1})
    data["tasks"][0]["minutes"] = 0
    data["items"][0].update(price="12.34567", pack="10", colour="red")
    found = faults(data)
    assert set(found) == {
        "sessions[1].date",
        "students[2].attendance",
        "students[2].passed[0]",
        "students[2].attempts.Y",
        "students[2].attempts.A",
        "tasks[0].minutes",
        "items[0].price",
        "items[0].pack",
        "items[0].colour",
    }
    assert found["sessions[1].date"].got == "next Monday"
    assert all(fault.accepts for fault in found.values())
    assert "at most four decimals" in found["items[0].price"].message


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        (("sessions", 0, "minutes"), float("nan"), "sessions[0].minutes"),
        (("sessions", 0, "minutes"), True, "sessions[0].minutes"),
        (("sessions", 0, "booths"), 2.5, "sessions[0].booths"),
        (("sessions", 0, "booths"), -1, "sessions[0].booths"),
        (("sessions", 0), "2026-09-07", "sessions[0]"),
        (("sessions",), None, "sessions"),
        (("students", 0, "id"), " ", "students[0].id"),
        (("students", 0, "attempts"), [], "students[0].attempts"),
        (("tasks", 0, "first_pass"), 0, "tasks[0].first_pass"),
        (("tasks", 0, "first_pass"), 1.01, "tasks[0].first_pass"),
        (("tasks", 0, "first_pass"), None, "tasks[0].first_pass"),
        (("tasks", 0, "cap"), 0, "tasks[0].cap"),
        (("tasks", 0, "weight"), 0, "tasks[0].weight"),
        (("tasks", 0, "redo_odds"), float("inf"), "tasks[0].redo_odds"),
        (("tasks", 0, "target"), "week 3", "tasks[0].target"),
        (("tasks", 0, "after"), ["Q"], "tasks[0].after[0]"),
        (("tasks", 0, "after"), ["A"], "tasks"),
        (("tasks", 0, "uses", 0, "cv"), -0.1, "tasks[0].uses[0].cv"),
        (("tasks", 0, "uses", 0, "quantity"), "1 lb", "tasks[0].uses[0].quantity"),
        (("items", 0, "price"), -1, "items[0].price"),
        (("items", 0, "price"), "NaN", "items[0].price"),
        (("items", 0, "pack"), 0, "items[0].pack"),
        (("items", 0, "lead_days"), 1.5, "items[0].lead_days"),
        (("items", 0, "on_order"), [{"date": "2026-09-07"}], "items[0].on_order[0].quantity"),
        (("items", 0, "delivery_days"), ["Monday"], "items[0].delivery_days[0]"),
        (("items", 0, "unit"), 3, "items[0].unit"),
        (("pace",), "fast", "pace"),
        (("service",), 1, "service"),
        (("closed",), ["x"], "closed[0]"),
        (("sesions",), [], "sesions"),
    ],
)
def test_a_wrong_value_is_named_at_its_place(path, value, where):
    found = faults(broken(path, value))
    assert set(found) == {where}
    assert found[where].message


@pytest.mark.parametrize("data", [None, [], 3, "case"])
def test_a_case_is_an_object(data):
    assert "case" in faults(data)


def test_a_name_stands_for_one_row():
    data = one_task(students=2)
    data["students"][1]["id"] = "s0"
    assert "twice" in faults(data)["students[1].id"].message


def test_who_leaves_before_coming_is_a_fault():
    data = one_task(students=1)
    data["students"][0].update({"from": "2026-10-01", "until": "2026-09-01"})
    assert set(faults(data)) == {"students[0].until"}


def test_a_given_pass_probability_needs_no_first_pass():
    data = one_task(pass_probability=0.4)
    del data["tasks"][0]["first_pass"]
    assert read_case(data).tasks[0].pass_probability == 0.4


def test_a_task_is_moved_behind_those_it_comes_after_and_the_rest_stays():
    data = one_task()
    task = data["tasks"][0]
    data["tasks"] = [
        {**task, "id": "C", "after": ["B"]},
        {**task, "id": "A"},
        {**task, "id": "B"},
        {**task, "id": "D"},
    ]
    assert [t.id for t in read_case(data).tasks] == ["A", "B", "C", "D"]


def test_tasks_that_wait_for_each_other_are_refused():
    data = one_task()
    task = data["tasks"][0]
    data["tasks"] = [{**task, "after": ["B"]}, {**task, "id": "B", "after": ["A"]}]
    assert "wait for each other" in faults(data)["tasks"].message


def test_money_and_days_are_read_exactly():
    data = one_task()
    data["items"][0].update(price=38.4, delivery_days=["Thu", "Mon"])
    data["closed"] = ["2026-11-26"]
    case = read_case(data)
    assert case.items[0].price == Decimal("38.4")
    assert case.items[0].delivery_weekdays == (0, 3)
    assert case.closed == (date(2026, 11, 26),)
