"""Rows of the library to the core's spec and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from typing import Any

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
from shared.units import Measure

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


def write_content(
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
