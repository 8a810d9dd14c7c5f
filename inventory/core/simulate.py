"""The class at its booths, many terms at once: who is there, how many attempts, when each starts.

All draws of one thing (a student's presence on a day, a student's luck at a task, the difficulty
of a task) come from a stream of their own, named by what it is. So the order of rows cannot
matter, and a changed case meets the same luck: with one more student nobody else changes.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from inventory.core.case import Case, Session, Student, Task

Floats = NDArray[np.float64]
Counts = NDArray[np.int32]

BLOCK = 1000  # runs held in memory at once; part of the streams' names, so never a setting
SLACK = 1e-9  # an attempt that fits but for rounding fits


@dataclass
class Draws:
    """Streams of random numbers, one a name: `SeedSequence([seed, crc32("role:id")])`."""

    seed: int
    _streams: dict[str, np.random.Generator] = field(default_factory=dict)

    def stream(self, role: str, *parts: object) -> np.random.Generator:
        """Return the stream of this name; it goes on where the last block of runs left it."""
        name = _name(role, parts)
        if name not in self._streams:
            self._streams[name] = self.fresh(role, *parts)
        return self._streams[name]

    def fresh(self, role: str, *parts: object) -> np.random.Generator:
        """Return a stream from its beginning, for draws that are used up in one block."""
        entropy = [self.seed, crc32(_name(role, parts).encode())]
        return np.random.Generator(np.random.SFC64(np.random.SeedSequence(entropy)))


def _name(role: str, parts: tuple[object, ...]) -> str:
    return f"{role}:{'|'.join(map(str, parts))}"


@dataclass(frozen=True)
class Terms:
    """One block of simulated terms: S sessions, n students, J tasks, R runs."""

    booked: Counts  # (J, S, R) attempts started by the end of each session
    begun: dict[int, Counts]  # (S, R) students who began their first coupon; tasks with practice
    finished: NDArray[np.bool_]  # (n, R)
    student_weeks: Floats  # (S, R) weeks in which a student was at the booths, added up


def sessions_ahead(case: Case, as_of: date | None) -> tuple[Session, ...]:
    """Return the sessions after `as_of` (None: all) in date order."""
    ahead = [s for s in case.sessions if as_of is None or s.day > as_of]
    return tuple(
        sorted(
            ahead, key=lambda s: (s.day, s.minutes, -1 if s.booths is None else s.booths, s.group)
        )
    )


def iso_week(day: date) -> str:
    """Return the week as ISO 8601 writes it: 2026-W09."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def simulate(case: Case, sessions: Sequence[Session], draws: Draws, runs: int) -> Terms:
    """Return one block of `runs` simulated terms over `sessions` (in date order)."""
    clock, weeks = _at_the_bench(case, sessions, draws, runs)
    tasks, students = case.tasks, case.students
    booked = np.zeros((len(tasks), len(sessions), runs), dtype=np.int32)
    free = np.zeros((len(students), runs))  # bench time at which the next thing can begin
    total = clock[-1] if len(sessions) else np.zeros_like(free)
    latest = [float(hours.max(initial=0.0)) for hours in clock]
    rates: dict[tuple[object, ...], Floats] = {}
    begun: dict[int, Counts] = {}
    for j, task in enumerate(tasks):
        rate = _shared_rate(task, draws, runs, rates)
        come = _attempts_to_come(task, students, draws, rate, max(latest, default=0.0))
        if case.pace == "class" and task.target is not None:
            before = sum(s.day < task.target for s in sessions)
            if before:
                free = np.where(come > 0, np.maximum(free, clock[before - 1]), free)
        start = free + _practice(task, students)
        _book(booked[j], come, start, clock, latest, task.minutes)
        if any(use.practice for use in task.uses):
            fresh = come * ~_begun(task, students)
            begun[j] = np.zeros_like(booked[j])
            _book(begun[j], np.minimum(fresh, 1.0), start, clock, latest, task.minutes)
        free = start + come * task.minutes
    finished = free <= total + SLACK * (1 + total)
    return Terms(booked=booked, begun=begun, finished=finished, student_weeks=weeks)


def _at_the_bench(
    case: Case, sessions: Sequence[Session], draws: Draws, runs: int
) -> tuple[Floats, Floats]:
    """Return running bench minutes (S, n, R) and student-weeks to date (S, R)."""
    n = len(case.students)
    present = np.empty((n, runs), dtype=bool)
    clock = np.zeros((len(sessions), n, runs))
    weeks = np.zeros((len(sessions), runs))
    hours = np.zeros((n, runs))
    to_date = np.zeros(runs)
    seen = np.zeros((n, runs), dtype=bool)
    that_day: Counter[tuple[date, str]] = Counter()
    for s, session in enumerate(sessions):
        present[:] = False
        earlier = sessions[s - 1] if s else None
        same_day = that_day[session.day, session.group]
        that_day[session.day, session.group] += 1
        for i, student in enumerate(case.students):
            if student.group != session.group or not student.attendance:
                continue
            if not _enrolled(student, session.day):
                continue
            if student.attendance == 1:
                present[i] = True
            else:
                luck = draws.stream("present", student.id, session.day, same_day).random(runs)
                np.less(luck, student.attendance, out=present[i])
        if session.booths is None:
            share: Floats | float = 1.0
        else:
            share = np.minimum(1.0, session.booths / np.maximum(present.sum(axis=0), 1))
        hours = hours + present * (session.minutes * share)
        clock[s] = hours
        if earlier is None or iso_week(earlier.day) != iso_week(session.day):
            seen[:] = False
        if session.minutes and session.booths != 0:
            to_date = to_date + (present & ~seen).sum(axis=0)
            seen |= present
        weeks[s] = to_date
    return clock, weeks


def _enrolled(student: Student, day: date) -> bool:
    return (student.start is None or student.start <= day) and (
        student.until is None or day < student.until
    )


def first_pass_rate(task: Task, draws: Draws, runs: int) -> Floats:
    """Draw the class's first-coupon pass rate of a task, one value a run.

    Beta(w p + passes, w (1 - p) + fails): one draw for all students, because a hard exercise is
    hard for the whole class. A given pass probability overrides.
    """
    if task.pass_probability is not None:
        return np.full(runs, task.pass_probability)
    if task.first_pass is None:
        raise ValueError(f"task {task.id} has neither first_pass nor pass_probability")
    passing = task.weight * task.first_pass + task.passes
    failing = task.weight * (1 - task.first_pass) + task.fails
    if failing == 0:
        return np.ones(runs)
    name = (task.difficulty, passing, failing) if task.difficulty else (task.id,)
    return draws.stream("pass rate", *name).beta(passing, failing, size=runs)


def _shared_rate(
    task: Task, draws: Draws, runs: int, rates: dict[tuple[object, ...], Floats]
) -> Floats:
    """Return the pass rate of a task; one draw for all that share a difficulty and its figures.

    Other classes doubt the same exercise for the same reason: drawn apart for each class, their
    sum would look surer than it is.
    """
    chance = (task.first_pass, task.weight, task.passes, task.fails, task.pass_probability)
    key = (task.difficulty or task.id, *chance)
    if key not in rates:
        rates[key] = first_pass_rate(task, draws, runs)
    return rates[key]


def _attempts_to_come(
    task: Task, students: Sequence[Student], draws: Draws, rate: Floats, minutes: float
) -> Floats:
    """Return the attempts each student still makes (n, R), however long the term.

    Attempt k passes with odds theta / (1 - theta) * redo_odds^(k - 1). Counting stops beyond what
    `minutes` at the bench could hold: it cannot be told from more.
    """
    runs = len(rate)
    come = np.zeros((len(students), runs))
    enough = math.ceil(minutes / task.minutes) + 2
    groups: dict[int, list[int]] = {}
    for i, student in enumerate(students):
        if task.id not in student.passed and task.group == student.group:
            groups.setdefault(student.attempts.get(task.id, 0), []).append(i)
    for judged, rows in groups.items():
        left = enough if task.cap is None else min(enough, task.cap - judged)
        if left <= 0:
            continue
        luck = np.stack(
            [draws.stream("attempts", students[i].id, task.id).random(runs) for i in rows]
        )
        count = np.ones((len(rows), runs))
        failing = np.ones(runs)  # chance that all attempts so far fail
        boost = math.exp(min(judged * math.log(task.redo_odds), 690.0))
        for _ in range(left - 1):
            failing = failing * ((1 - rate) / ((1 - rate) + rate * boost))
            more = luck < failing
            if not more.any():
                break
            count += more
            boost = min(boost * task.redo_odds, 1e300)
        logged = [task.id in students[i].awaiting for i in rows]
        come[rows] = count - np.array(logged, dtype=float)[:, None]
    return come


def _practice(task: Task, students: Sequence[Student]) -> Floats:
    """Return the practice minutes before the first coupon (n, 1): none once one was handed in."""
    return np.where(_begun(task, students), 0.0, task.practice_minutes)


def _begun(task: Task, students: Sequence[Student]) -> NDArray[np.bool_]:
    """Return who has handed in a coupon of the task, or has none to make (n, 1)."""
    begun = [
        task.group != s.group
        or task.id in s.passed
        or task.id in s.awaiting
        or s.attempts.get(task.id, 0) > 0
        for s in students
    ]
    return np.array(begun, dtype=bool).reshape(-1, 1)


def _book(
    booked: Counts,
    come: Floats,
    start: Floats,
    clock: Floats,
    latest: Sequence[float],
    minutes: float,
) -> None:
    """Fill in the attempts started by the end of each session; each counts where it starts."""
    rows = np.flatnonzero(come.any(axis=1))
    if not len(rows):
        return
    whole = len(rows) == len(come)
    come, start = (come, start) if whole else (come[rows], start[rows])
    everything = come.sum(axis=0)
    first = float(start.min())
    begin = start + SLACK * minutes
    scratch = np.empty_like(come)
    for s, hours in enumerate(clock):
        if latest[s] <= first:
            continue
        if s and np.array_equal(booked[s - 1], everything):
            booked[s:] = booked[s - 1]
            return
        np.subtract(hours if whole else hours[rows], begin, out=scratch)
        np.multiply(scratch, 1 / minutes, out=scratch)
        np.ceil(scratch, out=scratch)
        np.maximum(scratch, 0.0, out=scratch)
        np.minimum(scratch, come, out=scratch)
        booked[s] = scratch.sum(axis=0)
