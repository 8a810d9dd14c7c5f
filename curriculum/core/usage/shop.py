"""What goes by time, start or piece: gases, tungsten, wear parts, abrasives."""

from __future__ import annotations

from curriculum.core.defaults import Defaults
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import FLAMES, PREPARED, WIRES, Exercise, Gas, Setup
from curriculum.core.spec_key import gas_name, is_air, spec_key
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.filler import key_of
from curriculum.core.usage.flame import flame_flows
from curriculum.core.usage.habit import habit
from curriculum.core.usage.model import Item, UsageError
from curriculum.core.usage.runs import stated
from curriculum.core.usage.times import Times

# a second need of a gas that the setup may use anyway
_APART = {
    "purge": _("%(gas)s, purge"),
    "cutting_oxygen": _("%(gas)s, cutting oxygen"),
}
_GAS_TIME, _CUT_TIME = _("time: gas"), _("time: the cut itself")


def _gas(
    key: str,
    name: str,
    flow: Input | Step,
    seconds: list[Input],
    defaults: Defaults,
    work: Worksheet | None = None,
) -> Item:
    """Return a gas as an item: what flows in `seconds`, and what leaks on the way."""
    if not flow.value > 0:
        raise UsageError(f"{key}.flow", _("must be more than 0"), ("20 cfh", "9.5 L/min"))
    if not name.strip():
        raise UsageError(f"{key}.name", _("say which gas it is"), ("argon", "75 Ar/25 CO2"))
    work = work or Worksheet()
    times = {f"time_{k}": one for k, one in enumerate(seconds, 1)}
    through = work.add(
        gettext_noop("Gas through the nozzle"),
        f"flow * ({' + '.join(times)})",
        "m3",
        flow=flow,
        **times,
    )
    volume = work.add(
        gettext_noop("Gas from the cylinder, with leaks"),
        "through * (1 + leak)",
        "m3",
        through=through,
        leak=defaults.input("gas_leak"),
    )
    called = gas_name(name)
    return Item(
        kind="gas",
        spec=spec_key("gas", name=name),
        name=_(_APART[key], gas=_(called)) if key in _APART else called,
        quantity=volume.value,
        unit="m3",
        pieces=None,
        steps=tuple(work.steps),
    )


def gas_items(exercise: Exercise, setup: Setup, times: Times, defaults: Defaults) -> list[Item]:
    """Return an item for each gas from a cylinder, in m³ as it flows (1 atm, room temperature).

    Fuel and oxygen of a flame come from one set of flows; a plasma torch's air comes from the
    compressor and is no item.
    """
    on = Input(times.time.gas, "s", _GAS_TIME)

    def of(key: str, gas: Gas, *seconds: Input) -> Item:
        flow = stated(gas.flow, f"flow of {key.replace('_', ' ')}")
        return _gas(key, gas.name, flow, list(seconds), defaults)

    items = []
    if setup.gas and not is_air(setup.gas.name):
        items.append(of("gas", setup.gas, on))
    if exercise.process in FLAMES:
        for key, name, work, flow in flame_flows(setup):
            items.append(_gas(key, name, flow, [on], defaults, work))
    if setup.cutting_oxygen:
        cut = Input(times.cut, "s", _CUT_TIME)
        items.append(of("cutting_oxygen", setup.cutting_oxygen, cut))
    if setup.purge:
        before = setup.purge_time.value if setup.purge_time else 0.0
        items.append(of("purge", setup.purge, Input(before, "s", _("setup: purge time")), on))
    return items


def tungsten_item(
    exercise: Exercise, setup: Setup, defaults: Defaults, week: int | None
) -> list[Item]:
    """Return the tungsten that dips and regrinding take, in pieces; nothing for other processes."""
    tungsten = setup.electrode
    if exercise.process != "GTAW" or tungsten is None:
        return []
    work = Worksheet()
    rate = habit(
        work, gettext_noop("Regrinds in the booth, over a term"), "regrinds", defaults, week
    )
    regrinds = work.add(
        gettext_noop("Regrinds in an attempt"),
        "booth * rate",
        "1",
        booth=Input(exercise.minutes * 60, "s", _("time: booth")),
        rate=rate,
    )
    each = work.add(
        gettext_noop("Tungsten lost at a regrind"),
        "dip * (1 - snapped) + snap * snapped",
        "m",
        dip=defaults.input("dip_length"),
        snap=defaults.input("snap_length"),
        snapped=defaults.input("snapped"),
    )
    lost = work.add(
        gettext_noop("Tungsten ground away"), "regrinds * each", "m", regrinds=regrinds, each=each
    )
    pieces = work.add(
        gettext_noop("Tungstens used up"),
        "lost / usable",
        "1",
        lost=lost,
        usable=defaults.input("tungsten_usable"),
    )
    return [
        Item(
            kind="tungsten",
            spec=key_of("tungsten", tungsten.type, tungsten.diameter, "electrode"),
            name=f"{tungsten.type} {tungsten.diameter.typed}".strip(),
            quantity=pieces.value,
            unit="1",
            pieces=pieces.value,
            steps=tuple(work.steps),
        )
    ]


def _pieces(kind: str, name: str, bore: float | None, work: Worksheet) -> Item:
    """Return the last step of `work` as pieces of a wear part or abrasive."""
    found = work.steps[-1].value
    return Item(
        kind=kind,
        spec=spec_key(kind, name=name, diameter_m=bore),
        name=name,
        quantity=found,
        unit="1",
        pieces=found,
        steps=tuple(work.steps),
    )


def _by_arc(name: str, rate: Input, times: Times, bore: float | None) -> Item:
    work = Worksheet()
    arc = Input(times.time.arc, "s", _("time: arc"))
    work.add(gettext_noop("Worn out by the arc"), "arc * rate", "1", arc=arc, rate=rate)
    return _pieces("wear", name, bore, work)


def _by_start(name: str, rate: Input, times: Times, bore: float | None) -> Item:
    work = Worksheet()
    starts = Input(times.starts.value, "1", _("time: starts"))
    work.add(gettext_noop("Worn out by the starts"), "starts * rate", "1", starts=starts, rate=rate)
    return _pieces("wear", name, bore, work)


def wear_items(exercise: Exercise, setup: Setup, times: Times, defaults: Defaults) -> list[Item]:
    """Return wear parts by arc time or starts, and grinding discs by coupon, in pieces."""
    bore, rate = setup.nozzle.value if setup.nozzle else None, defaults.input
    items = []
    if exercise.process == "GTAW":
        items.append(_by_arc(gettext_noop("gas cup"), rate("cup_wear"), times, bore))
    elif exercise.process in WIRES:
        wire = setup.electrode.diameter.value if setup.electrode else None
        tip = gettext_noop("contact tip")
        items.append(_by_arc(tip, rate("contact_tip_wear"), times, wire))
        items.append(_by_arc(gettext_noop("gun nozzle"), rate("gun_nozzle_wear"), times, bore))
    elif exercise.process == "PAC":
        electrode, tip = gettext_noop("plasma electrode"), gettext_noop("plasma tip")
        items.append(_by_start(electrode, rate("plasma_electrode_wear"), times, None))
        items.append(_by_start(tip, rate("plasma_tip_wear"), times, bore))
    if setup.thickness.value >= defaults["grinding_from"].value:
        prepared = setup.joint.kind in PREPARED
        work = Worksheet()
        work.add(
            gettext_noop("Grinding discs for a coupon"),
            "rate",
            "1",
            rate=rate("grinding_disc_groove" if prepared else "grinding_disc"),
        )
        items.append(_pieces("abrasive", gettext_noop("grinding disc"), None, work))
    return items
