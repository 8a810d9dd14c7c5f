"""Dimensions, the units each is written in, and the sheet gauges and pipe walls."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

# Exact by definition: international inch and pound (1959), standard gravity (3rd CGPM, 1901).
INCH = Fraction(254, 10_000)
FOOT = 12 * INCH
POUND = Fraction(45_359_237, 100_000_000)
PSI = POUND * Fraction(980_665, 100_000) / INCH**2
LITRE = Fraction(1, 1000)
MILLI = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as written: SI value = `factor` × (number + `offset`)."""

    symbol: str
    dimension: str
    factor: Fraction
    systems: str = "both"  # us, metric, both
    spellings: tuple[str, ...] = ()
    offset: Fraction = Fraction(0)
    pint: str = ""  # what pint calls it, where that is not the symbol


@dataclass(frozen=True, slots=True)
class Dimension:
    """What is measured: its SI unit, the largest value that can be meant, examples of writing it.

    `spoken` is the noun with its article, as an error message needs it.
    """

    name: str
    spoken: str
    si: str
    top: float
    examples: tuple[str, ...]
    bare: bool = False  # a number without a unit is whole by itself
    signed: bool = False


def gettext_noop(text: str) -> str:
    """Mark `text` for translation; whoever shows it translates it."""
    return text


_DIMENSIONS = (
    Dimension("length", gettext_noop("a length"), "m", 1e4, ("1/4 in", "6 mm", "16 ga")),
    Dimension("area", gettext_noop("an area"), "m2", 1e6, ("10 in2", "250 mm2")),
    Dimension("volume", gettext_noop("a volume"), "m3", 1e6, ("80 ft3", "50 L")),
    Dimension("mass", gettext_noop("a mass"), "kg", 1e6, ("10 lb", "5 kg", "4 oz")),
    Dimension("time", gettext_noop("a time"), "s", 1e9, ("10 s", "30 min", "4 h")),
    Dimension("flow", gettext_noop("a flow"), "m3/s", 1e3, ("20 ft3/h", "9.5 L/min")),
    Dimension("speed", gettext_noop("a speed"), "m/s", 1e4, ("6 in/min", "150 mm/min")),
    Dimension("current", gettext_noop("a current"), "A", 1e5, ("90 A",)),
    Dimension("voltage", gettext_noop("a voltage"), "V", 1e5, ("22 V",)),
    Dimension("angle", gettext_noop("an angle"), "deg", 360, ("45 deg", "22-1/2 deg")),
    Dimension("pressure", gettext_noop("a pressure"), "Pa", 1e10, ("5 psi", "35 kPa", "2 bar")),
    Dimension(
        "temperature",
        gettext_noop("a temperature"),
        "K",
        1e5,
        ("350 degF", "175 degC"),
        False,
        True,
    ),
    Dimension("density", gettext_noop("a density"), "kg/m3", 1e5, ("7850 kg/m3", "0.2833 lb/in3")),
    Dimension("heat input", gettext_noop("a heat input"), "J/m", 1e9, ("40 kJ/in", "1.6 kJ/mm")),
    Dimension("fraction", gettext_noop("a share"), "1", 100, ("90 %", "0.9"), True),
    Dimension("count", gettext_noop("a number"), "1", 1e9, ("3",), True),
)
BY_NAME = {dimension.name: dimension for dimension in _DIMENSIONS}
DIMENSIONS: dict[str, str] = {dimension.name: dimension.si for dimension in _DIMENSIONS}
"""Name of each dimension and the SI unit its values are kept in."""

_UNITS = (
    Unit("in", "length", INCH, "us", ("inch", "inches", '"', "in.", "''")),
    Unit("ft", "length", FOOT, "us", ("foot", "feet", "'", "ft.")),
    Unit("thou", "length", INCH / 1000, "us"),
    Unit("mm", "length", MILLI, "metric"),
    Unit("cm", "length", Fraction(1, 100), "metric"),
    Unit("m", "length", Fraction(1), "metric", ("metre", "metres", "meter", "meters")),
    Unit("um", "length", Fraction(1, 10**6), "metric", ("µm", "μm", "micron", "microns")),
    Unit("in²", "area", INCH**2, "us", ("in2", "sq in", "sq. in.", "in^2"), pint="in**2"),
    Unit("ft²", "area", FOOT**2, "us", ("ft2", "sq ft", "sq. ft.", "ft^2"), pint="ft**2"),
    Unit("mm²", "area", MILLI**2, "metric", ("mm2", "mm^2"), pint="mm**2"),
    Unit("cm²", "area", Fraction(1, 10**4), "metric", ("cm2", "cm^2"), pint="cm**2"),
    Unit("m²", "area", Fraction(1), "metric", ("m2", "m^2"), pint="m**2"),
    Unit("in³", "volume", INCH**3, "us", ("in3", "cu in", "in^3"), pint="in**3"),
    Unit("ft³", "volume", FOOT**3, "us", ("ft3", "cf", "cu ft", "ft^3"), pint="ft**3"),
    Unit("mm³", "volume", MILLI**3, "metric", ("mm3", "mm^3"), pint="mm**3"),
    Unit("cm³", "volume", Fraction(1, 10**6), "metric", ("cm3", "cc", "cm^3"), pint="cm**3"),
    Unit("mL", "volume", Fraction(1, 10**6), "metric", ("ml",)),
    Unit("L", "volume", LITRE, "metric", ("l", "litre", "litres", "liter", "liters")),
    Unit("m³", "volume", Fraction(1), "metric", ("m3", "m^3"), pint="m**3"),
    Unit("lb", "mass", POUND, "us", ("lbs", "lb.", "pound", "pounds")),
    Unit("oz", "mass", POUND / 16, "us", ("oz.", "ounce", "ounces")),
    Unit("mg", "mass", Fraction(1, 10**6), "metric"),
    Unit("g", "mass", MILLI, "metric", ("gram", "grams")),
    Unit("kg", "mass", Fraction(1), "metric"),
    Unit("t", "mass", Fraction(1000), "metric", ("tonne", "tonnes"), pint="tonne"),
    Unit("s", "time", Fraction(1), spellings=("sec", "secs", "sec.", "second", "seconds")),
    Unit("min", "time", Fraction(60), spellings=("mins", "min.", "minute", "minutes")),
    Unit("h", "time", Fraction(3600), spellings=("hr", "hrs", "hour", "hours")),
    Unit(
        "ft³/h",
        "flow",
        FOOT**3 / 3600,
        "us",
        ("ft3/h", "ft3/hr", "ft³/hr", "cfh", "cf/h", "cf/hr", "scfh", "cu ft/h", "ft^3/h"),
        pint="ft**3/hour",
    ),
    Unit(
        "ft³/min",
        "flow",
        FOOT**3 / 60,
        "us",
        ("ft3/min", "ft^3/min", "cu ft/min", "cfm", "scfm"),
        pint="ft**3/minute",
    ),
    Unit("L/min", "flow", LITRE / 60, "metric", ("l/min", "lpm", "lit/min"), pint="L/min"),
    Unit("m³/h", "flow", Fraction(1, 3600), "metric", ("m3/h", "m^3/h"), pint="m**3/hour"),
    Unit("m³/s", "flow", Fraction(1), "metric", ("m3/s", "m^3/s"), pint="m**3/s"),
    Unit("in/min", "speed", INCH / 60, "us", ("ipm", "in./min", "inch/min", "in/minute")),
    Unit("ft/min", "speed", FOOT / 60, "us", ("fpm",)),
    Unit("in/s", "speed", INCH, "us"),
    Unit("mm/s", "speed", MILLI, "metric"),
    Unit("mm/min", "speed", MILLI / 60, "metric"),
    Unit("cm/min", "speed", Fraction(1, 6000), "metric"),
    Unit("m/min", "speed", Fraction(1, 60), "metric"),
    Unit("m/s", "speed", Fraction(1), "metric"),
    Unit("A", "current", Fraction(1), spellings=("amp", "amps", "ampere", "amperes")),
    Unit("V", "voltage", Fraction(1), spellings=("volt", "volts")),
    Unit(
        "°", "angle", Fraction(1), spellings=("deg", "deg.", "degree", "degrees", "º"), pint="deg"
    ),
    Unit("psi", "pressure", PSI, "us", ("psig", "lb/in2", "lb/in²")),
    Unit("kPa", "pressure", Fraction(1000), "metric"),
    Unit("bar", "pressure", Fraction(100_000), "metric", ("barg",)),
    Unit("MPa", "pressure", Fraction(10**6), "metric"),
    Unit("Pa", "pressure", Fraction(1), "metric"),
    Unit(
        "°F",
        "temperature",
        Fraction(5, 9),
        "us",
        ("degF", "deg F", "° F", "ºF", "F"),
        Fraction(45_967, 100),
        "degF",
    ),
    Unit(
        "°C",
        "temperature",
        Fraction(1),
        "metric",
        ("degC", "deg C", "° C", "ºC", "C"),
        Fraction(27_315, 100),
        "degC",
    ),
    Unit("K", "temperature", Fraction(1), "metric", pint="kelvin"),
    Unit("lb/in³", "density", POUND / INCH**3, "us", ("lb/in3",), pint="lb/in**3"),
    Unit("kg/m³", "density", Fraction(1), "metric", ("kg/m3",), pint="kg/m**3"),
    Unit("g/cm³", "density", Fraction(1000), "metric", ("g/cm3", "g/cc"), pint="g/cm**3"),
    Unit("kJ/in", "heat input", 1000 / INCH, "us", ("kj/inch",), pint="kJ/inch"),
    Unit("kJ/mm", "heat input", Fraction(10**6), "metric"),
    Unit("J/m", "heat input", Fraction(1), "metric"),
    Unit("%", "fraction", Fraction(1, 100), spellings=("percent", "per cent"), pint="percent"),
    Unit("", "fraction", Fraction(1), pint="dimensionless"),
    Unit("", "count", Fraction(1), spellings=("pc", "pcs", "pieces"), pint="dimensionless"),
)


def fold(spelling: str) -> str:
    """Return a spelling as the tables know it: one blank, no difference of case."""
    return " ".join(spelling.split()).casefold()


def _by_spelling() -> dict[str, tuple[Unit, ...]]:
    found: dict[str, tuple[Unit, ...]] = {}
    for unit in _UNITS:
        for spelling in dict.fromkeys(fold(text) for text in (unit.symbol, *unit.spellings)):
            found[spelling] = (*found.get(spelling, ()), unit)
    return found


UNITS = _UNITS
SPELLINGS = _by_spelling()


def unit(symbol: str, dimension: str) -> Unit:
    """Return the unit written `symbol`; KeyError where `dimension` has none such."""
    for candidate in SPELLINGS.get(fold(symbol), ()):
        if candidate.dimension == dimension:
            return candidate
    raise KeyError(symbol)


@cache
def _data() -> dict[str, Any]:
    text = resources.files("shared.units").joinpath("sheet_and_pipe.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def gauges(metal: str) -> dict[int, Fraction] | None:
    """Return gauge number → thickness in inches for sheet of `metal`; None where none is known."""
    data = _data()
    for table in data["gauge"]:
        if fold(metal) in table["metals"]:
            return {int(row[0]): Fraction(str(row[1])) for row in table["rows"]}
    return None


@cache
def gauge_metals() -> tuple[str, ...]:
    """Return the metals that have a gauge table, one name each, in the order of the tables."""
    return tuple(table["metals"][0] for table in _data()["gauge"])


@cache
def pipes() -> dict[str, dict[str, Any]]:
    """Return nominal size ("1-1/2") → {"outside": inches, "wall": {schedule: inches}}."""
    return {row["size"]: row for row in _data()["pipe"]["sizes"]}
