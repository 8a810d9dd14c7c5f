"""The forecast: its edges, and what each figure stands for."""

import json
import math
from dataclasses import replace
from datetime import date, timedelta

import pytest

from inventory.core.case import read_case
from inventory.core.explain import explain
from inventory.core.forecast import forecast
from inventory.core.shelf import shelf_against_demand
from tests.inventory.core.cases import FIRST, one_task, sessions, shop


def test_without_sessions_nothing_is_used_and_only_the_ready_finish():
    data = one_task(students=3)
    data["sessions"] = []
    data["students"][1]["passed"] = ["A"]
    data["students"][2]["awaiting"] = ["A"]
    answer = forecast(read_case(data), runs=4000)
    plate = answer.item("plate")
    assert (plate.total.mean, plate.total.ample, plate.order.packs) == (0, 0, 0)
    assert plate.order.order_by is None
    assert plate.p_run_out == 0
    assert (plate.cumulative.mean, answer.weeks, answer.sessions) == ((), (), ())
    p = {f.student: f.p for f in answer.finish}
    assert (p["s0"], p["s1"]) == (0, 1)
    assert p["s2"] == pytest.approx(0.5, abs=0.04)  # the coupon on the desk passes


def test_only_sessions_after_the_day_count():
    answer = forecast(read_case(one_task()), runs=100, as_of=FIRST + timedelta(days=7))
    assert answer.sessions[0] == FIRST + timedelta(days=14)
    assert len(answer.sessions) == len(answer.item("plate").cumulative.mean) == 8
    after_all = forecast(read_case(one_task()), runs=100, as_of=FIRST + timedelta(days=99))
    assert after_all.item("plate").total.mean == 0


def test_who_has_left_uses_nothing_from_that_date_on():
    data = one_task(students=2, minutes=60, pass_probability=0.01, cap=None)
    data["sessions"] = sessions(4, minutes=120)
    data["students"][0]["until"] = str(FIRST + timedelta(days=14))
    data["students"][1]["from"] = str(FIRST + timedelta(days=14))
    plate = forecast(read_case(data), runs=400).item("plate")
    # two attempts fit each session of the one who is there; one in a hundred passes each time
    assert plate.cumulative.likely == (2, 4, 6, 8)


def test_no_booths_no_work():
    data = one_task()
    data["items"].append({"id": "lens", "per_student_week": 1})
    for session in data["sessions"]:
        session["booths"] = 0
    answer = forecast(read_case(data), runs=200)
    assert [item.total.ample for item in answer.items] == [0, 0]
    assert all(f.p == 0 for f in answer.finish)


def test_half_the_booths_are_half_the_minutes():
    # 4 students, 2 booths, 60 minutes: 30 each, one attempt of 20 started and a second one begun
    data = one_task(students=4, minutes=20, pass_probability=0.001)
    data["sessions"] = sessions(2, minutes=60, booths=2)
    plate = forecast(read_case(data), runs=200).item("plate")
    assert plate.cumulative.likely == (8, 12)


def test_an_attempt_counts_in_the_session_in_which_it_starts():
    # 100 minutes an attempt, 60 a session: starts at 0 and 100, in sessions 1 and 2
    data = one_task(students=1, minutes=100, pass_probability=0.0001)
    data["sessions"] = sessions(4, minutes=60)
    plate = forecast(read_case(data), runs=100).item("plate")
    assert plate.cumulative.likely == (1, 2, 2, 3)


def test_an_attempt_that_begins_as_the_session_ends_waits_for_the_next():
    data = one_task(students=1, minutes=0.1, pass_probability=0.0001)
    data["sessions"] = sessions(3, minutes=0.1)  # in floats 0.1 + 0.1 + 0.1 is a little over 0.3
    plate = forecast(read_case(data), runs=50).item("plate")
    assert plate.cumulative.likely == (1, 2, 3)


def test_practice_comes_before_the_first_coupon_only():
    data = one_task(students=2, first_pass=1, minutes=10, practice_minutes=60)
    data["sessions"] = sessions(2, minutes=60)
    data["students"][1]["attempts"] = {"A": 1}
    answer = forecast(read_case(data), runs=50)
    assert answer.item("plate").cumulative.likely == (1, 2)
    assert [f.p for f in answer.finish] == [1, 1]


def test_a_coupon_on_the_desk_ends_practice_as_well():
    data = one_task(students=1, pass_probability=0.001, minutes=10, practice_minutes=60)
    data["sessions"] = sessions(2, minutes=60)
    data["students"][0]["awaiting"] = ["A"]
    assert forecast(read_case(data), runs=50).item("plate").cumulative.likely == (6, 12)


def test_practice_pieces_are_cut_once_when_the_first_coupon_is_begun():
    data = one_task(students=3, first_pass=1, minutes=10)
    data["tasks"][0]["uses"][0]["practice"] = 2
    data["students"][1]["attempts"] = {"A": 1}
    data["students"][2]["awaiting"] = ["A"]
    case = read_case(data)
    answer = forecast(case, runs=50)
    assert answer.item("plate").total.likely == 1 + 2 + 1  # two coupons, one of them the first
    steps = explain(case, answer, "plate")
    practised = next(step for step in steps if "practice" in step.inputs)
    assert (practised.inputs["students"].value, practised.value) == (1, 2)


def test_passed_and_moved_on_take_nothing():
    data = one_task(students=3, cap=2)
    data["students"][0]["passed"] = ["A"]
    data["students"][1]["attempts"] = {"A": 2}
    data["students"][2].update(attempts={"A": 1}, awaiting=["A"])  # the second of two: the last
    answer = forecast(read_case(data), runs=200)
    assert answer.item("plate").total.ample == 0
    assert [f.p for f in answer.finish] == [1, 1, 1]


def test_the_class_waits_for_the_target_session():
    data = one_task(students=1, first_pass=1, target=str(FIRST + timedelta(days=14)))
    assert forecast(read_case(data), runs=50).item("plate").cumulative.likely[:3] == (1, 1, 1)
    data["pace"] = "class"
    assert forecast(read_case(data), runs=50).item("plate").cumulative.likely[:3] == (0, 0, 1)


def test_use_by_student_and_week_comes_on_top_once_a_week():
    data = one_task(students=4, first_pass=1)
    data["students"][3]["until"] = str(FIRST + timedelta(days=8))
    data["sessions"] = sessions(4, every=2)  # Mon, Wed, Fri, Sun: one ISO week
    data["sessions"] += [{"date": str(FIRST + timedelta(days=8)), "minutes": 60, "booths": None}]
    data["items"][0].update(factor=2, per_student_week=0.5)
    answer = forecast(read_case(data), runs=50)
    assert answer.weeks == ("2026-W37", "2026-W38")
    assert answer.item("plate").cumulative.likely == (10, 10, 10, 10, 11.5)
    assert answer.item("plate").weekly.ample == (10, 1.5)
    assert answer.student_weeks == 7


def test_an_item_nobody_uses_is_still_listed():
    data = one_task()
    data["items"].append({"id": "idle", "price": "4.00"})
    idle = forecast(read_case(data), runs=50).item("idle")
    assert (idle.total.ample, idle.order.packs, str(idle.order.cost_ample)) == (0, 0, "0.00")


def test_what_matches_no_item_is_listed_with_its_tasks():
    data = one_task(first_pass=1)
    data["tasks"][0]["uses"].append({"item": "backing", "quantity": 0.5, "cv": 0.15})
    answer = forecast(read_case(data), runs=50)
    (need,) = answer.unmatched
    assert (need.item, need.tasks, need.mean) == ("backing", ("A",), 9)
    assert answer.as_json()["unmatched"] == [{"item": "backing", "tasks": ["A"], "mean": 9}]


def test_weekly_and_cumulative_figures_are_separate_distributions():
    data = one_task(students=6, minutes=30, pass_probability=0.4)
    data["sessions"] = sessions(6, minutes=60)
    plate = forecast(read_case(data), runs=4000).item("plate")
    assert sum(plate.weekly.mean) == pytest.approx(plate.total.mean)
    assert sum(plate.weekly.ample) > plate.total.ample


def test_service_drives_the_ample_figure_alone():
    figures = [
        forecast(read_case({**one_task(), "service": q}), runs=500).item("plate").total
        for q in (0.5, 0.8, 0.99)
    ]
    assert len({f.likely for f in figures}) == 1
    assert figures[0].ample == figures[0].likely < figures[1].ample < figures[2].ample


def test_the_chance_of_running_out_is_that_of_the_draws():
    data = one_task(first_pass=1)
    data["items"][0].update(on_hand=10, on_order=[{"date": "2026-09-21", "quantity": 8}])
    plate = forecast(read_case(data), runs=50).item("plate")
    assert plate.run_out[:3] == (1, 1, 0)
    assert plate.p_run_out == 0
    assert plate.order.runs_out == FIRST
    assert (plate.on_order, plate.order.packs) == (8, 0)


def test_the_answer_in_json_has_the_contracts_fields():
    data = one_task()
    data["items"][0].update(price=12.5, pack=20)
    answer = json.loads(json.dumps(forecast(read_case(data), runs=100).as_json(), allow_nan=False))
    (item,) = answer["items"]
    assert {"sessions", "weeks", "items", "unmatched", "finish"} <= set(answer)
    needed = "item unit cumulative weekly total on_hand on_order p_run_out packs order_by late"
    assert set(needed.split()) | {"cost_likely", "cost_ample"} <= set(item)
    assert set(item["total"]) == {"mean", "se_mean", "likely", "likely_ci", "ample", "ample_ci"}
    assert item["cost_ample"] == f"{12.5 * item['packs']:.2f}"
    assert answer["contract"] == "forecast/1"


def test_the_chart_fills_weeks_without_shop():
    data = one_task(first_pass=1)
    data["sessions"] = [sessions(4)[0], sessions(4)[3]]
    data["items"][0]["on_hand"] = 10
    points = shelf_against_demand(forecast(read_case(data), runs=50), "plate")
    assert [p.week for p in points] == ["2026-W37", "2026-W38", "2026-W39", "2026-W40"]
    assert [p.has_shop for p in points] == [True, False, False, True]
    assert [p.ample for p in points] == [18] * 4
    assert [p.ample_in_week for p in points] == [18, 0, 0, 0]
    assert [p.left for p in points] == [-8] * 4
    assert all(p.is_short and p.p_run_out == 1 for p in points)
    assert points[1].monday == date(2026, 9, 14)


def test_each_steps_expression_gives_its_value():
    data = shop(2)
    data["items"][0].update(price="7.5", pack=3, lead_days=4, per_student_week=0.1)
    case = read_case(data)
    answer = forecast(case, runs=1000)
    steps = explain(case, answer, "rod")
    names = {"max": max, "ceil": math.ceil, "__builtins__": {}}
    for step in steps:
        inputs = {name: given.value for name, given in step.inputs.items()}
        value = eval(step.expression, names, inputs)
        assert value == pytest.approx(step.value, rel=1e-9, abs=1e-9), step.label
        assert all(given.source for given in step.inputs.values())
    expected = next(s.value for s in steps if s.expression.startswith("part_1 +"))
    total = answer.item("rod").total
    assert abs(expected - total.mean) < 5 * total.se_mean
    assert steps[-1].value == 7.5 * answer.item("rod").order.packs


def test_an_unknown_item_is_a_key_error():
    answer = forecast(read_case(one_task()), runs=10)
    with pytest.raises(KeyError):
        answer.item("nothing")


@pytest.mark.parametrize(
    ("runs", "seed", "name"), [(0, 1, "runs"), (10**7, 1, "runs"), (5, -1, "seed")]
)
def test_runs_and_seed_have_bounds(runs, seed, name):
    with pytest.raises(ValueError, match=name):
        forecast(read_case(one_task()), runs=runs, seed=seed)


def test_a_task_without_any_chance_is_refused_even_where_no_file_was_read():
    case = read_case(one_task())
    bare = replace(case, tasks=(replace(case.tasks[0], first_pass=None),))
    with pytest.raises(ValueError, match="neither first_pass nor pass_probability"):
        forecast(bare, runs=10)


def test_extreme_beliefs_and_spreads_give_finite_figures():
    data = one_task(first_pass=1e-9, weight=1e-3, cap=None, minutes=30)
    data["tasks"].append({**data["tasks"][0], "id": "B", "first_pass": 1 - 1e-12, "weight": 1e6})
    data["tasks"].append({**data["tasks"][0], "id": "C", "redo_odds": 1000, "cap": 500})
    data["students"][0]["attempts"] = {"C": 499, "A": 1000}
    for task, cv in zip(data["tasks"], (1e-300, 3, 0.01), strict=True):
        task["uses"] = [{"item": "plate", "quantity": 1, "cv": cv}]
    data["items"].append({"id": "wild", "bias_cv": 1e-200, "factor": 100, "per_student_week": 1})
    answer = forecast(read_case(data), runs=300)
    assert all(math.isfinite(item.total.ample) for item in answer.items)
    assert answer.item("wild").total.ample == 180


@pytest.mark.parametrize("name", ["students", "tasks", "items"])
def test_a_case_without_rows_is_forecast(name):
    data = one_task()
    data[name] = []
    answer = forecast(read_case(data), runs=20)
    assert all(item.total.ample == 0 for item in answer.items)
    assert all(f.p == 1 for f in answer.finish) or name == "items"


def test_one_run_is_enough_to_answer():
    total = forecast(read_case(one_task()), runs=1).item("plate").total
    assert total.mean == total.likely == total.ample
    assert total.se_mean == 0


def test_the_first_thousand_runs_stay_when_more_follow():
    # blocks of runs go on in the same streams: 1500 runs hold the 1000
    case = read_case({**one_task(), "service": 0.999})
    few, many = (forecast(case, runs=runs).tasks[0].attempts for runs in (1000, 1001))
    assert abs(few.mean - many.mean) < 0.2
