"""What a class will use up, when, and how sure that figure is.

The class is simulated for many terms (`simulate`); usage turns attempts into quantities and the
figures are quantiles of the simulated terms: the likely one is the median, the ample one the
case's `service` quantile. A quantile is the smallest simulated value with F(x) >= q, never
interpolated; cumulative and weekly figures are distributions of their own, so that ample
figures of weeks are never added up.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import special

from inventory.core.case import Case, CaseError, Fault, Item, Task, Use, read_case
from inventory.core.orders import Order, exceeds, money, plan_order, supply_by
from inventory.core.simulate import (
    BLOCK,
    Counts,
    Draws,
    Floats,
    Terms,
    iso_week,
    sessions_ahead,
    simulate,
)

RUNS = 2000
SEED = 20260907
LIKELY = 0.5
CONFIDENCE = 0.95
MAX_RUNS = 100_000
NO_SPREAD = 1e-6  # a coefficient of variation below this cannot be told from none
MAX_PATH = 2000  # attempts of a class at one task that are drawn one by one


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Mean, likely and ample figure at each session or week, item's unit."""

    mean: tuple[float, ...]
    likely: tuple[float, ...]
    ample: tuple[float, ...]

    def as_json(self) -> dict[str, list[float]]:
        return {"mean": [*self.mean], "likely": [*self.likely], "ample": [*self.ample]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """The whole term, with the sampling error: se of the mean, 95 % intervals of the quantiles."""

    mean: float
    se_mean: float
    likely: float
    likely_ci: tuple[float, float]
    ample: float
    ample_ci: tuple[float, float]

    def as_json(self) -> dict[str, Any]:
        return {
            "mean": self.mean,
            "se_mean": self.se_mean,
            "likely": self.likely,
            "likely_ci": [*self.likely_ci],
            "ample": self.ample,
            "ample_ci": [*self.ample_ci],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemForecast:
    """One stock item: demand by session and week, what is there, and what to order."""

    item: str
    unit: str
    cumulative: Curve
    weekly: Curve
    total: Total
    on_hand: float
    on_order: float
    supply: tuple[float, ...]  # shelf with receipts due by each session, nothing used
    run_out: tuple[float, ...]  # chance that demand to date exceeds it, by session
    p_run_out: float  # the same at the end
    order: Order

    def as_json(self) -> dict[str, Any]:
        return {
            "item": self.item,
            "unit": self.unit,
            "cumulative": self.cumulative.as_json(),
            "weekly": self.weekly.as_json(),
            "total": self.total.as_json(),
            "on_hand": self.on_hand,
            "on_order": self.on_order,
            "supply": [*self.supply],
            "run_out": [*self.run_out],
            "p_run_out": self.p_run_out,
            "need": self.order.need,
            "packs": self.order.packs,
            "packs_likely": self.order.packs_likely,
            "runs_out": _iso(self.order.runs_out),
            "order_by": _iso(self.order.order_by),
            "late": self.order.late,
            "cost_likely": money(self.order.cost_likely),
            "cost_ample": money(self.order.cost_ample),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskForecast:
    """Attempts of one task that the class starts until the end of the term."""

    task: str
    attempts: Total
    begun: float  # students who begin their first coupon, mean; 0 where nothing hangs on it


@dataclass(frozen=True, slots=True, kw_only=True)
class Unmatched:
    """An item that tasks use and the shelf does not know: its plain use, no factor, no doubt."""

    item: str
    tasks: tuple[str, ...]
    mean: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """The chance that a student has finished every task by the last session."""

    student: str
    p: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """The answer: items and students in the case's order, sessions and weeks by date."""

    sessions: tuple[date, ...]  # those after as_of
    weeks: tuple[str, ...]  # the weeks they fall in, as ISO 8601 writes them
    items: tuple[ItemForecast, ...]
    tasks: tuple[TaskForecast, ...]
    unmatched: tuple[Unmatched, ...]
    finish: tuple[Finish, ...]
    student_weeks: float  # mean
    service: float
    runs: int
    seed: int
    as_of: date | None

    def item(self, identity: str) -> ItemForecast:
        """Return the forecast of one item; KeyError if the case has none of that name."""
        for found in self.items:
            if found.item == identity:
                return found
        raise KeyError(identity)

    def as_json(self) -> dict[str, Any]:
        """Return the object of the `forecast` command."""
        return {
            "contract": "forecast/1",
            "as_of": _iso(self.as_of),
            "runs": self.runs,
            "seed": self.seed,
            "service": self.service,
            "sessions": [day.isoformat() for day in self.sessions],
            "weeks": [*self.weeks],
            "items": [item.as_json() for item in self.items],
            "tasks": [{"task": t.task, "attempts": t.attempts.as_json()} for t in self.tasks],
            "unmatched": [
                {"item": u.item, "tasks": [*u.tasks], "mean": u.mean} for u in self.unmatched
            ],
            "finish": [{"student": f.student, "p": f.p} for f in self.finish],
            "student_weeks": self.student_weeks,
        }


def forecast(
    case: Case, *, runs: int = RUNS, seed: int = SEED, as_of: date | None = None
) -> Forecast:
    """Forecast what the class of `case` uses up after `as_of`.

    Parameters
    ----------
    case : Case
        As `read_case` gives it; values are taken as checked there.
    runs : int
        Simulated terms, 1 to 100,000. The sampling error falls with its root.
    seed : int
        From 0. The same case, seed and runs give the same answer.
    as_of : date, optional
        Only sessions after this day count, and an order-by date before it is late. None: all
        sessions count and nothing is late.

    Raises
    ------
    ValueError
        If runs or seed is outside its range.

    Notes
    -----
    Booths are not told apart by process here, and a student works through the plan in its
    order: a booth of the wrong kind or a jump in the plan makes the figures too high or early.
    The scatter of one attempt is drawn once and shared by all its items (a coupon that took much
    rod took much gas); sums over different items would have to take that into account.
    """
    if not 1 <= runs <= MAX_RUNS:
        raise ValueError(f"runs must be from 1 to {MAX_RUNS}, got {runs}")
    if seed < 0:
        raise ValueError(f"seed must be 0 or more, got {seed}")
    sessions = sessions_ahead(case, as_of)
    days = tuple(session.day for session in sessions)
    index = {item.id: n for n, item in enumerate(case.items)}
    usage = np.zeros((len(case.items), len(sessions), runs))
    attempts = np.zeros((len(case.tasks), runs))
    begun = np.zeros(len(case.tasks))
    finished = np.zeros(len(case.students))
    student_weeks = 0.0
    draws = Draws(seed)
    for block, begin in enumerate(range(0, runs, BLOCK)):
        end = min(begin + BLOCK, runs)
        terms = simulate(case, sessions, draws, end - begin)
        _use_up(usage[:, :, begin:end], case, index, terms, draws, block)
        if sessions:
            attempts[:, begin:end] = terms.booked[:, -1]
            for j, counts in terms.begun.items():
                begun[j] += float(counts[-1].sum())
            student_weeks += float(terms.student_weeks[-1].sum())
        finished += terms.finished.sum(axis=1)
    week_names = [iso_week(day) for day in days]
    last = [n for n, week in enumerate(week_names) if week_names[n + 1 : n + 2] != [week]]
    return Forecast(
        sessions=days,
        weeks=tuple(week_names[n] for n in last),
        items=tuple(
            _sum_up(item, usage[n], days, last, case, as_of) for n, item in enumerate(case.items)
        ),
        tasks=tuple(
            TaskForecast(
                task=task.id,
                attempts=_total(attempts[j], case.service),
                begun=float(begun[j]) / runs,
            )
            for j, task in enumerate(case.tasks)
        ),
        unmatched=_unmatched(case, index, attempts),
        finish=tuple(
            Finish(student=student.id, p=float(finished[n]) / runs)
            for n, student in enumerate(case.students)
        ),
        student_weeks=student_weeks / runs,
        service=case.service,
        runs=runs,
        seed=seed,
        as_of=as_of,
    )


def _use_up(
    usage: Floats, case: Case, index: dict[str, int], terms: Terms, draws: Draws, block: int
) -> None:
    """Add up what the booked attempts take, item by item (I, S, R)."""
    for j, task in enumerate(case.tasks):
        _use_task(usage, task, index, terms.booked[j], draws, block)
        for use in task.uses:
            if use.practice and use.item in index:
                usage[index[use.item]] += use.practice * terms.begun[j]
    runs = usage.shape[2]
    for n, item in enumerate(case.items):
        usage[n] *= factor(item, draws, runs)
        if item.per_student_week:
            usage[n] += item.per_student_week * terms.student_weeks


def factor(item: Item, draws: Draws, runs: int) -> Floats | float:
    """Draw how much more is really used than computed: Gamma, mean `factor`, cv `bias_cv`."""
    if item.bias_cv < NO_SPREAD:
        return item.factor
    shape = item.bias_cv**-2
    return draws.stream("factor", item.id).standard_gamma(shape, runs) * (item.factor / shape)


def _use_task(
    usage: Floats,
    task: Task,
    index: dict[str, int],
    booked: Counts,
    draws: Draws,
    block: int,
) -> None:
    most = int(booked[-1].max(initial=0)) if len(booked) else 0
    if not most:
        return
    scatter: dict[tuple[float, int], NDArray[np.floating]] = {}
    times_listed: Counter[str] = Counter()
    for use in sorted(task.uses, key=lambda u: (u.item, u.quantity, u.cv)):
        if use.item not in index or not use.quantity:
            continue
        again = times_listed[use.item]
        times_listed[use.item] += 1
        if (use.cv, again) not in scatter:
            scatter[use.cv, again] = _scatter(task, use, again, booked, most, draws, block)
        usage[index[use.item]] += use.quantity * scatter[use.cv, again]


def _scatter(
    task: Task,
    use: Use,
    again: int,
    booked: Counts,
    most: int,
    draws: Draws,
    block: int,
) -> NDArray[np.floating]:
    """Return n attempts' use in units of one mean use, for each n in `booked`.

    The sum of n Gamma(mean 1, cv). Attempts are drawn one by one in the order in which the class
    makes them and added up, so that further attempts never change the earlier ones.
    """
    if use.cv < NO_SPREAD:
        return booked.astype(np.float64)
    shape = use.cv**-2
    stream = draws.fresh("usage", task.id, use.cv, again, block)
    if most > MAX_PATH:
        steps = np.diff(booked, axis=0, prepend=0)
        return np.cumsum(stream.standard_gamma(steps * shape), axis=0) / shape
    path = np.zeros((most + 1, booked.shape[1]), dtype=np.float32)
    stream.standard_gamma(shape, dtype=np.float32, out=path[1:])
    np.cumsum(path, axis=0, out=path)
    path /= shape
    return np.take_along_axis(path, booked, axis=0)


def _sum_up(
    item: Item,
    usage: Floats,
    days: Sequence[date],
    last: Sequence[int],
    case: Case,
    as_of: date | None,
) -> ItemForecast:
    cumulative = _curve(usage, case.service)
    total = _total(usage[-1] if days else np.zeros(usage.shape[1]), case.service)
    supply = tuple(supply_by(day, item.on_hand, item.on_order) for day in days)
    run_out = tuple(
        float(np.mean(used > there + 1e-9 * abs(there)))
        for used, there in zip(usage, supply, strict=True)
    )
    return ItemForecast(
        item=item.id,
        unit=item.unit,
        cumulative=cumulative,
        weekly=_curve(np.diff(usage[last], axis=0, prepend=0.0), case.service),
        total=total,
        on_hand=item.on_hand,
        on_order=sum(receipt.quantity for receipt in item.on_order),
        supply=supply,
        run_out=run_out,
        p_run_out=run_out[-1] if run_out else float(exceeds(0.0, item.on_hand)),
        order=plan_order(
            item,
            days=days,
            ample=cumulative.ample,
            likely_total=total.likely,
            ample_total=total.ample,
            as_of=as_of,
            closed=case.closed,
        ),
    )


def rank(quantile: float, runs: int) -> int:
    """Return the place, from 0, of the smallest value with F(x) >= `quantile` (0 to 1)."""
    return min(max(math.ceil(quantile * runs - 1e-9), 1), runs) - 1


@lru_cache(maxsize=64)
def quantile_ranks(quantile: float, runs: int) -> tuple[int, int]:
    """Return the places, from 0, of the 95 % interval of a quantile.

    Binomial order statistics: the number of simulated values below the true quantile is
    Binomial(runs, quantile), whatever the distribution.
    """
    below = special.bdtr(np.arange(runs + 1), runs, quantile)
    tail = (1 - CONFIDENCE) / 2
    low = int(np.searchsorted(below, tail))
    high = int(np.searchsorted(below, 1 - tail)) + 1
    return max(low, 1) - 1, min(high, runs) - 1


def _mean(values: Floats) -> tuple[float, float]:
    """Return mean and standard error; exact where all values are alike."""
    first = float(values[0])
    apart = values - first
    spread = float(apart.std(ddof=1)) if len(values) > 1 else 0.0
    return first + float(apart.mean()), spread / math.sqrt(len(values))


def _total(values: Floats, service: float) -> Total:
    ordered = np.sort(values)
    runs = len(ordered)
    mean, error = _mean(ordered)
    likely, ample = (
        [float(ordered[k]) for k in (rank(q, runs), *quantile_ranks(q, runs))]
        for q in (LIKELY, service)
    )
    return Total(
        mean=mean,
        se_mean=error,
        likely=likely[0],
        likely_ci=(likely[1], likely[2]),
        ample=ample[0],
        ample_ci=(ample[1], ample[2]),
    )


def _curve(values: Floats, service: float) -> Curve:
    runs = values.shape[1]
    places = rank(LIKELY, runs), rank(service, runs)
    ordered = np.partition(values, sorted(set(places)), axis=1)
    first = values[:, :1]
    return Curve(
        mean=tuple((first[:, 0] + (values - first).mean(axis=1)).tolist()),
        likely=tuple(ordered[:, places[0]].tolist()),
        ample=tuple(ordered[:, places[1]].tolist()),
    )


def _unmatched(case: Case, index: dict[str, int], attempts: Floats) -> tuple[Unmatched, ...]:
    tasks: dict[str, list[str]] = {}
    mean: Counter[str] = Counter()
    for task, made in zip(case.tasks, attempts, strict=True):
        for use in task.uses:
            if use.item not in index:
                if task.id not in tasks.setdefault(use.item, []):
                    tasks[use.item].append(task.id)
                mean[use.item] += use.quantity * float(made.mean())  # type: ignore[assignment]
    return tuple(
        Unmatched(item=name, tasks=tuple(tasks[name]), mean=mean[name]) for name in sorted(tasks)
    )


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


__all__ = [
    "Case",
    "CaseError",
    "Curve",
    "Fault",
    "Forecast",
    "ItemForecast",
    "forecast",
    "read_case",
]
