"""Write exercises as a library file that reads back to the same exercises."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import MISSING, fields
from datetime import date
from typing import Any

from curriculum.core import library_keys as keys
from curriculum.core.library_keys import Key, Shape
from curriculum.core.spec import Criterion, Exercise, Setup
from shared.units import Measure, Range

__all__ = ["write_exercises"]

ARRAYS = {"setup", "pass", "criterion"}


def write_exercises(exercises: Sequence[Exercise]) -> str:
    """Return TOML such that `read_exercises` gives these exercises again.

    What an exercise does not state is left out. Quantities are written as they were typed.
    """
    lines: list[str] = []
    for exercise in exercises:
        lines += _table(exercise, keys.EXERCISE, "exercise")
    return "\n".join(lines).lstrip("\n") + ("\n" if lines else "")


def _table(item: Any, shape: Shape, path: str) -> Iterator[str]:
    later: list[tuple[str, Key, Any]] = []
    yield f"\n[[{path}]]"
    for name, key, value in _stated(item, shape):
        if name in ARRAYS:
            later.append((name, key, value))
        else:
            yield f"{name} = {_value(value, key)}"
    for name, key, rows in later:
        for row in rows:
            yield from _table(row, key.rows, f"{path}.{name}")


def _stated(item: Any, shape: Shape) -> Iterator[tuple[str, Key, Any]]:
    defaults = {
        one.name: one.default_factory() if one.default_factory is not MISSING else one.default
        for one in fields(item)
    }
    for name, key in shape.keys.items():
        value = getattr(item, key.attr)
        # The metal is worked out from the base metal when it is left out, so it never is.
        always = (isinstance(item, Setup) and name == "metal") or (
            isinstance(item, Criterion) and name == "unit" and value
        )
        if always or (value is not None and (value != defaults[key.attr])):
            yield name, key, value


def _value(value: Any, key: Key) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Measure | Range):
        return _text(_figure(value, key))
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str):
        return _text(value)
    if key.kind == "texts":
        return "[" + ", ".join(_text(one) for one in value) + "]"
    if key.kind == "many":
        rows = "".join(f"  {_inline(one, key.rows)},\n" for one in value)
        return f"[\n{rows}]"
    return _inline(value, key.rows)


def _figure(value: Measure | Range, key: Key) -> str:
    """Return what was typed, with the SI unit and figure where its unit stood beside the field."""
    if key.kind == "raw" or re.search(r"[^\W\d]|[%°\"']", value.typed):
        return value.typed
    if isinstance(value, Measure):
        return f"{value.value!r} {value.unit}"
    if value.low is None or value.high is None:
        side = "at least" if value.high is None else "at most"
        return f"{side} {value.working!r} {value.unit}"
    start = "" if value.start is None else f"{value.start!r} {value.unit}, "
    return f"{start}{value.low!r} to {value.high!r} {value.unit}"


def _inline(item: Any, shape: Shape) -> str:
    pairs = (f"{name} = {_value(value, key)}" for name, key, value in _stated(item, shape))
    return "{ " + ", ".join(pairs) + " }"


def _text(text: str) -> str:
    """Write a TOML basic string: JSON's escapes are TOML's, but for DEL."""
    return re.sub("\x7f", r"\\u007F", json.dumps(text, ensure_ascii=False))
