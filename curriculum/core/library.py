"""Read a library file: exercises as TOML, every fault of the file in one answer.

The keys are those of `curriculum.core.library_keys`; a quantity is text with its unit, as people
write it ("1/16 in", "85-95 A"). Nothing is guessed: what is not understood is a `Fault` that says
where, what was found and what would be accepted.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from curriculum.core import joints, spec
from curriculum.core import library_keys as keys
from curriculum.core.drawing.symbol.rules import check_marks
from curriculum.core.library_keys import Key, Shape, uses
from curriculum.core.library_links import check_links
from curriculum.core.library_values import EXAMPLES, Fault, ValueReader, numbers_as
from curriculum.core.metal import metal_of
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise

__all__ = ["Fault", "metal_of", "read_exercises", "read_tables", "uses"]

BYTES_MAX = 5_000_000


def read_exercises(
    text: str, *, known_numbers: Collection[str] = ()
) -> tuple[list[Exercise], list[Fault]]:
    """Read the exercises of a library file and every fault in it.

    Parameters
    ----------
    text : str
        TOML with an array of tables `exercise`, at most 5 MB.
    known_numbers : collection of str
        Numbers of exercises outside the file that prerequisites may name.

    Returns
    -------
    exercises, faults
        The exercises that could be read whole, in the order of the file. Store them only when
        there are no faults.
    """
    if len(text) > BYTES_MAX:
        return [], [Fault("", f"{len(text)} characters", _("The file is larger than 5 MB."))]
    try:
        data = tomllib.loads(text.removeprefix("\ufeff"))
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        return [], [_syntax_fault(text, error)]
    return read_tables(data, known_numbers=known_numbers)


def read_tables(
    data: dict[str, Any], *, known_numbers: Collection[str] = ()
) -> tuple[list[Exercise], list[Fault]]:
    """Read exercises from the tables of a file, also where a form made them; as the file's text.

    `data` holds what TOML would: a list of tables under "exercise", text, numbers, flags, dates.
    """
    reader = _Reader()
    exercises = reader.file(data)
    tables = data["exercise"] if exercises else []
    reader.once(tables, "number", "exercise")
    check_links(tables, frozenset(known_numbers), reader.fault)
    return [one for one in exercises if one is not None], reader.faults


def _syntax_fault(text: str, error: Exception) -> Fault:
    found = re.search(r"at line (\d+), column (\d+)", str(error))
    lines = text.splitlines()
    line = int(found[1]) if found else max(len(lines), 1)
    got = lines[line - 1].strip()[:80] if 0 < line <= len(lines) else ""
    reason = re.sub(r"\s*\(at .*\)$", "", str(error)) or "it is nested too deeply"
    return Fault(
        f"line {line}",
        got,
        _("The file is not TOML from line %(line)s on: %(reason)s.", line=line, reason=reason),
        ('title = "Lap, horizontal"', "[[exercise]]", "[[exercise.setup]]"),
    )


@dataclass
class _Reader(ValueReader):
    """Reads the tables of a file; what single values are is said by `ValueReader`."""

    process: str = ""

    def file(self, data: dict[str, Any]) -> list[Exercise | None]:
        for key in data:
            if key != "exercise":
                self.unknown(key, key, ("exercise",))
        tables = data.get("exercise")
        if not isinstance(tables, list) or not tables:
            self.fault("exercise", tables or "", _("The file has no exercise."), ["[[exercise]]"])
            return []
        return [self.exercise(one, f"exercise[{index}]") for index, one in enumerate(tables)]

    # Tables ----------------------------------------------------------------------------------

    def value(self, value: object, key: Key, where: str) -> Any:
        if key.kind == "one":
            return self.table(value, key.rows, where)
        if key.kind == "many":
            return self.tables(value, key.rows, where)
        return getattr(self, key.kind)(value, key, where)

    def raw(self, value: object, key: Key, where: str) -> object:
        return value

    def tables(self, value: object, shape: Shape, where: str) -> tuple[Any, ...]:
        if not isinstance(value, list):
            self.fault(
                where, value, _("This is a list of tables."), [f"[[{where.rpartition('.')[2]}]]"]
            )
            return ()
        found = [self.table(one, shape, f"{where}[{index}]") for index, one in enumerate(value)]
        return tuple(one for one in found if one is not None)

    def table(self, value: object, shape: Shape, where: str) -> Any:
        if not isinstance(value, dict):
            self.fault(where, value, _("This is a table of keys."), _example(shape))
            return None
        if shape is keys.SETUP:
            return self.setup(value, where)
        before = len(self.faults)
        values = self.values(value, shape, where)
        if shape is keys.CRITERION:
            self.limits(value, values, where)
        return shape.cls(**values) if len(self.faults) == before else None

    def values(self, table: Mapping[str, object], shape: Shape, where: str) -> dict[str, Any]:
        """Read the keys of a table; the fields that were read, by name."""
        values: dict[str, Any] = {}
        for name, value in table.items():
            path = f"{where}.{name}"
            key = shape.keys.get(name)
            if key is None:
                self.unknown(path, name, shape.keys)
            elif shape in (keys.SETUP, keys.PASS) and self.unused(name):
                words = name.replace("_", " ")
                self.fault(
                    path,
                    value,
                    _("%(process)s has no %(words)s.", process=self.process, words=words),
                    ["leave it out"],
                )
            else:
                found = self.value(value, key, path)
                if found is not None:
                    values[key.attr] = found
        for name, key in shape.keys.items():
            if key.required and name not in table:
                accepts = key.choices or EXAMPLES.get(key.dimension, ())
                if key.kind == "number":
                    accepts = numbers_as(key)
                self.fault(f"{where}.{name}", "", _("%(name)s is missing.", name=name), accepts)
        return values

    def unused(self, name: str) -> bool:
        return bool(self.process) and name in keys.settings() and name not in uses(self.process)

    def exercise(self, table: object, where: str) -> Exercise | None:
        if not isinstance(table, dict):
            self.fault(where, table, _("This is a table of keys."), _example(keys.EXERCISE))
            return None
        before = len(self.faults)
        process = table.get("process")
        self.process = process if isinstance(process, str) and process in spec.PROCESSES else ""
        values = self.values(table, keys.EXERCISE, where)
        if "/" in values.get("number", ""):
            self.fault(
                f"{where}.number", values["number"], _("A number has no slash in it."), ["23"]
            )
        if table.get("setup") == []:
            self.fault(f"{where}.setup", "", _("There is no setup."), ["[[exercise.setup]]"])
        for name, attr, rows in (("setup", "key", "setups"), ("criterion", "name", "criteria")):
            self.once(table.get(name), attr, f"{where}.{name}")
            values.setdefault(rows, ())
        self.standards(values, where)
        return Exercise(**values) if len(self.faults) == before else None

    def once(self, rows: object, name: str, where: str) -> None:
        """Refuse rows that share a name."""
        seen: set[str] = set()
        for index, row in enumerate(rows if isinstance(rows, list) else []):
            value = row.get(name) if isinstance(row, dict) else None
            if isinstance(value, str) and (value := value.strip()):
                if value in seen:
                    self.fault(
                        f"{where}[{index}].{name}",
                        value,
                        _("%(value)s is there twice.", value=value),
                    )
                seen.add(value)

    def standards(self, values: dict[str, Any], where: str) -> None:
        """Check the position and the numbers of the standards, and fill those that are missing."""
        position, known = values.get("position", ""), keys.positions()
        if position and position not in known:
            near = [one for one in known if one.split()[0] == position.split()[0]]
            message = _("The position is none of the known ones.")
            if near:
                message = _(
                    "%(position)s does not say which way: %(near)s.",
                    position=position,
                    near=" or ".join(near),
                )
            self.fault(f"{where}.position", position, message, near or list(known))
        elif position:
            iso = values.setdefault("position_iso", known[position]) or known[position]
            values["position_iso"] = iso
            if iso != known[position]:
                message = _(
                    "%(position)s is %(iso)s in ISO 6947.",
                    position=position,
                    iso=known[position],
                )
                self.fault(f"{where}.position_iso", iso, message, [known[position]])
        elif (iso := values.get("position_iso", "")) and iso not in known.values():
            message = _("The position is none of ISO 6947.")
            self.fault(f"{where}.position_iso", iso, message, sorted(set(known.values())))
        if self.process:
            numbers = spec.PROCESSES[self.process]
            if not values.get("iso4063"):
                values["iso4063"] = keys.iso4063(self.process, values["setups"])
            elif values["iso4063"] not in numbers:
                message = _("%(process)s has another number in ISO 4063.", process=self.process)
                self.fault(f"{where}.iso4063", values["iso4063"], message, numbers)

    def setup(self, table: dict[str, object], where: str) -> Any:
        before, self.material = len(self.faults), None
        base_metal, stated = table.get("base_metal"), table.get("metal")
        metal = stated or (metal_of(base_metal) if isinstance(base_metal, str) else None)
        if metal in keys.METALS:
            coated = "galvani" in f"{base_metal} {table.get('coating', '')}".casefold()
            self.material = "galvanised" if coated and metal == "steel" else str(metal)
        elif stated is None and isinstance(base_metal, str) and base_metal.strip():
            message = _(
                "The base metal does not tell which metal it is; say it with the key metal."
            )
            self.fault(f"{where}.metal", base_metal, message, keys.METALS)
        values = self.values(table, keys.SETUP, where)
        if "/" in values.get("key", ""):
            self.fault(f"{where}.key", values["key"], _("A key has no slash in it."), ["16ga"])
        values.setdefault("metal", metal)
        if "joint" not in table:
            if self.process not in spec.CUTTING:
                self.fault(f"{where}.joint", "", _("joint is missing."), _example(keys.JOINT))
            values["joint"] = spec.Joint(kind="none")
        if len(self.faults) > before:
            return None
        setup = spec.Setup(**values)
        self.geometry(setup, where)
        return setup if len(self.faults) == before else None

    def geometry(self, setup: spec.Setup, where: str) -> None:
        """A joint that cannot be (a root face thicker than its plate) is a fault of the file."""
        if setup.joint.kind == "none":
            return
        try:
            joints.build(setup.joint, setup.thickness.value)
            check_marks(setup)
        except joints.JointError as error:
            stated: Any = setup.joint
            for name in error.where.split("."):
                stated = getattr(stated, name, "")
            got = getattr(stated, "typed", "" if stated is None else stated)
            self.fault(f"{where}.joint.{error.where}", got, error.message, error.accepts)


def _example(shape: Shape) -> list[str]:
    return [", ".join(name for name, key in shape.keys.items() if key.required)]
