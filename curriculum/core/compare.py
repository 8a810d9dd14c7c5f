"""What changed between two versions of an exercise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from typing import Any

from curriculum.core.spec import Exercise
from shared.units import Measure, Range

# What tells one row of a list from the next; rows without one go by their place.
NAMES = {"setups": "key", "criteria": "name", "pieces": "name"}
WORDS = {"setups": "setup", "criteria": "criterion", "pieces": "piece", "passes": "pass"}


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that changed; `old` or `new` is empty where it was added or taken away."""

    where: str
    old: str
    new: str


def differences(old: Exercise, new: Exercise) -> list[Difference]:
    """Return what changed from `old` to `new`, in the order of the exercise's own fields.

    Setups are matched by key, criteria and pieces by name, passes and lists by place. A quantity
    that is written differently but is the same figure ("1/2 in", "0.5 in") is no difference.
    """
    return list(_compare(old, new, ""))


def _compare(old: Any, new: Any, where: str) -> Iterator[Difference]:
    if old == new or (_figure(old) is not None and _figure(old) == _figure(new)):
        return
    if is_dataclass(old) and type(old) is type(new) and _figure(old) is None:
        for one in fields(old):
            label = one.name.replace("_", " ")
            path = f"{where}, {label}" if where else label
            before, after = getattr(old, one.name), getattr(new, one.name)
            if isinstance(before, tuple):
                yield from _rows(before, after, one.name, path if where else "")
            else:
                yield from _compare(before, after, path)
        return
    yield Difference(where, _words(old), _words(new))


def _rows(
    old: tuple[Any, ...], new: tuple[Any, ...], name: str, where: str
) -> Iterator[Difference]:
    word = WORDS.get(name, name.replace("_", " "))
    base = where.rpartition(", ")[0] if where else ""
    before, after = _named(old, NAMES.get(name)), _named(new, NAMES.get(name))
    if list(before) != list(after) and before.keys() == after.keys():
        label = f"order of {name.replace('_', ' ')}"
        yield Difference(f"{base}, {label}" if base else label, ", ".join(before), ", ".join(after))
    for row in dict.fromkeys([*before, *after]):
        label = f"{word} {row}"
        yield from _compare(before.get(row), after.get(row), f"{base}, {label}" if base else label)


def _named(rows: tuple[Any, ...], attr: str | None) -> dict[str, Any]:
    named: dict[str, Any] = {}
    for place, row in enumerate(rows, 1):
        name = (getattr(row, attr) if attr else "") or str(place)
        named[name if name not in named else f"{name} ({place})"] = row
    return named


def _figure(value: Any) -> tuple[Any, ...] | None:
    if isinstance(value, Measure):
        return (value.value, value.unit)
    if isinstance(value, Range):
        return (value.low, value.high, value.start, value.unit)
    return None


def _words(value: Any) -> str:
    """Write a value in one line, as a person would."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Measure | Range):
        return value.typed
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return "; ".join(_words(one) for one in value)
    if is_dataclass(value):
        stated = ((one.name.replace("_", " "), getattr(value, one.name)) for one in fields(value))
        return ", ".join(
            f"{name} {_words(one)}" for name, one in stated if one not in ("", None, ())
        )
    return str(value)
