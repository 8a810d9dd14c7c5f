"""The forecast's model once more, attempt by attempt in plain Python, as an outside check.

Nothing is shared with `inventory.core` but the case: other random numbers, one coin an attempt
instead of inversion, a state machine through the sessions instead of a formula.
"""

import random
from dataclasses import dataclass
from datetime import date

from inventory.core.case import Case


@dataclass
class Term:
    """One simulated term."""

    usage: dict[str, list[float]]  # item to demand to date, by session
    attempts: dict[str, int]
    finished: dict[str, bool]


@dataclass
class Bench:
    """Where one student stands."""

    todo: list
    clock: float = 0.0  # bench minutes had so far
    free: float = 0.0  # bench minute at which the next attempt can start
    number: int = 0  # attempts at the present task so far
    fresh: bool = True  # the present task has not been looked at yet


def simulate_term(case: Case, rng: random.Random, as_of: date | None = None) -> Term:
    sessions = sorted(
        (s for s in case.sessions if as_of is None or s.day > as_of), key=lambda s: s.day
    )
    theta = {}
    for task in case.tasks:
        if task.pass_probability is not None:
            theta[task.id] = task.pass_probability
            continue
        a = task.weight * task.first_pass + task.passes
        b = task.weight * (1 - task.first_pass) + task.fails
        theta[task.id] = rng.betavariate(a, b) if b > 0 else 1.0
    bias = {}
    for item in case.items:
        g = item.bias_cv
        bias[item.id] = rng.gammavariate(1 / g**2, item.factor * g**2) if g else item.factor
    usage = {item.id: [] for item in case.items}
    to_date = dict.fromkeys(usage, 0.0)
    attempts = {task.id: 0 for task in case.tasks}
    benches = {
        s.id: Bench(todo=[t for t in case.tasks if t.id not in s.passed]) for s in case.students
    }
    for student in case.students:  # coupons on the instructor's desk are decided first
        bench = benches[student.id]
        for task in list(bench.todo):
            judged = student.attempts.get(task.id, 0)
            if task.cap is not None and judged >= task.cap:
                bench.todo.remove(task)
            elif task.id in student.awaiting:
                last = task.cap is not None and judged + 1 >= task.cap
                if passes(theta[task.id], task.redo_odds, judged + 1, rng) or last:
                    bench.todo.remove(task)
    week_of_last_visit = {}
    for session in sessions:
        there = [
            s
            for s in case.students
            if (s.start is None or session.day >= s.start)
            and (s.until is None or session.day < s.until)
            and rng.random() < s.attendance
        ]
        for student in there:
            share = 1.0
            if session.booths is not None and session.booths < len(there):
                share = session.booths / len(there)
            bench = benches[student.id]
            bench.clock += session.minutes * share
            work(case, student, bench, session, theta, bias, to_date, attempts, rng)
            week = session.day.isocalendar()[:2]
            if session.minutes * share > 0 and week_of_last_visit.get(student.id) != week:
                week_of_last_visit[student.id] = week
                for item in case.items:
                    to_date[item.id] += item.per_student_week
        for name, amounts in usage.items():
            amounts.append(to_date[name])
    finished = {
        name: not bench.todo and bench.free <= bench.clock + 1e-6 for name, bench in benches.items()
    }
    return Term(usage=usage, attempts=attempts, finished=finished)


def work(case, student, bench, session, theta, bias, to_date, attempts, rng) -> None:
    while bench.todo:
        task = bench.todo[0]
        judged = student.attempts.get(task.id, 0)
        logged = task.id in student.awaiting
        if bench.fresh:
            if case.pace == "class" and task.target is not None and session.day < task.target:
                bench.free = max(bench.free, bench.clock)  # idle to the end of this session
                return
            if judged == 0 and not logged:
                bench.free += task.practice_minutes
            bench.number = judged + logged
            bench.fresh = False
        if bench.free >= bench.clock - 1e-7:
            return
        bench.number += 1
        attempts[task.id] += 1
        bench.free += task.minutes
        for use in task.uses:
            if use.item in to_date:
                if bench.number == 1:
                    to_date[use.item] += use.practice * bias[use.item]
                amount = use.quantity
                if use.cv and use.quantity:
                    amount = rng.gammavariate(1 / use.cv**2, use.quantity * use.cv**2)
                to_date[use.item] += amount * bias[use.item]
        at_cap = task.cap is not None and bench.number >= task.cap
        if passes(theta[task.id], task.redo_odds, bench.number, rng) or at_cap:
            bench.todo.pop(0)
            bench.fresh = True


def passes(theta: float, redo_odds: float, number: int, rng: random.Random) -> bool:
    if theta >= 1:
        return True
    odds = theta / (1 - theta) * redo_odds ** (number - 1)
    return rng.random() < odds / (1 + odds)
