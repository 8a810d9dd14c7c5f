"""A library of 200 exercises: its page with pictures, and its import.

The page is measured against the same page without pictures, the import against reading the same
file alone (which is what any importer must do first). Drawing every picture once, as the first
answer after a start does, is told by itself.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any
from unittest.mock import patch

from curriculum.core.library import read_exercises
from curriculum.core.library_write import write_exercises
from curriculum.core.spec import Exercise
from tests.bench._pages import answers, own_database
from tests.bench.usage import EXERCISES, LIBRARY

AIM_PAGE_S, AIM_IMPORT_S = 0.2, 5.0


def many_exercises() -> list[Exercise]:
    """Return the demo's exercises under numbers of their own, until there are 200.

    Each copy says so in its fit-up, so that its picture is one of its own.
    """
    exercises, faults = read_exercises(LIBRARY.read_text(encoding="utf-8"))
    if faults:
        raise ValueError(f"the demo library has faults: {faults[:3]}")
    return [_copy(exercises[n % len(exercises)], n // len(exercises)) for n in range(EXERCISES)]


def _copy(one: Exercise, copy: int) -> Exercise:
    def renamed(numbers: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(f"{number}.{copy}" for number in numbers)

    return replace(
        one,
        number=f"{one.number}.{copy}",
        prerequisites=renamed(one.prerequisites),
        helps=renamed(one.helps),
        setups=tuple(replace(setup, fit_up=f"Copy {copy}. {setup.fit_up}") for setup in one.setups),
    )


def _seconds(work: Callable[[], Any]) -> tuple[float, float]:
    """Return the seconds of `work` by the clock and of the processor."""
    begin, began = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - begin, time.process_time() - began


def main() -> None:
    """Print both against their aims and baselines."""
    text = write_exercises(many_exercises())
    with own_database():
        _measure(text)


def _measure(text: str) -> None:
    from django.core.cache import caches
    from django.urls import reverse

    from curriculum.services import load_library
    from shared.people.models import Role
    from tests.factories import CampusFactory, UserFactory
    from tests.grading.bench import browser

    campus = CampusFactory()
    teacher = UserFactory(roles=[Role.INSTRUCTOR], home_campus=campus)
    read = min(_seconds(lambda: read_exercises(text)) for _ in range(3))
    contents, faults = read_exercises(text)
    if faults:
        raise ValueError(f"the copied library has faults: {faults[:3]}")
    write = _seconds(lambda: load_library(campus=campus, contents=contents, by=teacher))
    clock, work = read[0] + write[0], read[1] + write[1]
    print(  # noqa: T201
        f"import of {len(contents)} exercises, {len(text) / 1e6:.1f} MB: {clock:.2f} s, "
        f"processor {work:.2f} s (aim {AIM_IMPORT_S:g} s); reading the file alone: "
        f"processor {read[1]:.2f} s; ratio {work / read[1]:.1f}"
    )
    client, url = browser(teacher), reverse("curriculum:library")
    caches["pictures"].clear()
    first, _work = _seconds(lambda: client.get(url))
    drawn = answers(client, url)
    with patch("curriculum.views.library.joint_pictures", lambda versions: {}):
        plain = answers(client, url)
    print(  # noqa: T201
        f"library page of {len(contents)} with pictures: {drawn} (aim {AIM_PAGE_S * 1e3:.0f} ms); "
        f"first answer after a start {first * 1e3:.0f} ms\n"
        f"without pictures: {plain}; ratio {drawn.processor / plain.processor:.2f}"
    )


if __name__ == "__main__":
    main()
