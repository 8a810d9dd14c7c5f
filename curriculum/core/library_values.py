"""Read the single values of a library file, or say at their place why they are none."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from curriculum.core import library_keys as keys
from curriculum.core.library_keys import Key
from curriculum.core.sentence import Sentence as _
from shared.units import Measure, Range, UnitError, parse_measure, parse_range

TYPED_MAX = 40


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing a file must have changed: where, what was found, why not, what is accepted."""

    where: str
    got: str
    message: _
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


def _said(error: UnitError) -> _:
    """Return the sentence of an error; the kind of quantity in it is a phrase of its own."""
    phrases = ("dimension", "other")
    params = {
        name: _(str(part)) if name in phrases else part for name, part in error.params.items()
    }
    return _(error.template, **params)


@dataclass
class ValueReader:
    """Collects faults; `material` is the metal whose gauge numbers are meant."""

    faults: list[Fault] = field(default_factory=list)
    material: str | None = None

    def fault(self, where: str, got: object, message: _, accepts: Collection[str] = ()) -> None:
        self.faults.append(Fault(where, _shown(got), message, tuple(accepts)))

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
        examples = numbers_as(key)
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

    def _typed(self, value: object, where: str, accepts: Collection[str]) -> str | None:
        """Return the text of a figure, or say why it cannot be one."""
        if not isinstance(value, str):
            told = _("Write the figure with its unit, in quotes.")
        elif len(value) > TYPED_MAX:
            told = _("A figure has at most %(longest)s characters.", longest=TYPED_MAX)
        else:
            return value
        self.fault(where, value, told, accepts)
        return None

    def parse(self, value: object, key: Key, where: str, bare_unit: str | None) -> Measure | None:
        """Read text as a measure, or say why it is none."""
        accepts = EXAMPLES.get(key.dimension, ())
        text = self._typed(value, where, accepts)
        if text is None:
            return None
        try:
            return _measure(text, key.dimension, self.material, bare_unit)
        except UnitError as error:
            self.fault(where, value, _said(error), error.accepts or accepts)
        return None

    def measure(self, value: object, key: Key, where: str) -> Measure | None:
        found = self.parse(value, key, where, None)
        if found is not None and self.sane([found.value], key, where, value):
            return found
        return None

    def range(self, value: object, key: Key, where: str) -> Range | None:
        accepts = EXAMPLES.get(key.dimension, ())
        text = self._typed(value, where, accepts)
        if text is None:
            return None
        try:
            found = _range(text, key.dimension, self.material)
        except UnitError as error:
            self.fault(where, value, _said(error), error.accepts or accepts)
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
                _("A %(kind)s criterion has another unit.", kind=kind),
                [one for one in known if one],
            )
            return
        high = JUDGED_HIGH.get(unit, LIMITS_HIGH[known[unit]])
        key = Key("limit", "measure", known[unit], 0.0, high)
        found = {}
        for name, value in stated.items():
            text = str(value) if _finite(value) else value
            measure = self.parse(text, key, f"{where}.{name}", _bare_unit(unit, text))
            if measure and self.sane([measure.value], key, f"{where}.{name}", value):
                found[name] = measure
                if known[unit] == "count" and measure.value % 1:
                    self.fault(f"{where}.{name}", value, _("This is a whole number."), ["0", "2"])
        values.update(found)
        least, most = found.get("min"), found.get("cap") or found.get("max")
        if least and most and least.value > most.value:
            message = _(
                "The least (%(least)s) is more than the most (%(most)s).",
                least=least.typed,
                most=most.typed,
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
JUDGED_HIGH = {"yes/no": 1.0, "0-4": 4.0}
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


def numbers_as(key: Key) -> tuple[str, ...]:
    return ("30", "45") if key.high > 1 else ("0.45", "0.6")
