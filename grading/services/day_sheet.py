"""The day sheet: all that a session needs on paper, also for a substitute without a tablet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from curriculum.core import spec
from curriculum.core.dial import Dialled
from curriculum.core.limits import Allowed
from curriculum.services.sheet import said_dial, said_limit
from grading.services.day import Day, Row, Work, cautions_of, cut_list, shades_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A criterion under the number that stands before its write-in box."""

    number: int
    criterion: spec.Criterion
    limit: Allowed


@dataclass(frozen=True, slots=True, kw_only=True)
class Welded:
    """One setup that is welded today: what is dialled in, and what it must measure."""

    exercise: spec.Exercise
    setup: spec.Setup
    version: int
    dial: tuple[Dialled, ...]
    limits: tuple[Limit, ...]
    marks: tuple[str, ...]


def day_sheet_context(day: Day) -> dict[str, Any]:
    """Return what the day sheet shows: a row for each student who is not said to be away."""
    rows = sorted(day.here, key=_place)
    works = [row.work for row in rows if row.work]
    return {
        "rows": rows,
        "away": [row for row in day.rows if not row.is_here],
        "welded": _welded(works),
        "cut": cut_list(rows),
        "cautions": cautions_of(works),
        "shades": shades_of(works),
        "own_cautions": list(
            dict.fromkeys(text for work in works for text in work.exercise.cautions)
        ),
    }


def _place(row: Row) -> tuple[bool, int, int, str]:
    booth = row.booth
    if booth is None:
        return True, 0, 0, row.student.sort_name
    return False, booth.row, booth.column, row.student.sort_name


def _welded(works: list[Work]) -> list[Welded]:
    groups: dict[tuple[str, int, str], list[Work]] = {}
    for work in works:
        key = (work.exercise.number, work.version.version, work.setup.key)
        groups.setdefault(key, []).append(work)
    return [_one(groups[key]) for key in sorted(groups)]


def _one(works: list[Work]) -> Welded:
    first = works[0]
    return Welded(
        exercise=first.exercise,
        setup=first.setup,
        version=first.version.version,
        dial=tuple(said_dial(first.exercise, first.setup)),
        limits=tuple(
            Limit(number=number, criterion=one, limit=said_limit(one, first.setup))
            for number, one in enumerate(first.exercise.criteria, start=1)
        ),
        marks=tuple(work.mark for work in works),
    )
