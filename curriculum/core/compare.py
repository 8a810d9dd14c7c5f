"""What changed between two versions of an exercise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from typing import Any

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise
from shared.units import Measure, Range

# What tells one row of a list from the next; rows without one go by their place.
NAMES = {"setups": "key", "criteria": "name", "pieces": "name"}
ROWS = {
    "setups": _("setup %(row)s"),
    "criteria": _("criterion %(row)s"),
    "pieces": _("piece %(row)s"),
    "passes": _("pass %(row)s"),
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that changed; `old` or `new` is empty where it was added or taken away.

    All three are sentences where they have words of the tool, for a page to translate.
    """

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
            path = _under(where, _word(one.name))
            before, after = getattr(old, one.name), getattr(new, one.name)
            if isinstance(before, tuple):
                yield from _rows(before, after, one.name, where)
            else:
                yield from _compare(before, after, path)
        return
    yield Difference(where, _words(old), _words(new))


def _rows(
    old: tuple[Any, ...], new: tuple[Any, ...], name: str, where: str
) -> Iterator[Difference]:
    before, after = _named(old, NAMES.get(name)), _named(new, NAMES.get(name))
    if list(before) != list(after) and before.keys() == after.keys():
        label = _("order of %(rows)s", rows=_word(name))
        yield Difference(_under(where, label), ", ".join(before), ", ".join(after))
    for row in dict.fromkeys([*before, *after]):
        template = ROWS.get(name) or _("%(rows)s %(row)s")
        label = _(template, rows=_word(name), row=row)
        yield from _compare(before.get(row), after.get(row), _under(where, label))


def _word(name: str) -> str:
    return _(name.replace("_", " "))


def _under(where: str, label: str) -> str:
    return _.join((where, label), ", ")


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
        return _("yes") if value else _("no")
    if isinstance(value, Measure | Range):
        return value.typed
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return _.join((_words(one) for one in value), "; ")
    if is_dataclass(value):
        stated = ((_word(one.name), getattr(value, one.name)) for one in fields(value))
        return _.join(
            (_.join((name, _words(one))) for name, one in stated if one not in ("", None, ())), ", "
        )
    return str(value)
