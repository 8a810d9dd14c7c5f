"""The demo: each app registers its steps in its own `demo` module, which the command finds.

Steps run in the order of INSTALLED_APPS, each once and in a transaction of its own; what has run
is kept as an audit entry, so that the command can be called again after a step that failed.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.apps import apps
from django.db import connection, transaction
from django.utils.module_loading import autodiscover_modules

from shared.people.audit import audit
from shared.people.models import AuditEntry, Campus, PinTry, Submission, User

CAMPUS, ZONE = "Invented Harbour Campus", "America/Chicago"
LOADED = "demo.loaded"
_NOT_COUNTED = (PinTry, Submission)


@dataclass(frozen=True, slots=True)
class Scene:
    """What a step builds on: the day around which the invented term lies."""

    today: date

    @property
    def campus(self) -> Campus:
        """The invented campus; the first step makes it."""
        return Campus.objects.get(name=CAMPUS, invented=True)

    def person(self, username: str) -> User:
        """Return one of the staff by sign-in name."""
        return User.objects.get(username=username, home_campus__name=CAMPUS)

    def chance(self, what: str) -> random.Random:
        """Return a source of random figures that is the same in every run."""
        return random.Random(f"plate and rod: {what}")  # noqa: S311 - an invented term, no secret


_steps: dict[str, tuple[str, Callable[[Scene], None]]] = {}
_answers: dict[str, Callable[[Scene], Any]] = {}
_reports: dict[str, Callable[[Scene, Mapping[str, Any]], str]] = {}


def demo_step(name: str, title: str) -> Callable[[Callable[[Scene], None]], Callable[..., None]]:
    """Register a step under a code word ("curriculum.classes"); `title` tells people of it."""

    def register(step: Callable[[Scene], None]) -> Callable[..., None]:
        _steps[name] = (title, step)
        return step

    return register


def demo_answer(key: str) -> Callable[[Callable[[Scene], Any]], Callable[..., Any]]:
    """Register what stands under `key` in the command's answer."""

    def register(told: Callable[[Scene], Any]) -> Callable[..., Any]:
        _answers[key] = told
        return told

    return register


def demo_report(
    key: str,
) -> Callable[[Callable[[Scene, Mapping[str, Any]], str]], Callable[..., str]]:
    """Register lines for whoever started the demo, made from the command's answer."""

    def register(report: Callable[[Scene, Mapping[str, Any]], str]) -> Callable[..., str]:
        _reports[key] = report
        return report

    return register


def foreign_campuses() -> list[str]:
    """Return the names of campuses that are not marked as invented; none where no table is."""
    if Campus._meta.db_table not in connection.introspection.table_names():
        return []
    return list(Campus.objects.filter(invented=False).values_list("name", flat=True))


def _loaded() -> dict[str, date]:
    """Return the steps that have run, with the day around which they lie."""
    entries = AuditEntry.objects.filter(action=LOADED, campus__name=CAMPUS).order_by("pk")
    return {
        detail["step"]: date.fromisoformat(detail["today"])
        for detail in entries.values_list("detail", flat=True)
    }


def scene_of(today: date) -> Scene:
    """Return the scene that was begun before, else a new one around `today`."""
    return Scene(next(iter(_loaded().values()), today))


def load(today: date) -> Iterator[str]:
    """Run the steps that have not run, giving the title of each before it runs."""
    autodiscover_modules("demo")
    scene, done = scene_of(today), _loaded()
    for name, (title, step) in _steps.items():
        if name in done:
            continue
        yield title
        with transaction.atomic():
            step(scene)
            audit(None, LOADED, campus=scene.campus, detail={"step": name, "today": scene.today})


def created() -> dict[str, int]:
    """Return how many rows of each model there are, without those that pages keep by the way."""
    return {
        model._meta.label: model._default_manager.count()
        for app in ("people", "curriculum", "grading", "inventory")
        for model in apps.get_app_config(app).get_models()
        if model not in _NOT_COUNTED and not hasattr(model, "history_type")
    }


def answers(scene: Scene) -> dict[str, Any]:
    """Return what the apps registered for the command's answer."""
    return {key: told(scene) for key, told in _answers.items()}


def reports(scene: Scene, answer: Mapping[str, Any]) -> list[str]:
    """Return the lines that the apps registered: the forecast, then the sign-ins."""
    return [_reports[key](scene, answer) for key in sorted(_reports)]
