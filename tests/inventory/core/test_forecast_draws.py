"""The forecast's draws: common to what is compared, and the same model attempt by attempt."""

import copy
import json
import math
import random
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats

from inventory.core.case import read_case
from inventory.core.forecast import forecast
from tests.inventory.core.cases import FIRST, one_task, sessions, shop
from tests.inventory.core.plain_loop import simulate_term


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
