"""The forecast: edges, common draws, and the same model simulated attempt by attempt."""

import copy
import json
import math
import random
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from inventory.core.case import read_case
from inventory.core.explain import explain
from inventory.core.forecast import forecast
from inventory.core.shelf import shelf_against_demand
from tests.inventory.core.cases import FIRST, one_task, sessions
from tests.inventory.core.plain_loop import simulate_term


def shop(seed):
    """A small class with everything that can differ, different for each seed."""
    rng = random.Random(seed)
    days = sorted(rng.sample(range(60), 7))
    tasks = ["A", "B", "C"]

    def student(n):
        passed = [t for t in tasks[:1] if rng.random() < 0.2]
        open_tasks = [t for t in tasks if t not in passed]
        return {
            "id": f"s{n}",
            "attendance": rng.choice([0.6, 0.85, 1]),
            "from": str(FIRST + timedelta(days=rng.randint(0, 20))) if n == 1 else None,
            "until": str(FIRST + timedelta(days=rng.randint(25, 50))) if n == 2 else None,
            "passed": passed,
            "awaiting": open_tasks[:1] if rng.random() < 0.4 else [],
            "attempts": {open_tasks[0]: rng.randint(0, 3)},
        }

    return {
        "sessions": [
            {
                "date": str(FIRST + timedelta(days=d)),
                "minutes": rng.choice([60, 90, 130]),
                "booths": rng.choice([None, 2, 3, 4]),
            }
            for d in days
        ],
        "students": [student(n) for n in range(5)],
        "tasks": [
            {
                "id": name,
                "minutes": rng.choice([20, 33.3, 45]),
                "practice_minutes": rng.choice([0, 15, 40]),
                "first_pass": rng.choice([0.3, 0.5, 0.8]),
                "passes": rng.randint(0, 5),
                "fails": rng.randint(0, 5),
                "pass_probability": rng.choice([None, None, 0.45]),
                "redo_odds": rng.choice([1, 1.5, 0.8]),
                "cap": rng.choice([3, 4, 6, None]),
                "target": str(FIRST + timedelta(days=days[2 * n])),
                "uses": [
                    {"item": "rod", "quantity": rng.uniform(0.1, 2), "cv": 0.3},
                    {
                        "item": "plate",
                        "quantity": rng.randint(1, 3),
                        "cv": 0,
                        "practice": 2 * n,
                    },
                ],
            }
            for n, name in enumerate(tasks)
        ],
        "items": [
            {"id": "rod", "factor": 1.8, "bias_cv": 0.2, "on_hand": 15},
            {"id": "plate", "factor": 1, "bias_cv": 0, "on_hand": 12},
            {"id": "lens", "per_student_week": 0.5, "on_hand": 8},
        ],
        "pace": "class" if seed % 2 else "own",
    }


@pytest.mark.parametrize("seed", range(8))
def test_the_plain_loop_of_the_same_model_agrees(seed):
    case = read_case(shop(seed))
    as_of = FIRST + timedelta(days=5) if seed % 3 == 0 else None
    runs, terms = 4000, 2500
    answer = forecast(case, runs=runs, seed=seed, as_of=as_of)
    rng = random.Random(1000 + seed)
    plain = [simulate_term(case, rng, as_of) for _ in range(terms)]
    for item in case.items:
        usage = np.array([term.usage[item.id] for term in plain])
        found = answer.item(item.id)
        error = usage.std(axis=0) * math.sqrt(1 / terms + 1 / runs)
        apart = np.abs(usage.mean(axis=0) - found.cumulative.mean)
        assert np.all(apart <= 4 * error + 1e-9), (item.id, apart / error)
        ours, theirs = found.total.se_mean**2 * runs, usage[:, -1].var(ddof=1)
        fourth = np.mean((usage[:, -1] - usage[:, -1].mean()) ** 4)
        error = math.sqrt(max(fourth - theirs**2, 0) * (1 / terms + 1 / runs))
        assert abs(ours - theirs) <= 4 * error + 1e-9, item.id
        _shares_agree(found.p_run_out, np.mean(usage[:, -1] > item.on_hand), runs, terms)
    for task in answer.tasks:
        made = np.array([term.attempts[task.task] for term in plain])
        spread = max(made.std(), task.attempts.se_mean * math.sqrt(runs))
        error = spread * math.sqrt(1 / terms + 1 / runs)
        assert abs(made.mean() - task.attempts.mean) <= 4 * error + 1e-9
    for student in answer.finish:
        share = np.mean([term.finished[student.student] for term in plain])
        _shares_agree(student.p, share, runs, terms)


def _shares_agree(ours, theirs, runs, terms):
    both = (ours * runs + theirs * terms) / (runs + terms)
    error = math.sqrt(both * (1 - both) * (1 / runs + 1 / terms))
    assert abs(ours - theirs) <= 4 * error + 1e-12


def test_simulated_terms_fall_where_the_forecast_says():
    # Randomised probability-integral transform: if the law is right it is uniform on (0, 1).
    rng = random.Random(20)
    places, within = [], 0
    terms = 300
    for term in range(terms):
        p, weight, seen = rng.choice([0.3, 0.5, 0.7]), 8, rng.randint(0, 12)
        theta = rng.betavariate(weight * p, weight * (1 - p))
        passes = sum(rng.random() < theta for _ in range(seen))
        data = one_task(students=6, first_pass=p, passes=passes, fails=seen - passes)
        data["sessions"] = sessions(3, minutes=60, booths=4)
        data["tasks"][0].update(minutes=20, redo_odds=1.5, cap=6)
        truth = copy.deepcopy(data)
        truth["tasks"][0]["pass_probability"] = theta
        used = simulate_term(read_case(truth), rng).usage["plate"][-1]
        data["items"] = [
            {"id": "plate", "bias_cv": 0, "on_hand": used},
            {"id": "a little less", "bias_cv": 0, "on_hand": used - 0.5},
        ]
        data["tasks"][0]["uses"].append({"item": "a little less", "quantity": 1, "cv": 0})
        answer = forecast(read_case(data), runs=500, seed=term)
        above, from_here = (item.p_run_out for item in answer.items)
        places.append(1 - from_here + rng.random() * (from_here - above))
        within += used <= answer.item("plate").total.ample
    assert stats.kstest(places, "uniform").pvalue > 0.01
    assert within / terms >= 0.87


def everything(answer):
    """All figures by name, free of the order of rows."""
    data = answer.as_json()
    for name, key in (("items", "item"), ("tasks", "task"), ("finish", "student")):
        data[name] = {row[key]: row for row in data[name]}
    return json.dumps(data, sort_keys=True)


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_rows_never_matters(seed):
    data = shop(seed)
    data["tasks"][1]["after"], data["tasks"][2]["after"] = ["A"], ["B"]
    shuffled = copy.deepcopy(data)
    rng = random.Random(seed)
    for name in ("sessions", "students", "tasks", "items"):
        rng.shuffle(shuffled[name])
    for task in shuffled["tasks"]:
        rng.shuffle(task["uses"])
    first, second = (forecast(read_case(d), runs=1500, seed=4) for d in (data, shuffled))
    assert everything(first) == everything(second)


def test_the_same_seed_gives_the_same_answer_and_another_gives_another():
    case = read_case(shop(1))
    assert forecast(case, runs=300, seed=1) == forecast(case, runs=300, seed=1)
    assert forecast(case, runs=300, seed=1).items != forecast(case, runs=300, seed=2).items


def unlimited(seed):
    data = shop(seed)
    for session in data["sessions"]:
        session["booths"] = None
    return data


def never_lower(more, less):
    for one in less.items:
        other = more.item(one.item)
        days = [more.sessions.index(day) for day in less.sessions]
        for name in ("mean", "likely", "ample"):
            before = np.array(getattr(one.cumulative, name))
            after = np.array(getattr(other.cumulative, name))[days]
            assert np.all(after >= before - 1e-9), (one.item, name)
        assert other.total.likely >= one.total.likely
        assert other.total.ample >= one.total.ample
        assert other.order.packs >= one.order.packs


@pytest.mark.parametrize("seed", range(6))
def test_one_more_student_never_lowers_a_figure(seed):
    data = unlimited(seed)
    data["students"].insert(2, {"id": "new", "attendance": 0.7})
    more = forecast(read_case(data), runs=1200)
    never_lower(more, forecast(read_case(unlimited(seed)), runs=1200))


@pytest.mark.parametrize("seed", range(6))
def test_one_more_session_never_lowers_a_figure(seed):
    data = shop(seed)
    data["pace"] = "own"
    less = forecast(read_case(data), runs=1200)
    data["sessions"].append({"date": str(FIRST + timedelta(days=31)), "minutes": 90, "booths": 2})
    taken = {s["date"] for s in data["sessions"][:-1]}
    if data["sessions"][-1]["date"] in taken:
        data["sessions"][-1]["date"] = str(FIRST + timedelta(days=70))
    never_lower(forecast(read_case(data), runs=1200), less)


def test_a_session_of_no_minutes_changes_nobodys_luck():
    data = shop(4)
    before = forecast(read_case(data), runs=1200)
    data["sessions"].append({"date": str(FIRST + timedelta(days=1)), "minutes": 0, "booths": None})
    after = forecast(read_case(data), runs=1200)
    assert [i.total for i in after.items] == [i.total for i in before.items]
    assert after.finish == before.finish


def test_one_more_task_at_the_end_leaves_the_tasks_before_it_alone():
    data = shop(3)
    before = forecast(read_case(data), runs=1200)
    data["tasks"].append({"id": "D", "minutes": 20, "first_pass": 0.5})
    after = forecast(read_case(data), runs=1200)
    assert after.tasks[:3] == before.tasks
    assert [i.total for i in after.items] == [i.total for i in before.items]


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


def as_group(case, group):
    """The case as one class of several: every name of its own begins with the group's."""
    case = copy.deepcopy(case)
    for row in (*case["students"], *case["tasks"], *case["items"]):
        row["id"] = f"{group}.{row['id']}"
    for task in case["tasks"]:
        task["uses"] = [{**use, "item": f"{group}.{use['item']}"} for use in task["uses"]]
    for student in case["students"]:
        for key in ("passed", "awaiting"):
            student[key] = [f"{group}.{name}" for name in student.get(key, [])]
        judged = student.get("attempts", {})
        student["attempts"] = {f"{group}.{name}": n for name, n in judged.items()}
    for name in ("sessions", "students", "tasks"):
        case[name] = [{**row, "group": group} for row in case[name]]
    return case


def together(*cases):
    """Several classes in one case."""
    rows = ("sessions", "students", "tasks", "items")
    return {**cases[0], **{name: [row for case in cases for row in case[name]] for name in rows}}


@pytest.mark.parametrize("seeds", [(0, 2), (1, 3)])
def test_classes_in_one_case_are_each_as_if_alone(seeds):
    """The luck is named by student and task, so that the joint figures are equal to the digit."""
    cases = [as_group(shop(seed), f"c{seed}") for seed in seeds]
    joint = forecast(read_case(together(*cases)), runs=300, seed=4)
    for case in cases:
        alone = forecast(read_case(case), runs=300, seed=4)
        for found in alone.items:
            if "lens" not in found.item:  # goes by the student weeks of all classes
                assert joint.item(found.item).total == found.total
        finish = {one.student: one.p for one in joint.finish}
        assert all(finish[one.student] == one.p for one in alone.finish)
        attempts = {one.task: one.attempts for one in joint.tasks}
        assert all(attempts[one.task] == one.attempts for one in alone.tasks)


def test_a_difficulty_that_classes_share_makes_their_sum_less_sure():
    """Var of a sum of two equal terms is 4 Var where they share the rate, 2 Var where not."""

    def both(difficulty):
        cases = [as_group(one_task(students=9, difficulty=difficulty), name) for name in "ab"]
        case = together(*cases)
        for task in case["tasks"]:
            task["uses"] = [{"item": "plate", "quantity": 1, "cv": 0}]
        case["items"] = [{"id": "plate", "bias_cv": 0}]
        return forecast(read_case(case), runs=4000, seed=5).item("plate").total

    shared, apart = both("200/A"), both("")
    assert shared.mean == pytest.approx(apart.mean, abs=5 * (shared.se_mean + apart.se_mean))
    # 18 + betanbinom(18, 4, 4) where one rate rules both classes, as for a class of 18
    together_18 = stats.betanbinom(18, 4, 4, loc=18)
    assert shared.ample_ci[0] <= together_18.ppf(0.9) <= shared.ample_ci[1]
    assert apart.ample < shared.ample


def test_a_shared_difficulty_with_other_figures_does_not_depend_on_the_order():
    cases = [
        as_group(one_task(difficulty="200/A", weight=weight), name)
        for name, weight in (("a", 8), ("b", 4))
    ]
    totals = [
        {one.item: one.total for one in forecast(read_case(together(*order)), runs=200).items}
        for order in (cases, cases[::-1])
    ]
    assert totals[0] == totals[1]
