"""What goes by time or by piece: gases, tungsten, wear parts, abrasives."""

from __future__ import annotations

from curriculum.core.defaults import Defaults
from curriculum.core.spec import Exercise, Gas, Setup
from curriculum.core.spec_key import gas_name, spec_key
from curriculum.core.steps import Input, Worksheet, gettext_noop
from curriculum.core.usage.filler import key_of
from curriculum.core.usage.model import Item, UsageError
from curriculum.core.usage.runs import PREPARED, stated

_APART = ("purge", "cutting oxygen")  # a second need of a gas that the setup may use anyway


def _gas(gas: Gas, key: str, seconds: list[tuple[str, float]], defaults: Defaults) -> Item:
    what = key.replace("_", " ")
    flow = stated(gas.flow, f"flow of {what}")
    if not flow.value > 0:
        raise UsageError(f"{key}.flow", "must be more than 0", ("20 cfh", "9.5 L/min"))
    if not gas.name.strip():
        raise UsageError(f"{key}.name", "say which gas it is", ("argon", "75 Ar/25 CO2"))
    work = Worksheet()
    times = {f"time_{k}": Input(value, "s", source) for k, (source, value) in enumerate(seconds, 1)}
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
    return Item(
        kind="gas",
        spec=spec_key("gas", name=gas.name),
        name=f"{gas_name(gas.name)}, {what}" if what in _APART else gas_name(gas.name),
        quantity=volume.value,
        unit="m3",
        pieces=None,
        steps=tuple(work.steps),
    )


def gas_items(setup: Setup, gas_time: float, cut_time: float, defaults: Defaults) -> list[Item]:
    """Return an item for each gas that is stated, in m³ as it flows (1 atm, room temperature).

    `gas_time`: shielding gas or flame is on, `cut_time`: the cutting oxygen is on; both in s.
    """
    on = [("time: gas", gas_time)]
    items = []
    if setup.gas:
        items.append(_gas(setup.gas, "gas", on, defaults))
    if setup.fuel:
        items.append(_gas(setup.fuel, "fuel", on, defaults))
    if setup.oxygen:
        items.append(_gas(setup.oxygen, "oxygen", on, defaults))
    if setup.cutting_oxygen:
        cut = [("time: the cut itself", cut_time)]
        items.append(_gas(setup.cutting_oxygen, "cutting_oxygen", cut, defaults))
    if setup.purge:
        before = setup.purge_time.value if setup.purge_time else 0.0
        items.append(_gas(setup.purge, "purge", [("setup: purge time", before), *on], defaults))
    return items


def tungsten_item(exercise: Exercise, setup: Setup, defaults: Defaults) -> list[Item]:
    """Return the tungsten that regrinding takes, in pieces; nothing for other processes."""
    tungsten = setup.electrode
    if exercise.process != "GTAW" or tungsten is None:
        return []
    work = Worksheet()
    regrinds = work.add(
        gettext_noop("Regrinds in an attempt"),
        "booth * rate",
        "1",
        booth=Input(exercise.minutes * 60, "s", "time: booth"),
        rate=defaults.input("regrinds"),
    )
    lost = work.add(
        gettext_noop("Tungsten ground away"),
        "regrinds * each",
        "m",
        regrinds=regrinds,
        each=defaults.input("regrind_length"),
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


def _wear(name: str, rate: str, arc: float, defaults: Defaults, bore: float | None) -> Item:
    work = Worksheet()
    pieces = work.add(
        gettext_noop("Worn out by the arc"),
        "arc * rate",
        "1",
        arc=Input(arc, "s", "time: arc"),
        rate=defaults.input(rate),
    )
    return Item(
        kind="wear",
        spec=spec_key("wear", name=name, diameter_m=bore),
        name=name,
        quantity=pieces.value,
        unit="1",
        pieces=pieces.value,
        steps=tuple(work.steps),
    )


def wear_items(exercise: Exercise, setup: Setup, arc: float, defaults: Defaults) -> list[Item]:
    """Return wear parts by arc time (s) and grinding discs by coupon, in pieces."""
    bore = setup.nozzle.value if setup.nozzle else None
    items = []
    if exercise.process == "GTAW":
        items.append(_wear(gettext_noop("gas cup"), "cup_wear", arc, defaults, bore))
    elif exercise.process in ("GMAW", "FCAW"):
        wire = setup.electrode.diameter.value if setup.electrode else None
        items.append(_wear(gettext_noop("contact tip"), "contact_tip_wear", arc, defaults, wire))
        items.append(_wear(gettext_noop("gun nozzle"), "gun_nozzle_wear", arc, defaults, bore))
    if setup.thickness.value >= defaults["grinding_from"].value:
        prepared = setup.joint.kind in PREPARED
        work = Worksheet()
        discs = work.add(
            gettext_noop("Grinding discs for a coupon"),
            "rate",
            "1",
            rate=defaults.input("grinding_disc_groove" if prepared else "grinding_disc"),
        )
        items.append(
            Item(
                kind="abrasive",
                spec=spec_key("abrasive", name="grinding disc"),
                name="grinding disc",
                quantity=discs.value,
                unit="1",
                pieces=discs.value,
                steps=tuple(work.steps),
            )
        )
    return items
