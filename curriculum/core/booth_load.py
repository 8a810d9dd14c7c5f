"""What a term plan asks of the booths, week by week and process by process; a first spread.

Booths do several processes each, so the minutes that two processes have are not additive: what is
short is judged for every set of processes together.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from curriculum.core.term_plan import Booth, Entry, SessionSlot, Targets

REDO_ODDS = 1.5  # a redo multiplies the odds of a pass; common practice, no source
CAP = 6  # coupons


def expected_attempts(first_pass: float, *, redo_odds: float = REDO_ODDS, cap: int = CAP) -> float:
    """Return the mean number of coupons until one passes or the student is moved on.

    Attempt k passes with odds p / (1 - p) * redo_odds ** (k - 1); at `cap` attempts the instructor
    moves the student on. The mean is the sum of the chances that attempt k is needed.

    Raises `ValueError` unless 0 < first_pass <= 1, redo_odds > 0 and cap >= 1.
    """
    if not 0 < first_pass <= 1:
        raise ValueError(f"first_pass must be above 0 and at most 1, got {first_pass}")
    if not 0 < redo_odds < 1e6 or cap < 1:
        raise ValueError("redo_odds must be above 0 and cap at least 1")
    mean, needed = 0.0, 1.0
    for redo in range(cap):
        mean += needed
        # 1 - odds / (1 + odds), without dividing by 1 - first_pass, which may be 0
        fail = (1 - first_pass) / ((1 - first_pass) + first_pass * redo_odds**redo)
        needed *= fail
    return mean


def booth_minutes(
    entry: Entry, students: int, *, redo_odds: float = REDO_ODDS, cap: int = CAP
) -> float:
    """Return the booth minutes an entry still takes: practice and the coupons to be expected.

    `students`, 0 or more, are those of the class; an entry that says `to_do` counts these instead.
    Each does every required setup. `redo_odds` and `cap` as in `expected_attempts`.
    """
    to_do = students if entry.to_do is None else entry.to_do
    attempts = expected_attempts(entry.first_pass, redo_odds=redo_odds, cap=cap)
    return to_do * entry.setups * (entry.practice_minutes + attempts * entry.minutes)


@dataclass(frozen=True, slots=True)
class ProcessLoad:
    needed: float
    available: float  # of the booths that can do it; these also do other processes

    @property
    def share(self) -> float:
        """Needed over available; infinite where there is need and no booth."""
        if self.available:
            return self.needed / self.available
        return float("inf") if self.needed else 0.0


@dataclass(frozen=True, slots=True)
class Shortage:
    """Processes that together need more than the booths that do any of them have."""

    processes: tuple[str, ...]
    needed: float
    available: float


@dataclass(frozen=True, slots=True)
class WeekLoad:
    """Booth minutes of one week, by process and in total."""

    week: date
    by_process: Mapping[str, ProcessLoad]
    total: ProcessLoad
    shortages: tuple[Shortage, ...]


def load(
    entries: Sequence[Entry],
    sessions: Sequence[SessionSlot],
    booths: Sequence[Booth],
    students: int,
    *,
    redo_odds: float = REDO_ODDS,
    cap: int = CAP,
) -> list[WeekLoad]:
    """Return needed against available booth minutes, week by week, in the order of weeks.

    An entry's minutes are spread by net minutes over the sessions from its target to the session
    before the next later target. Entries without a target are left out. Sessions are in order.
    """
    up = [booth.processes for booth in booths if not booth.is_down]
    targets = sorted({one.target for one in entries if one.target is not None})
    weeks: dict[date, dict[str, float]] = {slot.week: {} for slot in sessions}
    for entry in entries:
        if entry.target is None or not 0 <= entry.target < len(sessions):
            continue
        later = [one for one in targets if one > entry.target]
        span = sessions[entry.target : min(later[0], len(sessions)) if later else len(sessions)]
        minutes = booth_minutes(entry, students, redo_odds=redo_odds, cap=cap)
        whole = sum(slot.minutes for slot in span)
        for slot in span:
            part = slot.minutes / whole if whole else 1 / len(span)
            week = weeks[slot.week]
            week[entry.process] = week.get(entry.process, 0.0) + minutes * part
    net = {week: sum(one.minutes for one in sessions if one.week == week) for week in weeks}
    return [_week_load(week, needed, net[week], up) for week, needed in sorted(weeks.items())]


def _week_load(
    week: date, needed: Mapping[str, float], net: float, up: Sequence[frozenset[str]]
) -> WeekLoad:
    names = sorted(needed.keys() | set().union(*up))
    by_process = {
        name: ProcessLoad(needed.get(name, 0.0), net * _able(up, {name})) for name in names
    }
    total = ProcessLoad(sum(needed.values()), net * len(up))
    return WeekLoad(week, by_process, total, tuple(_shortages(needed, net, up)))


def _able(up: Iterable[frozenset[str]], processes: Collection[str]) -> int:
    return sum(not processes_of.isdisjoint(processes) for processes_of in up)


def _shortages(
    needed: Mapping[str, float], net: float, up: Sequence[frozenset[str]]
) -> Iterator[Shortage]:
    """Give the smallest sets of processes that are short (Hall's condition for shared booths)."""
    short: list[set[str]] = []
    names = sorted(name for name, minutes in needed.items() if minutes > 0)
    for size in range(1, len(names) + 1):
        for group in itertools.combinations(names, size):
            minutes, there = sum(needed[name] for name in group), net * _able(up, group)
            if minutes > there * (1 + 1e-9) and not any(one <= set(group) for one in short):
                short.append(set(group))
                yield Shortage(group, minutes, there)


def suggest_targets(
    entries: Sequence[Entry],
    sessions: Sequence[SessionSlot],
    booths: Sequence[Booth],
    students: int,
    *,
    redo_odds: float = REDO_ODDS,
    cap: int = CAP,
) -> Targets:
    """Spread the entries over the sessions in their order, as evenly as the booths allow.

    Each entry begins at the earliest session that has room for it, none before an entry that
    stands before it, none before what it needs is done. The booths are taken as smaller than they
    are, as far as everything still fits: that is what makes the load even. Where it does not
    fit, the plan is filled as it comes and `past_the_end` names what found no room.
    """
    minutes = [booth_minutes(one, students, redo_odds=redo_odds, cap=cap) for one in entries]
    up = [booth.processes for booth in booths if not booth.is_down]
    low, high = 0.0, 1.0
    best = _fill(entries, minutes, sessions, up, 1.0)
    if not best.past_the_end:
        for _halving in range(12):
            middle = (low + high) / 2
            found = _fill(entries, minutes, sessions, up, middle)
            if found.past_the_end:
                low = middle
            else:
                best, high = found, middle
    return best


def _fill(
    entries: Sequence[Entry],
    minutes: Sequence[float],
    sessions: Sequence[SessionSlot],
    up: Sequence[frozenset[str]],
    share: float,
) -> Targets:
    names = sorted({entry.process for entry in entries})
    groups = [
        frozenset(group)
        for size in range(1, len(names) + 1)
        for group in itertools.combinations(names, size)
    ]
    room = [
        {group: slot.minutes * share * _able(up, group) for group in groups} for slot in sessions
    ]
    targets: dict[Hashable, int | None] = {}
    ends: dict[str, int] = {}
    past: list[Entry] = []
    begin = 0
    for entry, need in zip(entries, minutes, strict=True):
        first: int | None = None
        last, left = max((ends.get(one, 0) for one in entry.needs), default=0), need
        taken: list[tuple[int, float]] = []
        for place in range(max(begin, last), len(sessions)):
            free = min(
                (there for group, there in room[place].items() if entry.process in group),
                default=0.0,
            )
            if free > 1e-9 or (need == 0 and sessions[place].minutes):
                first = place if first is None else first
                taken.append((place, min(free, left)))
                left -= min(free, left)
                if left <= 1e-6:
                    break
        if first is None or left > 1e-6:
            past.append(entry)
            targets[entry.id] = None
            ends[entry.number] = len(sessions)
            continue
        for place, used in taken:
            for group in groups:
                if entry.process in group:
                    room[place][group] -= used
        begin, ends[entry.number] = first, taken[-1][0]
        targets[entry.id] = first
    return Targets(targets, tuple(past))
