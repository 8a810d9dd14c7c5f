"""Drafts, publishing, loading and dumping the library."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils import timezone

from curriculum.core import spec
from curriculum.models import Exercise, ExerciseVersion
from curriculum.services.spec_rows import to_spec, write_content
from shared.people.audit import audit

if TYPE_CHECKING:
    from datetime import date

    from shared.people.models import Campus, User


class NotReviewed(Exception):
    """A version is published only with the name and date of the person who reviewed it."""


def _draft_of(exercise: Exercise, by: User | None) -> ExerciseVersion:
    """Return the exercise's draft, a new one where there is none."""
    if draft := exercise.draft():
        return draft
    newest = exercise.versions.order_by("-version").values_list("version", flat=True).first()
    return ExerciseVersion(exercise=exercise, version=(newest or 0) + 1, created_by=by)


@transaction.atomic
def save_draft(*, campus: Campus, content: spec.Exercise, by: User | None) -> ExerciseVersion:
    """Write `content` as the draft of its exercise, making exercise and draft where missing."""
    exercise, _ = Exercise.objects.get_or_create(campus=campus, number=content.number)
    draft = _draft_of(exercise, by)
    numbers = {*content.prerequisites, *content.helps}
    by_number = {e.number: e for e in Exercise.objects.filter(campus=campus, number__in=numbers)}
    write_content(draft, content, by_number)
    return draft


@transaction.atomic
def copy_to_draft(*, version: ExerciseVersion, by: User) -> ExerciseVersion:
    """Return the exercise's draft, made from `version` where there is none, without its review."""
    draft = version.exercise.draft()
    if draft is not None:
        return draft
    loaded = ExerciseVersion.objects.with_content().get(pk=version.pk)
    content = replace(to_spec(loaded), reviewed_by="", reviewed_on=None)
    return save_draft(campus=version.exercise.campus, content=content, by=by)


@transaction.atomic
def publish(
    *, version: ExerciseVersion, reviewed_by: str, reviewed_on: date | None, by: User | None
) -> None:
    """Freeze a draft under its reviewer's name; raise NotReviewed without name and date.

    A second call finds no draft and changes nothing.
    """
    if not reviewed_by.strip() or reviewed_on is None:
        raise NotReviewed
    changed = ExerciseVersion.objects.filter(
        pk=version.pk, state=ExerciseVersion.State.DRAFT
    ).update(
        state=ExerciseVersion.State.PUBLISHED,
        reviewed_by=reviewed_by.strip(),
        reviewed_on=reviewed_on,
        published_at=timezone.now(),
    )
    version.refresh_from_db()
    if changed:
        audit(
            campus=version.exercise.campus,
            actor=by,
            action="exercise.publish",
            target=version,
            detail={"exercise": version.exercise_id, "version": version.version},
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LibraryChange:
    """Numbers of the exercises that a load added, gave a new version, or left as they were."""

    added: tuple[str, ...]
    new_versions: tuple[str, ...]
    unchanged: tuple[str, ...]


def _says(version: ExerciseVersion, content: spec.Exercise) -> bool:
    """Whether `version` says `content`; a file that names no reviewer asks for none."""
    said = to_spec(version)
    if not content.reviewed_by and content.reviewed_on is None:
        said = replace(said, reviewed_by="", reviewed_on=None)
    return said == content


def compare_library(*, campus: Campus, contents: Iterable[spec.Exercise]) -> LibraryChange:
    """Say what `load_library` would do; write nothing."""
    newest = {
        version.exercise.number: version
        for version in ExerciseVersion.objects.newest()
        .filter(exercise__campus=campus)
        .with_content()
    }
    added, changed, unchanged = [], [], []
    for content in contents:
        version = newest.get(content.number)
        if version is None:
            added.append(content.number)
        elif _says(version, content):
            unchanged.append(content.number)
        else:
            changed.append(content.number)
    return LibraryChange(
        added=tuple(added), new_versions=tuple(changed), unchanged=tuple(unchanged)
    )


@transaction.atomic
def load_library(
    *, campus: Campus, contents: Sequence[spec.Exercise], by: User | None
) -> LibraryChange:
    """Write exercises that are new or say something new; the same file twice changes nothing.

    Content that names its reviewer and date comes in published, the rest as a draft.
    """
    change = compare_library(campus=campus, contents=contents)
    wanted = {*change.added, *change.new_versions}
    Exercise.objects.bulk_create(
        [Exercise(campus=campus, number=number) for number in change.added]
    )
    by_number = {e.number: e for e in Exercise.objects.filter(campus=campus)}
    for content in contents:
        if content.number not in wanted:
            continue
        draft = _draft_of(by_number[content.number], by)
        write_content(draft, content, by_number)
        if content.reviewed_by and content.reviewed_on:
            publish(
                version=draft,
                reviewed_by=content.reviewed_by,
                reviewed_on=content.reviewed_on,
                by=by,
            )
    return change


def dump_library(*, campus: Campus) -> list[spec.Exercise]:
    """Return the newest version of every exercise of a campus, in the order of numbers."""
    versions = ExerciseVersion.objects.newest().filter(exercise__campus=campus).with_content()
    return [to_spec(version) for version in versions.order_by("exercise__number")]


def exercise_spec(number: str, *, campus: Campus | None = None) -> spec.Exercise:
    """Return the newest version of exercise `number`; raise `Exercise.DoesNotExist`."""
    versions = ExerciseVersion.objects.newest().filter(exercise__number=number).with_content()
    if campus is not None:
        versions = versions.filter(exercise__campus=campus)
    version = versions.order_by("exercise__campus").first()
    if version is None:
        raise Exercise.DoesNotExist(number)
    return to_spec(version)
