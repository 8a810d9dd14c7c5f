"""A class's term plan: its order, its sessions, and what moves when one is lost.

A plan is an ordered tuple of `Entry`; a target is the place of the session (0 the first) in which
the class begins an entry. What it asks of the booths is in `booth_load`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta

from curriculum.core.sentence import Sentence as _

PLANNED, LOST = "planned", "lost"
DAYS_MAX = 731


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """An exercise in the plan. Minutes are of one setup; `setups` counts those it requires."""

    id: Hashable
    number: str
    title: str = ""
    process: str
    needs: tuple[str, ...] = ()
    setups: int = 1
    minutes: float
    practice_minutes: float = 0.0
    first_pass: float
    target: int | None = None
    to_do: int | None = None  # students who still have it before them; None: the whole class

    def __post_init__(self) -> None:
        if not 0 < self.first_pass <= 1:
            raise ValueError(f"first_pass must be above 0 and at most 1, got {self.first_pass}")
        if not (0 < self.minutes < 1e6 and 0 <= self.practice_minutes < 1e6):
            raise ValueError("minutes must be above 0 and practice_minutes at least 0")
        if self.setups < 0 or (self.to_do is not None and self.to_do < 0):
            raise ValueError("setups and to_do must be at least 0")

    @property
    def label(self) -> str:
        return f"{self.number} {self.title}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionSlot:
    """One meeting: a local date with start and end, and its minutes at the booth."""

    date: dt.date
    start: time
    end: time
    net_minutes: float
    state: str = PLANNED  # planned, theory, lost

    @property
    def minutes(self) -> float:
        """Minutes at the booth that really are there."""
        return self.net_minutes if self.state == PLANNED else 0.0

    @property
    def week(self) -> dt.date:
        """The Monday of its week."""
        return self.date - timedelta(days=self.date.weekday())


@dataclass(frozen=True, slots=True, kw_only=True)
class Booth:
    name: str
    processes: frozenset[str]
    is_down: bool = False


@dataclass(frozen=True, slots=True)
class OrderFault:
    """An entry that stands before one that it needs."""

    first: Entry  # stands too early
    needed: Entry
    sentence: _


class IllegalMove(ValueError):
    """A move that the order forbids; the message says why."""


def order_faults(entries: Sequence[Entry]) -> list[OrderFault]:
    """Return every entry that stands before one it needs.

    What an entry needs and the plan does not hold is no fault: it may be credited or passed.
    """
    places = {entry.number: place for place, entry in enumerate(entries)}
    faults = []
    for place, entry in enumerate(entries):
        for need in entry.needs:
            if (other := places.get(need, -1)) > place:
                needed = entries[other]
                sentence = _(
                    "%(first)s needs %(needed)s first and cannot stand before it.",
                    first=entry.label,
                    needed=needed.label,
                )
                faults.append(OrderFault(entry, needed, sentence))
    return faults


def target_faults(entries: Sequence[Entry]) -> list[OrderFault]:
    """Return every entry that begins in an earlier session than one it needs."""
    by_number = {entry.number: entry for entry in entries}
    faults = []
    for entry in entries:
        for needed in (by_number[need] for need in entry.needs if need in by_number):
            if None not in (entry.target, needed.target) and entry.target < needed.target:  # type: ignore[operator]
                sentence = _(
                    "%(first)s needs %(needed)s, which begins only in session %(session)s.",
                    first=entry.label,
                    needed=needed.label,
                    session=(needed.target or 0) + 1,
                )
                faults.append(OrderFault(entry, needed, sentence))
    return faults


def move(entries: Sequence[Entry], id: Hashable, to: str | int) -> tuple[Entry, ...]:
    """Move one entry up, down, or to a place counted from 0; targets stay with the places.

    Raises `IllegalMove` where a new fault of order would come of it, in the list or in the
    sessions, where there is no such entry, and where the place is outside the plan.
    """
    places = [place for place, entry in enumerate(entries) if entry.id == id]
    if not places:
        raise IllegalMove(_("This exercise is not in the plan any more."))
    here = places[0]
    there = {"up": here - 1, "down": here + 1}.get(to, to) if isinstance(to, str) else to
    if isinstance(there, str):
        raise IllegalMove(_("An exercise moves up, down or to a place in the plan."))
    if not 0 <= there < len(entries):
        label = entries[here].label
        if there < 0:
            raise IllegalMove(_("%(label)s is already the first of the plan.", label=label))
        raise IllegalMove(_("%(label)s is already the last of the plan.", label=label))
    order = list(entries)
    order.insert(there, order.pop(here))
    moved = tuple(
        replace(one, target=place.target) for one, place in zip(order, entries, strict=True)
    )
    _refuse_new(order_faults(entries), order_faults(moved))
    _refuse_new(target_faults(entries), target_faults(moved))
    return moved


def set_target(entries: Sequence[Entry], id: Hashable, target: int | None) -> tuple[Entry, ...]:
    """Let one entry begin in session `target`, or in none.

    Raises `IllegalMove` where it would begin before an entry it needs, or after one that needs it.
    """
    changed = tuple(replace(one, target=target) if one.id == id else one for one in entries)
    _refuse_new(target_faults(entries), target_faults(changed))
    return changed


def _refuse_new(old: Sequence[OrderFault], new: Sequence[OrderFault]) -> None:
    known = {(fault.first.id, fault.needed.id) for fault in old}
    found = [fault for fault in new if (fault.first.id, fault.needed.id) not in known]
    if found:
        raise IllegalMove(_.join(fault.sentence for fault in found))


@dataclass(frozen=True, slots=True)
class Targets:
    """New targets by entry id; `past_the_end` names the entries that found no session."""

    targets: Mapping[Hashable, int | None]
    past_the_end: tuple[Entry, ...] = ()


def shift_after_lost(
    entries: Sequence[Entry], sessions: Sequence[SessionSlot], lost: int
) -> Targets:
    """Return the targets after session `lost` fell out: what follows begins one session later.

    Entries that were to begin in the lost session or after it move to the next planned session
    after their own; those before it stay. An entry past the last session gets None and is named.

    Raises `ValueError` where there is no such session.
    """
    if not 0 <= lost < len(sessions):
        raise ValueError(f"lost must be a session from 0 to {len(sessions) - 1}, got {lost}")
    targets: dict[Hashable, int | None] = {}
    past: list[Entry] = []
    for entry in entries:
        target = entry.target
        if target is not None and target >= lost:
            planned = (
                place
                for place in range(target + 1, len(sessions))
                if place != lost and sessions[place].state == PLANNED
            )
            target = next(planned, None)
            if target is None:
                past.append(entry)
        targets[entry.id] = target
    return Targets(targets, tuple(past))


def sessions_from_pattern(
    start: date,
    end: date,
    weekdays: Collection[int],
    start_time: time,
    end_time: time,
    closed_dates: Collection[date],
    net_minutes: float,
) -> list[SessionSlot]:
    """Return the sessions of a weekly pattern, both days included, closed dates left out.

    `weekdays` counts from Monday, 0 to 6. Raises `ValueError` where the days or times are the
    wrong way round, the term is longer than two years, a weekday is none, or the net minutes are
    not above 0 and within the session.
    """
    if not start <= end:
        raise ValueError(_("The last day is before the first day."))
    if (end - start).days >= DAYS_MAX:
        raise ValueError(_("A term is at most two years long."))
    if not weekdays or not all(0 <= day <= 6 for day in weekdays):
        raise ValueError(_("Choose at least one weekday, 0 for Monday to 6 for Sunday."))
    long = (end_time.hour - start_time.hour) * 60 + end_time.minute - start_time.minute
    if long <= 0:
        raise ValueError(_("A session ends after it starts."))
    if not 0 < net_minutes <= long:
        raise ValueError(_("The minutes at the booth are above 0 and at most %(long)s.", long=long))
    days = (start + timedelta(days=day) for day in range((end - start).days + 1))
    return [
        SessionSlot(date=day, start=start_time, end=end_time, net_minutes=net_minutes)
        for day in days
        if day.weekday() in weekdays and day not in closed_dates
    ]
