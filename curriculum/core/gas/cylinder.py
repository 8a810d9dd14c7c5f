"""What a cylinder holds by its gauge or its weight, at the trade's reference: 70 °F, 1 atm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from curriculum.core.defaults import Default, read_default, sourced, table
from curriculum.core.gas.errors import GasError, Where
from curriculum.core.gas.state import compressibility, gas_constant, mixture_of
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec_key import gas_name
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop

REFERENCE_K = (70 + 459.67) * 5 / 9
ATMOSPHERE_PA = 101_325.0
HIGHEST_GAUGE_PA = 300e5
LARGEST_M3 = 2.0  # of water: a pack of cylinders
HEAVIEST_KG = 2000.0

_GAUGE = _("read on the gauge")
_STATED = _("stated")
_REFERENCE = _("70 °F and 1 atm, the trade's reference")
_ATMOSPHERE = _("standard atmosphere")

Told = Literal["gauge", "weight"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """Gas in a cylinder: m³ at 70 °F and 1 atm, kg, and the steps that gave them."""

    volume_m3: float
    mass_kg: float
    steps: tuple[Step, ...]


def told_by(gas: str) -> Told | None:
    """Say whether a gauge or a scale tells the content of a gas; None where neither is known."""
    if gas_name(gas) in _weighed():
        return "weight"
    try:
        mixture_of(gas)
    except GasError:
        return None
    return "gauge"


def by_gauge(
    gas: str, *, water_m3: float, gauge_pa: float, temperature_k: float = REFERENCE_K
) -> Contents:
    """Return what a cylinder holds at a gauge pressure, as a real gas.

    Parameters
    ----------
    gas : str
        "argon", "75 Ar/25 CO2" …, as `gas_name` reads it; at most 30 % CO2.
    water_m3 : float
        Water capacity, m³; above 0, at most 2.
    gauge_pa : float
        Pa above the atmosphere; 0 to 300 bar.
    temperature_k : float
        Of the gas, K; 273.15 to 323.15.

    Raises
    ------
    GasError
        At the figure that is outside, or at "pressure" for CO2 and acetylene, whose gauge does
        not tell their content.

    Notes
    -----
    All gas in it, also what stays at 1 atm. The gas must have the temperature stated: one that
    was just filled or stood in the sun has another.
    """
    if gas_name(gas) in _weighed():
        raise GasError(
            "pressure",
            _("The gauge does not tell how much %(gas)s is left: weigh the cylinder.", gas=gas),
        )
    _within("water", water_m3, LARGEST_M3, "m3", nothing=False)
    if not 0 <= gauge_pa <= HIGHEST_GAUGE_PA * (1 + 1e-9):
        most = Figure.of(HIGHEST_GAUGE_PA, "Pa")
        raise GasError("pressure", _("A gauge shows 0 to %(most)s here.", most=most))
    mixture = mixture_of(gas)
    pressure = gauge_pa + ATMOSPHERE_PA
    z = compressibility(mixture, pressure, temperature_k)
    reference_z = compressibility(mixture, ATMOSPHERE_PA, REFERENCE_K)
    source = _("equation of state GERG-2008, Kunz and Wagner 2012, of %(gas)s", gas=gas_name(gas))
    work = Worksheet()
    total = work.add(
        gettext_noop("Pressure, absolute"),
        "gauge + atmosphere",
        "Pa",
        gauge=Input(gauge_pa, "Pa", _GAUGE),
        atmosphere=Input(ATMOSPHERE_PA, "Pa", _ATMOSPHERE),
    )
    ratio = work.add(
        gettext_noop("Volumes of gas at the reference in one of water"),
        "(pressure / atmosphere) * (reference / temperature) * (z_reference / z)",
        "1",
        pressure=total,
        atmosphere=Input(ATMOSPHERE_PA, "Pa", _ATMOSPHERE),
        reference=Input(REFERENCE_K, "K", _REFERENCE),
        temperature=Input(temperature_k, "K", _STATED),
        z_reference=Input(reference_z, "1", source),
        z=Input(z, "1", source),
    )
    content = work.add(
        gettext_noop("Content of the cylinder"),
        "water * ratio",
        "m3",
        water=Input(water_m3, "m3", _STATED),
        ratio=ratio,
    )
    moles = pressure * water_m3 / (z * gas_constant() * temperature_k)
    return Contents(
        volume_m3=content.value, mass_kg=moles * mixture.molar_mass, steps=tuple(work.steps)
    )


def gauge_of(
    gas: str, *, volume_m3: float, water_m3: float, temperature_k: float = REFERENCE_K
) -> float:
    """Return the gauge pressure (Pa) at which a cylinder holds `volume_m3`: `by_gauge` backwards.

    Raises GasError as `by_gauge` does, and at "water" where it cannot hold so much or holds less
    than a cylinder open to the air.
    """

    def content(gauge_pa: float) -> float:
        return by_gauge(
            gas, water_m3=water_m3, gauge_pa=gauge_pa, temperature_k=temperature_k
        ).volume_m3

    low, high = 0.0, HIGHEST_GAUGE_PA
    if not content(low) * (1 - 1e-9) <= volume_m3 <= content(high) * (1 + 1e-9):
        raise GasError("water", _("A cylinder of this size does not hold so much or so little."))
    while high - low > 1:
        middle = (low + high) / 2
        low, high = (middle, high) if content(middle) < volume_m3 else (low, middle)
    return (low + high) / 2


def by_weight(gas: str, *, net_kg: float) -> Contents:
    """Return what a cylinder of CO2 or acetylene holds, from the net weight of its gas.

    `net_kg` is the weight on the scale less that of the empty cylinder (with its solvent, for
    acetylene); 0 to 2000 kg. Raises GasError at "weight" outside these and for gases that are
    told by the gauge.
    """
    row = _weighed().get(gas_name(gas))
    if row is None:
        raise GasError(
            "weight",
            _("%(gas)s is told by its gauge: write a pressure, such as 1500 psi.", gas=gas),
        )
    _within("weight", net_kg, HEAVIEST_KG, "kg", nothing=True)
    density, source = row
    work = Worksheet()
    content = work.add(
        gettext_noop("Content of the cylinder"),
        "weight / density",
        "m3",
        weight=Input(net_kg, "kg", _("net weight of the gas")),
        density=Input(density, "kg/m3", source),
    )
    return Contents(volume_m3=content.value, mass_kg=net_kg, steps=tuple(work.steps))


def left_share() -> Default:
    """Return the usual share of a cylinder that goes back with it, 0 to 1."""
    return read_default(table("gas_cylinder")["usual"]["left_share"])


def _within(where: Where, value: float, most: float, unit: str, *, nothing: bool) -> None:
    if (0 <= value <= most) and (nothing or value > 0):
        return
    limit = Figure.of(most, unit)
    raise GasError(
        where,
        _("Write from 0 to %(limit)s.", limit=limit)
        if nothing
        else _("Write more than 0, at most %(limit)s.", limit=limit),
    )


@cache
def _weighed() -> dict[str, tuple[float, str]]:
    rows = table("gas_cylinder")["weighed"]
    return {row["gas"]: (float(row["density_kg_m3"]), sourced(row)) for row in rows}
