"""Rows to spec and back, drafts, publishing, loading and dumping the library."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.utils import timezone

from curriculum.core import spec
from curriculum.models import (
    Criterion,
    Exercise,
    ExerciseVersion,
    Piece,
    Prerequisite,
    Setup,
    SetupPass,
)
from shared.people.audit import audit
from shared.units import Measure

if TYPE_CHECKING:
    from datetime import date

    from shared.people.models import Campus, User

TEXT_LISTS = ("steps", "tools", "clothing", "cautions", "signoffs", "hold_points", "notes")
VERSION_FIELDS = (
    "title",
    "objective",
    "process",
    "iso4063",
    "position",
    "position_iso",
    "weld",
    "priority",
    "first_pass",
    "minutes",
    "practice_minutes",
    "sessions",
    "reviewed_by",
    "reviewed_on",
)
GASES = ("gas", "fuel", "oxygen", "cutting_oxygen", "purge")
JOINT_FIELDS = tuple(f.name for f in fields(spec.Joint) if f.name != "symbol")
MARK_FIELDS = tuple(f.name for f in fields(spec.Marks))
PIECE_FIELDS = tuple(f.name for f in fields(spec.Piece))
SETUP_PLAIN = tuple(
    f.name
    for f in fields(spec.Setup)
    if f.name not in {"pieces", "joint", "electrode", "filler", "passes", *GASES}
)
PASS_PLAIN = tuple(f.name for f in fields(spec.Pass) if f.name not in {"electrode", "filler"})
CRITERION_PLAIN = tuple(
    f.name for f in fields(spec.Criterion) if f.name not in {"min", "max", "cap", "step"}
)


class NotReviewed(Exception):
    """A version is published only with the name and date of the person who reviewed it."""


# -- rows to spec -----------------------------------------------------------------------------


def _electrode(row: Setup | SetupPass) -> spec.Electrode | None:
    if not row.electrode_type or row.electrode_diameter is None:
        return None
    return spec.Electrode(
        type=row.electrode_type,
        diameter=row.electrode_diameter,
        length=row.electrode_length,
        preparation=row.electrode_preparation,
    )


def _filler(row: Setup | SetupPass) -> spec.Filler | None:
    if not row.filler_class or row.filler_diameter is None:
        return None
    return spec.Filler(
        filler_class=row.filler_class,
        diameter=row.filler_diameter,
        length=row.filler_length,
        alternates=tuple(row.filler_alternates),
    )


def _gas(row: Setup, name: str) -> spec.Gas | None:
    flow = getattr(row, f"{name}_flow")
    if flow is None or not getattr(row, f"{name}_name"):
        return None
    return spec.Gas(
        name=getattr(row, f"{name}_name"), flow=flow, pressure=getattr(row, f"{name}_pressure")
    )


def criterion_spec(row: Criterion) -> spec.Criterion:
    """Return a criterion row as the core's `Criterion`."""

    def measure(name: str) -> Measure | None:
        value = getattr(row, f"{name}_value")
        if value is None:
            return None
        return Measure(value, row.si_unit, getattr(row, f"{name}_typed"))

    return spec.Criterion(
        **{name: getattr(row, name) for name in CRITERION_PLAIN},
        min=measure("min"),
        max=measure("max"),
        cap=measure("cap"),
        step=measure("step"),
    )


def setup_spec(row: Setup) -> spec.Setup:
    """Return a setup row with its passes and pieces as the core's `Setup`."""
    gases: dict[str, Any] = {name: _gas(row, name) for name in GASES}
    return spec.Setup(
        **{name: getattr(row, name) for name in SETUP_PLAIN},
        joint=spec.Joint(
            **{name: getattr(row, f"joint_{name}") for name in JOINT_FIELDS},
            symbol=spec.Marks(**{name: getattr(row, f"symbol_{name}") for name in MARK_FIELDS}),
        ),
        electrode=_electrode(row),
        filler=_filler(row),
        **gases,
        pieces=tuple(
            spec.Piece(**{name: getattr(piece, name) for name in PIECE_FIELDS})
            for piece in row.pieces.all()
        ),
        passes=tuple(
            spec.Pass(
                **{name: getattr(one, name) for name in PASS_PLAIN},
                electrode=_electrode(one),
                filler=_filler(one),
            )
            for one in row.passes.all()
        ),
    )


def to_spec(version: ExerciseVersion) -> spec.Exercise:
    """Return what a version says; load it with `with_content()` for a constant query count."""
    needs: list[str] = []
    helps: list[str] = []
    texts: dict[str, Any] = {name: tuple(getattr(version, name)) for name in TEXT_LISTS}
    for row in version.prerequisites.all():
        (needs if row.kind == Prerequisite.Kind.NEEDS else helps).append(row.exercise.number)
    return spec.Exercise(
        number=version.exercise.number,
        **{name: getattr(version, name) for name in VERSION_FIELDS},
        **texts,
        prerequisites=tuple(needs),
        helps=tuple(helps),
        setups=tuple(setup_spec(row) for row in version.setups.all()),
        criteria=tuple(criterion_spec(row) for row in version.criteria.all()),
    )


# -- spec to rows -----------------------------------------------------------------------------


def _tool_columns(one: spec.Setup | spec.Pass) -> dict[str, Any]:
    columns: dict[str, Any] = {}
    if one.electrode is not None:
        columns |= {
            "electrode_type": one.electrode.type,
            "electrode_diameter": one.electrode.diameter,
            "electrode_length": one.electrode.length,
            "electrode_preparation": one.electrode.preparation,
        }
    if one.filler is not None:
        columns |= {
            "filler_class": one.filler.filler_class,
            "filler_diameter": one.filler.diameter,
            "filler_length": one.filler.length,
            "filler_alternates": list(one.filler.alternates),
        }
    return columns


def _setup_columns(one: spec.Setup) -> dict[str, Any]:
    columns = {name: getattr(one, name) for name in SETUP_PLAIN}
    columns |= {f"joint_{name}": getattr(one.joint, name) for name in JOINT_FIELDS}
    columns |= {f"symbol_{name}": getattr(one.joint.symbol, name) for name in MARK_FIELDS}
    columns |= _tool_columns(one)
    for name in GASES:
        gas: spec.Gas | None = getattr(one, name)
        if gas is not None:
            columns |= {
                f"{name}_name": gas.name,
                f"{name}_flow": gas.flow,
                f"{name}_pressure": gas.pressure,
            }
    return columns


def _criterion_columns(one: spec.Criterion) -> dict[str, Any]:
    columns: dict[str, Any] = {name: getattr(one, name) for name in CRITERION_PLAIN}
    si_unit = ""
    for name in ("min", "max", "cap", "step"):
        measure: Measure | None = getattr(one, name)
        if measure is not None:
            columns |= {f"{name}_value": measure.value, f"{name}_typed": measure.typed}
            si_unit = measure.unit
    return columns | {"si_unit": si_unit}


def _write_setups(version: ExerciseVersion, setups: Sequence[spec.Setup]) -> None:
    rows = Setup.objects.bulk_create(
        Setup(version=version, position=position, **_setup_columns(one))
        for position, one in enumerate(setups)
    )
    SetupPass.objects.bulk_create(
        SetupPass(
            setup=row,
            position=position,
            **{name: getattr(a_pass, name) for name in PASS_PLAIN},
            **_tool_columns(a_pass),
        )
        for row, one in zip(rows, setups, strict=True)
        for position, a_pass in enumerate(one.passes)
    )
    Piece.objects.bulk_create(
        Piece(setup=row, position=position, **{name: getattr(piece, name) for name in PIECE_FIELDS})
        for row, one in zip(rows, setups, strict=True)
        for position, piece in enumerate(one.pieces)
    )


def _write_content(
    version: ExerciseVersion, content: spec.Exercise, by_number: dict[str, Exercise]
) -> None:
    for name in VERSION_FIELDS:
        setattr(version, name, getattr(content, name))
    for name in TEXT_LISTS:
        setattr(version, name, list(getattr(content, name)))
    version.save()
    version.prerequisites.all().delete()
    version.setups.all().delete()
    version.criteria.all().delete()
    Prerequisite.objects.bulk_create(
        Prerequisite(version=version, exercise=by_number[number], kind=kind)
        for kind, numbers in (
            (Prerequisite.Kind.NEEDS, content.prerequisites),
            (Prerequisite.Kind.HELPS, content.helps),
        )
        for number in numbers
    )
    _write_setups(version, content.setups)
    Criterion.objects.bulk_create(
        Criterion(version=version, position=position, **_criterion_columns(one))
        for position, one in enumerate(content.criteria)
    )


def _next_version(exercise: Exercise) -> int:
    newest = exercise.versions.order_by("-version").values_list("version", flat=True).first()
    return (newest or 0) + 1


# -- what people do ---------------------------------------------------------------------------


@transaction.atomic
def save_draft(*, campus: Campus, content: spec.Exercise, by: User | None) -> ExerciseVersion:
    """Write `content` as the draft of its exercise, making exercise and draft where missing."""
    exercise, _ = Exercise.objects.get_or_create(campus=campus, number=content.number)
    draft = exercise.draft() or ExerciseVersion(
        exercise=exercise, version=_next_version(exercise), created_by=by
    )
    numbers = {*content.prerequisites, *content.helps}
    by_number = {e.number: e for e in Exercise.objects.filter(campus=campus, number__in=numbers)}
    _write_content(draft, content, by_number)
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
        exercise = by_number[content.number]
        draft = exercise.draft() or ExerciseVersion(
            exercise=exercise, version=_next_version(exercise), created_by=by
        )
        _write_content(draft, content, by_number)
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
