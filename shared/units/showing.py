"""Showing quantities: US customary or metric, as typed where that was typed."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from shared.units.figures import SAME, close, number_text
from shared.units.reader import Term
from shared.units.reading import read_terms
from shared.units.tables import DIMENSIONS, INCH, Unit, gauges, unit
from shared.units.values import Measure, Range

DASH = "–"

# SI unit → system → (from this SI value on, unit), the largest first.
_SHOWN: dict[str, dict[str, tuple[tuple[float, str], ...]]] = {
    "m": {"us": ((6.096, "ft"), (0, "in")), "metric": ((10, "m"), (0, "mm"))},
    "m2": {"us": ((0.929, "ft²"), (0, "in²")), "metric": ((0.01, "m²"), (0, "mm²"))},
    "m3": {
        "us": ((0.0028, "ft³"), (0, "in³")),
        "metric": ((10, "m³"), (0.001, "L"), (0, "cm³")),
    },
    "kg": {"us": ((0.1133, "lb"), (0, "oz")), "metric": ((1, "kg"), (0, "g"))},
    "s": {
        "us": ((7200, "h"), (120, "min"), (0, "s")),
        "metric": ((7200, "h"), (120, "min"), (0, "s")),
    },
    "m3/s": {"us": ((0, "ft³/h"),), "metric": ((0, "L/min"),)},
    "m/s": {"us": ((0, "in/min"),), "metric": ((2 / 60, "m/min"), (0, "mm/min"))},
    "A": {"us": ((0, "A"),), "metric": ((0, "A"),)},
    "V": {"us": ((0, "V"),), "metric": ((0, "V"),)},
    "deg": {"us": ((0, "°"),), "metric": ((0, "°"),)},
    "Pa": {"us": ((0, "psi"),), "metric": ((1e6, "bar"), (0, "kPa"))},
    "K": {"us": ((0, "°F"),), "metric": ((0, "°C"),)},
    "J/m": {"us": ((0, "kJ/in"),), "metric": ((0, "kJ/mm"),)},
    "kg/m3": {"us": ((0, "lb/in³"),), "metric": ((0, "kg/m³"),)},
}
# The dimension whose units an SI unit is looked up in; "1" is a plain number.
_DIMENSION_OF = {si: name for name, si in reversed(DIMENSIONS.items())}


@dataclass(frozen=True, slots=True)
class Shown:
    """A figure and its unit, apart so that a page can set the unit smaller."""

    figure: str
    unit: str

    def __str__(self) -> str:
        return f"{self.figure}{'' if self.unit in ('°', '') else ' '}{self.unit}"


def _unit_for(value: float, si: str, system: str) -> Unit:
    if system not in ("us", "metric"):
        raise ValueError(f"system must be us or metric, got {system!r}")
    if si == "1":
        return unit("", "count")
    for least, symbol in _SHOWN[si][system]:
        if abs(value) >= least * (1 - float(SAME)):
            return unit(symbol, _DIMENSION_OF[si])
    raise AssertionError("the last row of every unit starts at zero")


def _gauge_of(value: float, material: str | None) -> str | None:
    """Return the gauge number of a thickness of `material`, if it is one."""
    for number, inches in (gauges(material) or {} if material else {}).items():
        if close(Fraction(value), inches * INCH):
            return str(number)
    return None


def _figure(value: float, of: Unit, digits: int | None, *, fractions: bool = True) -> str:
    number = Fraction(value) / of.factor - of.offset
    return number_text(number, of, digits, fractions=fractions)


def _typed_in(term: Term, system: str) -> bool:
    """Say whether `term` was written in units of `system`."""
    if term.gauge:
        return system == "us"
    return term.unit is not None and term.unit.systems in (system, "both")


def _symbol(term: Term) -> str:
    return term.unit.symbol if term.unit else term.symbol


def show(
    measure: Measure, system: str = "us", material: str | None = None, *, digits: int | None = None
) -> Shown:
    """Return `measure` in US customary units ("us") or "metric".

    What was typed in that system comes back as typed. Else inches are a fraction where the value
    is a 64th, a gauge where `material` has one of that thickness, and a decimal otherwise, never
    rounded to a fraction. `digits` limits a converted figure to so many significant digits, for
    reading at arm's length; without it a figure that was stated is shown exactly.
    """
    return _shown(measure, system, material, digits)


@lru_cache(maxsize=4096)  # a page shows the same few figures row after row
def _shown(measure: Measure, system: str, material: str | None, digits: int | None) -> Shown:
    terms = read_terms(measure.typed, measure.unit, material, (measure.value,))
    if terms and _typed_in(terms[0], system):
        return Shown(terms[0].text, _symbol(terms[0]))
    chosen = _unit_for(measure.value, measure.unit, system)
    figure = _figure(measure.value, chosen, digits)
    if chosen.symbol == "in" and "/" not in figure:
        gauge = _gauge_of(measure.value, material)
        if gauge is not None:
            return Shown(gauge, "ga")
    return Shown(figure, chosen.symbol)


def show_range(
    range_: Range, system: str = "us", material: str | None = None, *, digits: int | None = None
) -> Shown:
    """Return `range_` as "85–95", with its start as "14, 12–16", one-sided as "≤ 1/32".

    A single value is shown as one. Rounding and units are those of `show`.
    """
    return _shown_range(range_, system, material, digits)


@lru_cache(maxsize=4096)
def _shown_range(range_: Range, system: str, material: str | None, digits: int | None) -> Shown:
    bounds = (range_.low, range_.high, range_.start)
    values = [value for value in bounds if value is not None]
    terms = read_terms(range_.typed, range_.unit, material, bounds)
    if terms and all(_typed_in(term, system) for term in terms):
        symbols = {_symbol(term) for term in terms}
        if len(symbols) == 1:
            figures = dict(zip(values, (term.text for term in terms), strict=True))
            return Shown(_joined(range_, figures), symbols.pop())
    chosen = _unit_for(max(abs(value) for value in values), range_.unit, system)
    figures = {value: _figure(value, chosen, digits) for value in values}
    if any("." in figure for figure in figures.values()):  # never 0.394–1/2
        figures = {value: _figure(value, chosen, digits, fractions=False) for value in values}
    return Shown(_joined(range_, figures), chosen.symbol)


def _joined(range_: Range, figures: dict[float, str]) -> str:
    low, high, start = range_.low, range_.high, range_.start
    if low is not None and low == high:
        return figures[low]
    if low is not None and high is not None:
        span = f"{figures[low]}{DASH}{figures[high]}"
    elif high is not None:
        span = f"≤ {figures[high]}"
    elif low is not None:
        span = f"≥ {figures[low]}"
    else:
        span = ""
    parts = [figures[start]] if start is not None else []
    return ", ".join([*parts, span] if span else parts)
