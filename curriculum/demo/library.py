"""The demo's library: 22 exercises, one of them corrected, one being corrected."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from curriculum.core.library import read_exercises
from curriculum.core.spec import Exercise as Content
from curriculum.models import Exercise, ExerciseVersion
from curriculum.services import load_library, publish, save_draft, to_spec
from shared.demo import Scene, demo_step

FILE = Path(__file__).with_name("library.toml")
REVIEWER = "Q. Sample"


def contents() -> list[Content]:
    """Return the exercises of the demo's file; ValueError names what is wrong with it."""
    exercises, faults = read_exercises(FILE.read_text(encoding="utf-8"))
    if faults:
        raise ValueError("; ".join(f"{fault.where}: {fault.message}" for fault in faults))
    return exercises


def _newest(scene: Scene, number: str) -> Content:
    exercise = Exercise.objects.get(campus=scene.campus, number=number)
    versions = ExerciseVersion.objects.with_content().filter(exercise=exercise)
    return to_spec(versions.latest("version"))


@demo_step("curriculum.library", "Library of exercises")
def library(scene: Scene) -> None:
    """Load the file."""
    load_library(campus=scene.campus, contents=contents(), by=scene.person("instructor"))


@demo_step("curriculum.corrections", "Corrections of the library")
def corrections(scene: Scene) -> None:
    """Publish a correction of 203 and begin one of 404; results so far keep the old version."""
    instructor = scene.person("instructor")
    tee = _newest(scene, "203")
    steps = list(tee.steps)
    steps.insert(2, "Tilt the magnet away before the second tack: it bends the arc.")
    draft = save_draft(campus=scene.campus, content=replace(tee, steps=tuple(steps)), by=instructor)
    publish(version=draft, reviewed_by=REVIEWER, reviewed_on=scene.today, by=instructor)
    corner = _newest(scene, "404")
    save_draft(
        campus=scene.campus,
        content=replace(
            corner,
            minutes=35,
            cautions=(*corner.cautions, "Let the torch cool on its hook, not on the bench."),
            reviewed_by="",
            reviewed_on=None,
        ),
        by=instructor,
    )
