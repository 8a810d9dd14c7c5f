"""How a gas in a cylinder departs from the ideal one: an equation of state of five gases mixed.

GERG-2008 [1]_ for each gas, its mixing rules, and for argon with CO2 and with helium the newer
parameters of [2]_ and [3]_. Coefficients and sources stand in `tables/gas_state.toml`.

.. [1] Kunz and Wagner, J. Chem. Eng. Data 57 (2012) 3032.
.. [2] Gernert and Span, J. Chem. Thermodyn. 93 (2016) 274.
.. [3] Tkaczuk et al., J. Phys. Chem. Ref. Data 49 (2020) 023101.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import combinations
from typing import Any

from curriculum.core.defaults import table
from curriculum.core.gas.errors import GasError
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec_key import gas_name

LOWEST_K, HIGHEST_K = 273.15, 323.15
HIGHEST_PA = 302e5  # absolute: 300 bar on the gauge, and the atmosphere
MOST_CO2 = 0.30  # of this in argon nothing condenses above -30 °C, of 50 % below -7 °C
_SHARE = re.compile(r"([\d.]+) (\w+)")
_ROUNDS = 80
_GAS_WORDS = "argon, oxygen, helium, nitrogen, 75 Ar/25 CO2, 98 Ar/2 O2, 75 He/25 Ar"


@dataclass(frozen=True, slots=True)
class Mixture:
    """Shares by volume of gases, by symbol; they add up to 1."""

    shares: tuple[tuple[str, float], ...]

    @property
    def molar_mass(self) -> float:
        """Kilograms in a mole."""
        gases = table("gas_state")["gas"]
        return sum(share * float(gases[name]["molar_mass_kg"]) for name, share in self.shares)


@lru_cache(maxsize=256)
def mixture_of(gas: str) -> Mixture:
    """Return what a gas is made of, from its name as `gas_name` reads it.

    Raises
    ------
    GasError
        At "gas", if it is none that is sold by pressure here, holds a pair of gases without
        published mixing parameters, or so much CO2 that it may condense.
    """
    name = gas_name(gas)
    known = table("gas_state")["gas"]
    pure = {row["name"]: symbol for symbol, row in known.items()}
    if name in pure:
        shares = {pure[name]: 1.0}
    else:
        shares = {part: float(share) / 100 for share, part in _SHARE.findall(name)}
        total = sum(shares.values())
        if not shares or any(part not in known for part in shares) or abs(total - 1) > 1e-4:
            raise _unknown(gas)
        shares = {part: share / total for part, share in shares.items() if share > 0}
    if any(frozenset(two) not in _pairs() for two in combinations(shares, 2)):
        raise _unknown(gas)
    if shares.get("co2", 0) > MOST_CO2 * (1 + 1e-9):
        raise GasError(
            "pressure",
            _("In %(gas)s the gauge does not tell the content: CO2 is liquid; weigh it.", gas=gas),
        )
    return Mixture(tuple(sorted(shares.items())))


def _unknown(gas: str) -> GasError:
    return GasError(
        "gas",
        _(
            "No equation of state is known here for “%(gas)s”; there is one for %(known)s and the "
            "like.",
            gas=gas,
            known=_GAS_WORDS,
        ),
    )


def compressibility(mixture: Mixture, pressure_pa: float, temperature_k: float) -> float:
    """Return Z = p / (ρ R T) of a gas, dimensionless.

    Parameters
    ----------
    mixture : Mixture
        At most 30 % CO2.
    pressure_pa : float
        Absolute, Pa; above 0 to 302 bar.
    temperature_k : float
        273.15 to 323.15 K (32 to 122 °F).

    Raises
    ------
    GasError
        At "pressure" or "temperature", outside these.

    Notes
    -----
    Within 0.15 % of CoolProp 8.0.0 up to 200 bar (`tests/curriculum/core/test_gas_state.py`).
    """
    if not LOWEST_K - 1e-6 <= temperature_k <= HIGHEST_K + 1e-6:
        low, high = (Figure.of(bound, "K") for bound in (LOWEST_K, HIGHEST_K))
        raise GasError(
            "temperature",
            _("A cylinder is counted at %(low)s to %(high)s.", low=low, high=high),
        )
    if not 0 < pressure_pa <= HIGHEST_PA:
        most = Figure.of(300e5, "Pa")
        raise GasError("pressure", _("A gauge shows 0 to %(most)s here.", most=most))
    return _solved(mixture, pressure_pa, temperature_k)


@lru_cache(maxsize=1024)
def _solved(mixture: Mixture, pressure_pa: float, temperature_k: float) -> float:
    ideal = pressure_pa / (gas_constant() * temperature_k)
    z = 1.0
    for _round in range(_ROUNDS):
        new = _z_at(mixture, ideal / z, temperature_k)
        if abs(new - z) < 1e-12:
            break
        z = new
    return z


def gas_constant() -> float:
    """J/(mol K), of the equation of state."""
    return float(table("gas_state")["gas_constant"])


@cache
def _pairs() -> dict[frozenset[str], dict[str, Any]]:
    return {frozenset(row["gases"]): row for row in table("gas_state")["pair"]}


def _z_at(mixture: Mixture, density: float, temperature_k: float) -> float:
    """Return Z at a molar density (mol/m³): 1 + delta times the slope of the residual energy."""
    gases: Mapping[str, Any] = table("gas_state")["gas"]
    reduced_k = sum(share**2 * gases[name]["critical_k"] for name, share in mixture.shares)
    reduced_v = sum(share**2 / gases[name]["critical_mol_m3"] for name, share in mixture.shares)
    shares = dict(mixture.shares)
    pairs = [_pairs()[frozenset(two)] for two in combinations(shares, 2)]
    for row in pairs:
        (one, other), (x, y) = row["gases"], (shares[name] for name in row["gases"])
        kelvins = [gases[name]["critical_k"] for name in (one, other)]
        volumes = [gases[name]["critical_mol_m3"] ** (-1 / 3) for name in (one, other)]
        mixed_k = math.sqrt(kelvins[0] * kelvins[1])
        mixed_v = sum(volumes) ** 3 / 8
        reduced_k += _mixed(x, y, row["beta_t"], row["gamma_t"]) * mixed_k
        reduced_v += _mixed(x, y, row["beta_v"], row["gamma_v"]) * mixed_v
    delta, tau = density * reduced_v, reduced_k / temperature_k
    total = 1.0
    for name, share in mixture.shares:
        total += share * sum(_pure_term(term, delta, tau) for term in gases[name]["terms"])
    for row in pairs:
        x, y = (shares[name] for name in row["gases"])
        by_delta = row.get("bell") == "delta"
        total += x * y * sum(_pair_term(t, delta, tau, by_delta) for t in row.get("terms", ()))
    return total


def _mixed(x: float, y: float, beta: float, gamma: float) -> float:
    return 2 * x * y * beta * gamma * (x + y) / (beta**2 * x + y)


def _pure_term(term: list[float], delta: float, tau: float) -> float:
    n, d, t, c = term
    power = n * delta**d * tau**t
    if not c:
        return power * d
    return power * math.exp(-(delta**c)) * (d - c * delta**c)


def _pair_term(term: list[float], delta: float, tau: float, by_delta: bool) -> float:
    n, d, t, eta, epsilon, beta, gamma = term
    bell = beta * (delta - gamma) if by_delta else beta * (tau - gamma) ** 2
    slope = d - 2 * eta * delta * (delta - epsilon) - (beta * delta if by_delta else 0)
    return n * delta**d * tau**t * math.exp(-eta * (delta - epsilon) ** 2 - bell) * slope
