"""Read a library file: exercises as TOML, every fault of the file in one answer.

The keys are those of `curriculum.core.library_keys`; a quantity is text with its unit, as people
write it ("1/16 in", "85-95 A"). Nothing is guessed: what is not understood is a `Fault` that says
where, what was found and what would be accepted.
"""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from curriculum.core import library_keys as keys
from curriculum.core import spec
from curriculum.core.library_keys import Key, Shape, uses
from curriculum.core.library_links import check_links
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise
from shared.units import Measure, Range, UnitError, parse_measure, parse_range

__all__ = ["Fault", "metal_of", "read_exercises", "uses"]

BYTES_MAX = 5_000_000
TYPED_MAX = 40


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing a file must have changed: where, what was found, why not, what is accepted."""

    where: str
    got: str
    message: str
    accepts: tuple[str, ...] = ()


EXAMPLES = {
    "length": ("1/16 in", "3.2 mm"),
    "angle": ("60 deg", "90 deg"),
    "current": ("85-95 A", "90 A"),
    "voltage": ("10-12 V", "18 V"),
    "speed": ("4 in/min", "100 mm/min"),
    "flow": ("20 cfh", "9.5 L/min"),
    "pressure": ("5 psig", "35 kPa"),
    "time": ("8 s", "2 min"),
    "temperature": ("350 degF", "175 degC"),
    "fraction": ("90 %", "0.9"),
    "count": ("0", "2"),
}
STAINLESS = re.compile(
    r"stainless|inox|\b(?:aisi |type )?(?:30[1-9]l?|31[0-7]l?|321|347|4[0134]\d|17-4)\b"
)
ALUMINIUM = re.compile(
    r"alumini?um|\b[1-7]\d{3}-[hto]\d*\b|\b(?:1100|3003|5052|5083|5086|6061|6063)\b"
)
STEEL = re.compile(r"steel|\ba ?\d{2,3}m?\b|\bs(?:235|275|355)\w*|\bcrs\b|\bhrs\b|\biron\b|galv")


def metal_of(base_metal: str) -> str | None:
    """Return the metal that words for a base metal name, or None where they do not tell.

    "A36 plate" and "low-carbon steel sheet" are steel, "304 sheet" is stainless, "3003-H14" is
    aluminium. Designations from memory of ASTM, AISI and Aluminum Association numbering.
    """
    text = base_metal.casefold()
    if STAINLESS.search(text) and "stainless brush" not in text:
        return "stainless"
    if ALUMINIUM.search(text):
        return "aluminium"
    return "steel" if STEEL.search(text) else None


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


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return str(value)[:120]


@lru_cache(maxsize=4096)
def _measure(text: str, dimension: str, material: str | None, bare_unit: str | None) -> Measure:
    return parse_measure(text, dimension, material=material, bare_unit=bare_unit)


@lru_cache(maxsize=4096)
def _range(text: str, dimension: str, material: str | None) -> Range:
    return parse_range(text, dimension, material=material)


def _finite(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number too large for a float
        return False


@dataclass
class _Reader:
    faults: list[Fault] = field(default_factory=list)
    process: str = ""
    material: str | None = None

    def fault(self, where: str, got: object, message: str, accepts: Collection[str] = ()) -> None:
        self.faults.append(Fault(where, _shown(got), message, tuple(accepts)))

    def file(self, data: dict[str, Any]) -> list[Exercise | None]:
        for key in data:
            if key != "exercise":
                self.unknown(key, key, ("exercise",))
        tables = data.get("exercise")
        if not isinstance(tables, list) or not tables:
            self.fault("exercise", tables or "", _("The file has no exercise."), ["[[exercise]]"])
            return []
        return [self.exercise(one, f"exercise[{index}]") for index, one in enumerate(tables)]

    def unknown(self, where: str, key: str, known: Collection[str]) -> None:
        near = difflib.get_close_matches(key, known, n=1, cutoff=0.6)
        hint = _(" Did you mean %(near)s?", near=near[0]) if near else ""
        self.fault(
            where,
            key,
            _("There is no key %(key)s here.%(hint)s", key=key, hint=hint),
            near or sorted(known),
        )

    # One kind of value each ------------------------------------------------------------------

    def text(self, value: object, key: Key, where: str) -> str | None:
        if not isinstance(value, str):
            self.fault(where, value, _("This is text in quotes."), key.choices or ['"text"'])
            return None
        clean = value.strip()
        if any((ord(char) < 32 and char not in "\n\t") or ord(char) == 127 for char in clean):
            self.fault(where, ascii(clean), _("The text holds a control character."))
        elif len(clean) > key.longest:
            self.fault(
                where,
                clean,
                _("The text has more than %(longest)s characters.", longest=key.longest),
            )
        elif key.choices and clean not in key.choices:
            near = difflib.get_close_matches(clean, key.choices, n=1, cutoff=0.6)
            hint = _(" Did you mean %(near)s?", near=near[0]) if near else ""
            self.fault(
                where, clean, _("This is none of the known words.%(hint)s", hint=hint), key.choices
            )
        elif key.required and not clean:
            self.fault(where, clean, _("This may not be empty."))
        else:
            return clean
        return None

    def texts(self, value: object, key: Key, where: str) -> tuple[str, ...] | None:
        if not isinstance(value, list):
            self.fault(where, value, _("This is a list of texts."), ['["one", "two"]'])
            return None
        one = Key(key.attr, longest=key.longest, required=True)
        found = [self.text(item, one, f"{where}[{index}]") for index, item in enumerate(value)]
        return tuple(item for item in found if item is not None)

    def whole(self, value: object, key: Key, where: str) -> int | None:
        if isinstance(value, bool) or not isinstance(value, int):
            self.fault(where, value, _("This is a whole number."), ["1", "2"])
        elif not key.low <= value <= key.high:
            self.fault(
                where,
                value,
                _(
                    "This is a whole number from %(low)s to %(high)s.",
                    low=f"{key.low:g}",
                    high=f"{key.high:g}",
                ),
            )
        else:
            return value
        return None

    def number(self, value: object, key: Key, where: str) -> float | None:
        if isinstance(value, str) and key.dimension == "time":
            seconds = self.parse(value, key, where, bare_unit=None)
            if seconds is None:
                return None
            value = seconds.value / 60
        low = _("above 0") if key.above else _("from %(low)s", low=f"{key.low:g}")
        examples = _numbers(key)
        if not _finite(value):
            self.fault(
                where,
                value,
                _("This is a number %(low)s to %(high)s.", low=low, high=f"{key.high:g}"),
                examples,
            )
            return None
        figure = float(value)  # type: ignore[arg-type]
        if not key.low <= figure <= key.high or (key.above and figure == key.low):
            self.fault(
                where,
                value,
                _("This is a number %(low)s to %(high)s.", low=low, high=f"{key.high:g}"),
                examples,
            )
            return None
        return figure

    def flag(self, value: object, key: Key, where: str) -> bool | None:
        if isinstance(value, bool):
            return value
        self.fault(where, value, _("This is yes or no."), ["true", "false"])
        return None

    def day(self, value: object, key: Key, where: str) -> date | None:
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        try:
            return date.fromisoformat(value if isinstance(value, str) else "")
        except ValueError:
            self.fault(where, value, _("This is a date: year, month, day."), ["2026-01-31"])
            return None

    def parse(self, value: object, key: Key, where: str, bare_unit: str | None) -> Measure | None:
        """Read text as a measure, or say why it is none."""
        accepts = EXAMPLES.get(key.dimension, ())
        if not isinstance(value, str):
            self.fault(where, value, _("Write the figure with its unit, in quotes."), accepts)
            return None
        if len(value) > TYPED_MAX:
            self.fault(
                where,
                value,
                _("A figure has at most %(longest)s characters.", longest=TYPED_MAX),
                accepts,
            )
            return None
        try:
            return _measure(value, key.dimension, self.material, bare_unit)
        except UnitError as error:
            self.fault(where, value, str(error), error.accepts or accepts)
        return None

    def measure(self, value: object, key: Key, where: str) -> Measure | None:
        found = self.parse(value, key, where, None)
        if found is not None and self.sane([found.value], key, where, value):
            return found
        return None

    def range(self, value: object, key: Key, where: str) -> Range | None:
        accepts = EXAMPLES.get(key.dimension, ())
        if not isinstance(value, str):
            self.fault(where, value, _("Write the figure with its unit, in quotes."), accepts)
            return None
        if len(value) > TYPED_MAX:
            self.fault(
                where,
                value,
                _("A figure has at most %(longest)s characters.", longest=TYPED_MAX),
                accepts,
            )
            return None
        try:
            found = _range(value, key.dimension, self.material)
        except UnitError as error:
            self.fault(where, value, str(error), error.accepts or accepts)
            return None
        bounds = [one for one in (found.low, found.high, found.start) if one is not None]
        return found if self.sane(bounds, key, where, value) else None

    def sane(self, figures: list[float], key: Key, where: str, value: object) -> bool:
        accepts = EXAMPLES.get(key.dimension, ())
        if not all(math.isfinite(one) for one in figures):
            self.fault(where, value, _("The figure is not finite."), accepts)
        elif any(one < key.low or (key.above and one <= key.low) for one in figures):
            least = _("more than 0") if key.above else _("at least %(low)s", low=f"{key.low:g}")
            self.fault(where, value, _("The figure must be %(least)s.", least=least), accepts)
        elif any(one > key.high for one in figures):
            self.fault(where, value, _("The figure is far too large to be meant."), accepts)
        else:
            return True
        return False

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
                    accepts = _numbers(key)
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
            if self.process != "OFC":
                self.fault(f"{where}.joint", "", _("joint is missing."), _example(keys.JOINT))
            values["joint"] = spec.Joint(kind="none")
        return spec.Setup(**values) if len(self.faults) == before else None

    # Limits ----------------------------------------------------------------------------------

    def limits(self, table: Mapping[str, object], values: dict[str, Any], where: str) -> None:
        """Turn min, max, cap and step into measures by the criterion's kind and unit."""
        kind = values.get("kind")
        if kind is None:
            return
        stated = {name: table[name] for name in ("min", "max", "cap", "step") if name in table}
        unit = values["unit"] = values.get("unit") or _unit_of(kind, stated)
        known = UNITS[kind]
        if unit not in known:
            self.fault(
                f"{where}.unit",
                unit or "",
                _("%(kind)s has no such unit.", kind=kind),
                tuple(known),
            )
            return
        key = Key("limit", "measure", known[unit], 0.0, LIMITS_HIGH[known[unit]])
        found = {}
        for name, value in stated.items():
            text = str(value) if _finite(value) else value
            measure = self.parse(text, key, f"{where}.{name}", _bare_unit(unit, text))
            if measure and self.sane([measure.value], key, f"{where}.{name}", value):
                found[name] = measure
                if known[unit] == "count" and measure.value % 1:
                    self.fault(f"{where}.{name}", value, _("This is a whole number."), ["0", "2"])
        values.update(found)
        low, high = found.get("min"), found.get("max") or found.get("cap")
        if low and high and low.value > high.value:
            message = _(
                "The least (%(low)s) is more than the most (%(high)s).",
                low=low.typed,
                high=high.typed,
            )
            self.fault(f"{where}.min", table["min"], message)
        bounds = stated.keys() & {"min", "max"} | values.keys() & {"per_thickness"}
        if kind in ("measured", "share", "counted") and not bounds:
            self.fault(
                where, "", _("A %(kind)s criterion has min, max or both.", kind=kind), ["max"]
            )
        if "cap" in stated and "per_thickness" not in table:
            message = _("A cap belongs to a limit that grows with the thickness.")
            self.fault(f"{where}.cap", stated["cap"], message, ["per_thickness = 0.1"])


UNITS: dict[str, dict[str, str]] = {
    "measured": keys.MEASURED_UNITS,
    "gauge": {"in": "length", "mm": "length", "": "length"},
    "share": {"%": "fraction"},
    "judged": {"yes/no": "count", "0-4": "count"},
    "counted": {"count": "count"},
    "bend": {"in": "length", "mm": "length"},
}
LIMITS_HIGH = {"length": 10.0, "angle": 360.0, "time": 86400.0, "fraction": 1.0, "count": 10000.0}


def _bare_unit(unit: str, text: object) -> str | None:
    """Return the unit of a bare figure: the criterion's, but 0.9 is a share and 90 a percentage."""
    if unit == "%":
        return "%" if re.fullmatch(r"\d{2,3}(\.\d*)?|[2-9]", str(text).strip()) else None
    return unit if unit in keys.MEASURED_UNITS else None


def _unit_of(kind: str, stated: Mapping[str, object]) -> str:
    """Return the unit of a criterion that states none: the usual one, or that of its limits."""
    usual = {"share": "%", "judged": "0-4" if stated else "yes/no", "counted": "count"}
    if kind in usual:
        return usual[kind]
    for text in map(str, stated.values()):
        if found := re.search(r"(in|mm|deg|s|\")\s*$", text.strip()):
            return "in" if found[1] == '"' else found[1]
    return "in" if kind == "bend" else ""


def _numbers(key: Key) -> tuple[str, ...]:
    return ("30", "45") if key.high > 1 else ("0.45", "0.6")


def _example(shape: Shape) -> list[str]:
    return [", ".join(name for name, key in shape.keys.items() if key.required)]
