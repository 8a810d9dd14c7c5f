"""What an attempt draws from the wall: electric energy, and the air of a plasma torch."""

from __future__ import annotations

from curriculum.core.defaults import Defaults
from curriculum.core.load_voltage import load_voltage
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import FLAMES, Exercise, Setup
from curriculum.core.spec_key import is_air
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.model import Supply
from curriculum.core.usage.runs import Run, stated
from curriculum.core.usage.times import Times


def _voltage(work: Worksheet, exercise: Exercise, run: Run, current: Input) -> Input | Step:
    """Return the stated arc voltage, else the conventional load voltage for the current."""
    if run.voltage is not None:
        return stated(run.voltage, "voltage")
    found = load_voltage(exercise.process, current)
    return work.take([found]) if isinstance(found, Step) else found


def energy(exercise: Exercise, found: list[Run], times: Times, defaults: Defaults) -> Supply | None:
    """Return the energy from the mains in J; None for a flame, or where a current is not stated.

    Each pass counts with its voltage, current and time; tacks and starts with those of the first.
    """
    if exercise.process in FLAMES:
        return None
    work = Worksheet()
    parts: dict[str, Input | Step] = {}
    for k, (run, time) in enumerate(zip(found, times.passes, strict=True), 1):
        if run.current is None:
            return None
        current = stated(run.current, "current")
        voltage = _voltage(work, exercise, run, current)
        seconds: Input | Step = time
        if k == 1:
            seconds = work.add(
                gettext_noop("Time of the first pass, with tacks and starts"),
                "arc - others",
                "s",
                arc=times.arc,
                others=Input(
                    sum(one.value for one in times.passes[1:]), "s", _("time: the other passes")
                ),
            )
        parts[f"pass_{k}"] = work.add(
            gettext_noop("Energy of the arc in a pass"),
            "voltage * current * time",
            "J",
            voltage=voltage,
            current=current,
            time=seconds,
        )
    total = work.add(
        gettext_noop("Energy from the mains"),
        f"({' + '.join(parts)}) / efficiency",
        "J",
        **parts,
        efficiency=defaults.input("source_efficiency"),
    )
    return Supply(
        kind="energy",
        name=gettext_noop("electric energy"),
        quantity=total.value,
        unit="J",
        steps=tuple(work.steps),
    )


def air(setup: Setup, gas_time: float, defaults: Defaults) -> Supply | None:
    """Return the compressed air in m³ as it flows for `gas_time` s; None for another gas."""
    if setup.gas is None or not is_air(setup.gas.name):
        return None
    work = Worksheet()
    volume = work.add(
        gettext_noop("Air from the compressor, with leaks"),
        "flow * time * (1 + leak)",
        "m3",
        flow=stated(setup.gas.flow, "flow of gas"),
        time=Input(gas_time, "s", _("time: gas")),
        leak=defaults.input("gas_leak"),
    )
    return Supply(
        kind="air",
        name=gettext_noop("compressed air"),
        quantity=volume.value,
        unit="m3",
        steps=tuple(work.steps),
    )
