"""What the demo's class will still use up: the forecast as the `forecast` command gives it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from curriculum.demo.classes import EVENING
from inventory.core.forecast import RUNS, SEED
from inventory.management.commands.forecast import Command
from shared.demo import Scene, demo_answer, demo_report


@demo_answer("forecast")
def forecast(scene: Scene) -> Mapping[str, Any]:
    """Return the forecast from the scene's day on."""
    return Command().answer(class_name=EVENING, case=None, as_of=scene.today, runs=RUNS, seed=SEED)


@demo_report("forecast")
def table(scene: Scene, answer: Mapping[str, Any]) -> str:
    """Return the forecast as a table."""
    head = _("What %(class)s will use up after %(day)s")
    head %= {"class": answer["class"], "day": scene.today}
    return f"{head}\n{Command().table(answer['forecast'])}"
