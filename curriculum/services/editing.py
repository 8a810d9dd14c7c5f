"""Editing a draft through the tables of a library file, so that one path checks everything."""

from __future__ import annotations

import hashlib
import tomllib
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction

from curriculum.core import spec
from curriculum.core.library import Fault, read_tables
from curriculum.core.library_links import find_circle
from curriculum.core.library_write import write_exercises
from curriculum.core.sentence import Sentence as _
from curriculum.models import Exercise, ExerciseVersion, Prerequisite
from curriculum.services.library import save_draft
from curriculum.services.spec_rows import to_spec

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shared.people.models import Campus, User


class NumberTaken(Exception):
    """The library has an exercise with this number."""


def table_of(content: spec.Exercise) -> dict[str, Any]:
    """Return an exercise as the table of a library file, values as they were typed."""
    table: dict[str, Any] = tomllib.loads(write_exercises([content]))["exercise"][0]
    return table


def draft_table(version: ExerciseVersion) -> dict[str, Any]:
    """Return what a version says as a file's table; load it with `with_content()`."""
    return table_of(to_spec(version))


def stamp(table: dict[str, Any]) -> str:
    """Return a short fingerprint of a draft, to notice that somebody else saved meanwhile."""
    return hashlib.sha256(repr(table).encode()).hexdigest()[:16]


def library_circle(campus: Campus, contents: Sequence[spec.Exercise]) -> list[str]:
    """Return a circle of needs that `contents` would close with the library; empty if none."""
    newest = ExerciseVersion.objects.newest().filter(exercise__campus=campus)
    rows = Prerequisite.objects.filter(version__in=newest, kind=Prerequisite.Kind.NEEDS)
    needs: dict[str, list[str]] = {}
    for number, needed in rows.values_list("version__exercise__number", "exercise__number"):
        needs.setdefault(number, []).append(needed)
    needs |= {one.number: list(one.prerequisites) for one in contents}
    return find_circle(needs)


def circle_faults(campus: Campus, contents: Sequence[spec.Exercise]) -> list[Fault]:
    """Return the fault of a circle of needs that `contents` would close; empty where there is none.

    The reader of files sees circles within a file, not those that lead through the library.
    """
    circle = library_circle(campus, contents)
    if not circle:
        return []
    numbers = [one.number for one in contents]
    at = next((number for number in circle if number in numbers), numbers[0])
    message = _(
        "The exercises would need each other in a circle: %(circle)s.",
        circle=" needs ".join(circle),
    )
    return [Fault(f"exercise[{numbers.index(at)}].prerequisites[0]", at, message)]


def read_table(campus: Campus, table: dict[str, Any]) -> tuple[spec.Exercise | None, list[Fault]]:
    """Read one exercise as `read_exercises` would, with what the library adds to say."""
    numbers = Exercise.objects.filter(campus=campus).values_list("number", flat=True)
    exercises, faults = read_tables({"exercise": [table]}, known_numbers=frozenset(numbers))
    if faults or not exercises:
        return None, faults
    if faults := circle_faults(campus, exercises):
        return None, faults
    return exercises[0], []


@transaction.atomic
def new_exercise(*, campus: Campus, content: spec.Exercise, by: User) -> ExerciseVersion:
    """Store a new exercise with its draft; raise `NumberTaken` where the number is in use."""
    try:
        with transaction.atomic():
            Exercise.objects.create(campus=campus, number=content.number)
    except IntegrityError as error:
        raise NumberTaken from error
    return save_draft(campus=campus, content=content, by=by)
