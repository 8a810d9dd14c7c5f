"""Arc energy and heat input per length of weld, by pass of a setup and of what was logged.

Arc energy = U I / v; heat input = k x arc energy, k after EN 1011-1 (`tables/heat_input.toml`).
American codes (AWS D1.1, ASME IX QW-409.1) call the arc energy heat input.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from curriculum.core.defaults import sourced, table
from curriculum.core.dial import numbered
from curriculum.core.load_voltage import load_voltage
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import PROCESSES, Exercise, Pass, Setup
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from shared.units import Range

UNIT = "J/m"
AMERICAN = _("American codes (AWS D1.1, ASME IX) call the arc energy heat input.")
PULSED = _(
    "A pulsed arc: volts times amperes as the dial shows them is only near; codes ask for the "
    "energy that the machine itself measures (ASME IX QW-409.1, from memory)."
)
Side = Literal["low", "working", "high"]
BOUNDS: dict[Side, _] = {
    "low": _("the lowest"),
    "working": _("the working value"),
    "high": _("the highest"),
}


@dataclass(frozen=True, slots=True)
class HeatInput:
    """Arc energy and heat input in J/m, efficiency `k` (dimensionless); the last step gives it."""

    arc_energy: float
    k: float
    heat_input: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PassHeat:
    """The heat of one pass, or of what was logged, over the ranges of its settings.

    `low` is of the lowest volts and amperes at the highest speed, `high` the other way round.
    All three are None where `missing` names settings that are not stated, or are zero.
    """

    number: str = ""
    technique: str = ""
    low: HeatInput | None = None
    working: HeatInput | None = None
    high: HeatInput | None = None
    voltage_assumed: bool = False
    missing: tuple[str, ...] = ()

    @property
    def span(self) -> Range | None:
        """The heat input from lowest to highest with its working value, J/m."""
        return self._range("heat_input")

    @property
    def arc_span(self) -> Range | None:
        """The arc energy likewise, J/m."""
        return self._range("arc_energy")

    def _range(self, name: str) -> Range | None:
        if self.low is None or self.working is None or self.high is None:
            return None
        low, start, high = (getattr(one, name) for one in (self.low, self.working, self.high))
        return Range.of(low, high, UNIT, start=None if low == high else start)


def number_of(exercise: Exercise) -> str:
    """Return the ISO 4063 number of an exercise, the usual one of its letters if not stated."""
    return exercise.iso4063 or PROCESSES[exercise.process][0]


def efficiency(iso4063: str) -> Input | None:
    """Return k of EN 1011-1 with its source; None for what is no arc weld, such as a flame."""
    for row in table("heat_input")["efficiency"]:
        if iso4063 in row["iso4063"]:
            return Input(row["k"], "1", sourced(row))
    return None


def heat_input(
    iso4063: str,
    voltage: float | Input | Step,
    current: float | Input | Step,
    travel_speed: float | Input | Step,
) -> HeatInput:
    """Return arc energy and heat input of a weld.

    Parameters
    ----------
    iso4063 : str
        Process number of an arc weld: "111", "114", "121", "131", "135" to "139", "141", "142"
        or "15".
    voltage, current, travel_speed : float, Input or Step
        V, A and m/s, each over 0 and finite. A step is an earlier line of the same calculation.

    Raises
    ------
    ValueError
        If the process has no k, or a figure is not over 0 and finite.
    """
    k = efficiency(iso4063)
    if k is None:
        raise ValueError(f"iso4063 must be an arc weld of EN 1011-1, got {iso4063!r}")
    given = {
        "voltage": _given("voltage", voltage, "V"),
        "current": _given("current", current, "A"),
        "speed": _given("travel_speed", travel_speed, "m/s"),
    }
    work = Worksheet(*(one for one in given.values() if isinstance(one, Step)))
    arc = work.add(gettext_noop("Arc energy"), "voltage * current / speed", UNIT, **given)
    heat = work.add(gettext_noop("Heat input"), "arc_energy * k", UNIT, arc_energy=arc, k=k)
    return HeatInput(arc.value, k.value, heat.value, tuple(work.steps))


def _given(name: str, figure: float | Input | Step, unit: str) -> Input | Step:
    one = figure if isinstance(figure, Input | Step) else Input(figure, unit, _("given"))
    if not 0 < one.value < math.inf:
        raise ValueError(f"{name} must be over 0 and finite, got {one.value} {unit}")
    return one


def by_pass(exercise: Exercise, setup: Setup) -> tuple[PassHeat, ...]:
    """Return the heat of each pass of a setup in welding order; none for what is no arc weld.

    A pass that states its own settings goes by these, else by the setup's. A voltage that is not
    stated is the conventional load voltage, and marked so; nothing else is assumed.
    """
    passes = numbered(setup.passes) or [("", Pass(technique=""))]
    return tuple(
        found
        for number, one in passes
        if (
            found := pass_heat(
                exercise,
                voltage=one.voltage or setup.voltage,
                current=one.current or setup.current,
                travel_speed=one.travel_speed or setup.travel_speed,
                number=number,
                technique=one.technique,
            )
        )
    )


def pass_heat(
    exercise: Exercise,
    *,
    voltage: Range | None,
    current: Range | None,
    travel_speed: Range | None,
    number: str = "",
    technique: str = "",
) -> PassHeat | None:
    """Return the heat of one set of settings (V, A, m/s); None for what is no arc weld."""
    iso4063 = number_of(exercise)
    if efficiency(iso4063) is None:
        return None
    missing = [
        name
        for name, range_ in ((_("current"), current), (_("travel speed"), travel_speed))
        if not _is_positive(range_)
    ]
    if voltage and not _is_positive(voltage):
        missing.insert(0, _("voltage"))
    if missing or current is None or travel_speed is None:
        return PassHeat(number=number, technique=technique, missing=tuple(missing))

    def at(side: Side, other: Side) -> HeatInput:
        amperes = _stated(current, side, _("current"))
        volts = _stated(voltage, side, _("voltage")) if voltage else None
        return heat_input(
            iso4063,
            volts or load_voltage(exercise.process, amperes),
            amperes,
            _stated(travel_speed, other, _("travel speed")),
        )

    return PassHeat(
        number=number,
        technique=technique,
        low=at("low", "high"),
        working=at("working", "working"),
        high=at("high", "low"),
        voltage_assumed=voltage is None,
    )


def _is_positive(range_: Range | None) -> bool:
    return range_ is not None and _bound(range_, "low") > 0


def _bound(range_: Range, side: Side) -> float:
    bound = {"low": range_.low, "working": range_.working, "high": range_.high}[side]
    return range_.working if bound is None else bound


def _stated(range_: Range, side: Side, name: str) -> Input:
    value = _bound(range_, side)
    if range_.low == range_.high:
        source = _("%(name)s, %(typed)s", name=name, typed=range_.typed)
    else:
        source = _(
            "%(name)s, %(typed)s, %(which)s", name=name, typed=range_.typed, which=BOUNDS[side]
        )
    return Input(value, range_.unit, source)


def notes(setup: Setup) -> tuple[str, ...]:
    """Return what a reader of the figures has to know."""
    return (AMERICAN, PULSED) if "puls" in setup.transfer.lower() else (AMERICAN,)


def overall(stated: Sequence[PassHeat]) -> Range | None:
    """Return the heat input from the lowest to the highest of all passes, J/m; None if unknown."""
    spans = [one.span for one in stated]
    lows = [span.low for span in spans if span and span.low is not None]
    highs = [span.high for span in spans if span and span.high is not None]
    if not spans or len(highs) < len(spans):
        return None
    return Range.of(min(lows), max(highs), UNIT)


def against(logged: PassHeat, stated: Sequence[PassHeat]) -> Literal["", "under", "in", "over"]:
    """Say where the working heat of what was logged lies to the passes of its setup.

    "over" is over the highest of all passes, "under" under the lowest; "" where either is unknown.
    """
    span = overall(stated)
    if logged.working is None or span is None or span.low is None or span.high is None:
        return ""
    if logged.working.heat_input > span.high * (1 + 1e-9):
        return "over"
    return "under" if logged.working.heat_input < span.low * (1 - 1e-9) else "in"
