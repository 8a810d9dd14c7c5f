"""The five settings that are dialled in, read at arm's length before the first arc or flame."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import WIRES, Electrode, Filler, Gas, Pass, Setup
from shared.units import Measure, Range

FIVE = 5

# What each process dials in, the most needed first; the first five that are stated are shown.
# Common practice, no source.
_ANGLES = ("travel_speed", "arc_length", "work_angle", "travel_angle", "interpass_max")
ORDER: dict[str, tuple[str, ...]] = {
    "GTAW": ("current", "electrode", "filler", "gas", "nozzle", "postflow", "stickout", *_ANGLES),
    "SMAW": ("current", "electrode", *_ANGLES, "voltage"),
    "GMAW": ("wire_feed", "voltage", "electrode", "gas", "stickout", "current", *_ANGLES),
    "FCAW": ("wire_feed", "voltage", "electrode", "gas", "stickout", "current", *_ANGLES),
    "OFW": ("tip", "fuel", "oxygen", "filler", "rod_angle", *_ANGLES),
    "OFC": ("tip", "fuel", "oxygen", "cutting_oxygen", "travel_speed", "travel_angle"),
    "PAC": ("current", "gas", "nozzle", "travel_speed", "arc_length", "postflow", "travel_angle"),
}
LABELS: dict[str, str] = {
    "current": _("Current"),
    "electrode": _("Electrode"),
    "filler": _("Rod"),
    "gas": _("Gas"),
    "fuel": _("Fuel gas"),
    "oxygen": _("Oxygen"),
    "cutting_oxygen": _("Cutting oxygen"),
    "nozzle": _("Nozzle"),
    "tip": _("Tip"),
    "postflow": _("Postflow"),
    "stickout": _("Stickout"),
    "travel_speed": _("Travel speed"),
    "arc_length": _("Arc length"),
    "work_angle": _("Work angle"),
    "travel_angle": _("Travel angle"),
    "rod_angle": _("Rod angle"),
    "interpass_max": _("Between passes"),
    "wire_feed": _("Wire feed"),
    "voltage": _("Voltage"),
}
POLARITY: dict[str, str] = {
    "DCEN": _("electrode to minus"),
    "DCEP": _("electrode to plus"),
    "AC": _("alternating"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialled:
    """One setting: its label, the figure read first, and what stands beside it.

    `figure` is the start of a range that states one, else the range or measure itself; `range` is
    the range around a start. `word` is said before the figure's side is read ("DCEN", "at most"),
    `note` is softer. `own` are passes that are set otherwise, by their label.
    """

    key: str
    label: str
    figure: Measure | Range
    range: Range | None = None
    word: str = ""
    note: str = ""
    own: tuple[tuple[str, Range], ...] = ()

    @property
    def value(self) -> float:
        """The figure in SI: of a range its working value."""
        return self.figure.working if isinstance(self.figure, Range) else self.figure.value


def dial(setup: Setup, process: str) -> list[Dialled]:
    """Return the settings of `setup` to dial in, five at most, the most needed first.

    Which they are depends on the process; what the setup does not state is passed over. Raises
    `ValueError` for letters that are not a process.
    """
    if process not in ORDER:
        raise ValueError(f"process must be one of {', '.join(ORDER)}, got {process!r}")
    rows = (_row(setup, process, key) for key in ORDER[process])
    return [row for row in rows if row is not None][:FIVE]


def _row(setup: Setup, process: str, key: str) -> Dialled | None:
    value = getattr(setup, key)
    if isinstance(value, Electrode):
        label = _("Tungsten") if process == "GTAW" else LABELS[key]
        label = _("Wire") if process in WIRES else label
        return Dialled(
            key=key,
            label=label,
            figure=value.diameter,
            word=value.type,
            note=value.preparation,
        )
    if isinstance(value, Filler):
        return Dialled(key=key, label=LABELS[key], figure=value.diameter, word=value.filler_class)
    if isinstance(value, Gas):
        return _gas(key, value)
    if isinstance(value, Measure):
        word = _("at most") if key == "interpass_max" else ""
        return Dialled(key=key, label=LABELS[key], figure=value, word=word)
    return _settings(setup, key, value)


def _gas(key: str, gas: Gas) -> Dialled:
    """Regulators of oxy-fuel show pressure, a shielding gas is set by its flow."""
    name = "" if gas.name.casefold() == LABELS[key].casefold() else gas.name
    if gas.pressure is not None:
        return Dialled(key=key, label=LABELS[key], figure=gas.pressure, word=name)
    figure, range_, bound = split(gas.flow)
    word = _("%(name)s, %(bound)s", name=name, bound=bound) if name and bound else name or bound
    return Dialled(key=key, label=LABELS[key], figure=figure, range=range_, word=word)


def _settings(setup: Setup, key: str, stated: Range | None) -> Dialled | None:
    own = list(_own(setup, key, stated))
    if stated is None:
        if not own:
            return None
        stated = own[0][1]
        own = [(label, value) for label, value in own if not _same(value, stated)]
    figure, range_, bound = split(stated)
    return Dialled(
        key=key,
        label=LABELS[key],
        figure=figure,
        range=range_,
        word=_WORDS.get(key, lambda one: "")(setup) or bound,
        note=_NOTES.get(key, lambda one: "")(setup),
        own=tuple(own),
    )


def _same(one: Range, other: Range) -> bool:
    return (one.low, one.high, one.start) == (other.low, other.high, other.start)


def _own(setup: Setup, key: str, stated: Range | None) -> Iterator[tuple[str, Range]]:
    """The passes that are set otherwise than the setup says."""
    for label, one in numbered(setup.passes):
        value: Range | None = getattr(one, key, None)
        if value is not None and not (stated and _same(value, stated)):
            yield _("pass %(number)s", number=label), value


def numbered(passes: tuple[Pass, ...]) -> list[tuple[str, Pass]]:
    """Return passes with their numbers in welding order: "1", or "2–4" for several alike."""
    rows, number = [], 1
    for one in passes:
        last = number + one.count - 1
        rows.append((str(number) if last == number else f"{number}–{last}", one))
        number = last + 1
    return rows


def split(range_: Range) -> tuple[Measure | Range, Range | None, str]:
    """Return the figure read first, the range around it, and the word of a one-sided bound."""
    low, high, start = range_.low, range_.high, range_.start
    if low is not None and high is not None:
        if low == high or start is None:
            return range_, None, ""
        return Measure.of(start, range_.unit), range_, ""
    if start is not None:
        return Measure.of(start, range_.unit), range_, ""
    bound = low if low is not None else high
    if bound is None:
        return range_, None, ""
    return Measure.of(bound, range_.unit), None, _("at least") if high is None else _("at most")


_WORDS: dict[str, Callable[[Setup], str]] = {
    "current": lambda one: one.polarity,
    "travel_angle": lambda one: one.travel_direction,
    "voltage": lambda one: one.transfer,
}
_NOTES: dict[str, Callable[[Setup], str]] = {
    "current": lambda one: POLARITY.get(one.polarity, ""),
}
