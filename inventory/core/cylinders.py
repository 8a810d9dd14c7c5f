"""A cylinder at the shelf: what its gauge or a scale tells to be left in it. Pure.

    cylinder = Cylinder(gas="argon", size=7_000_000, water_m3=0.043)
    cylinder.by_pressure(138e5, REFERENCE_K)   → 6_298_345 mL

Contents are whole millilitres at 70 °F and 1 atm, as the ledger keeps them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from curriculum.core.gas import REFERENCE_K, GasError, by_gauge, by_weight, gauge_of, told_by
from curriculum.core.sentence import Sentence as _

ML = 10**6  # in a cubic metre
OVERFILLED = 1.1  # a cylinder may hold somewhat more than it is sold with


def in_ml(volume_m3: float) -> int:
    """Return whole millilitres, halves upwards."""
    return math.floor(volume_m3 * ML + 0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """A cylinder of `gas` that is booked with `size` mL.

    Its water capacity (m³) is stated, or comes from what it is filled to (Pa on the gauge, K).
    """

    gas: str
    size: int
    water_m3: float | None = None
    fill_pa: float | None = None
    fill_k: float = REFERENCE_K

    @property
    def weighed(self) -> bool:
        """Whether the content is told by weight: of CO2 and acetylene."""
        return told_by(self.gas) == "weight"

    @property
    def water(self) -> float | None:
        """The water capacity, m³, or None where it is not known."""
        if self.water_m3 is not None:
            return self.water_m3
        if not self.fill_pa or told_by(self.gas) != "gauge":
            return None
        full = by_gauge(self.gas, water_m3=1.0, gauge_pa=self.fill_pa, temperature_k=self.fill_k)
        return self.size / ML / full.volume_m3

    def by_pressure(self, gauge_pa: float, temperature_k: float) -> int:
        """Return the mL left at a gauge pressure (Pa) and temperature (K).

        Raises GasError: at "pressure" where the gauge tells nothing or tells more than the
        cylinder ever held, at "water" where its capacity is not known, and as `by_gauge` does.
        """
        water = self.water
        if water is None and told_by(self.gas) == "gauge":
            raise GasError(
                "water",
                _("Its size is not known: state its water capacity or what it is filled to."),
            )
        found = by_gauge(
            self.gas, water_m3=water or 1.0, gauge_pa=gauge_pa, temperature_k=temperature_k
        )
        return self._held(in_ml(found.volume_m3), "pressure")

    def by_share(self, gauge_pa: float, full_pa: float, temperature_k: float) -> int:
        """Return the mL left at a gauge pressure, of a cylinder that is full at another (both Pa).

        Raises GasError at "pressure" as `by_gauge` does.
        """
        now, full = (
            by_gauge(
                self.gas, water_m3=1.0, gauge_pa=pressure, temperature_k=temperature_k
            ).volume_m3
            for pressure in (gauge_pa, full_pa)
        )
        return math.floor(self.size * now / full + 0.5)

    def by_scale(self, gross_kg: float, tare_kg: float) -> int:
        """Return the mL left where the scale shows `gross_kg` and the empty cylinder `tare_kg`.

        Raises GasError at "weight" where it is lighter than empty, holds more than it ever did,
        or is no gas that is weighed.
        """
        if gross_kg < tare_kg:
            raise GasError(
                "weight", _("That is lighter than the empty cylinder: look at both figures again.")
            )
        return self._held(in_ml(by_weight(self.gas, net_kg=gross_kg - tare_kg).volume_m3), "weight")

    def gauge_at(self, left: float) -> float | None:
        """Return the pressure (Pa) its gauge should show with `left` mL in it, at 70 °F."""
        water = self.water
        if water is None or told_by(self.gas) != "gauge":
            return None
        try:
            return gauge_of(self.gas, volume_m3=left / ML, water_m3=water)
        except GasError:
            return 0.0 if left / ML < water else None

    def _held(self, left: int, where: Literal["pressure", "weight"]) -> int:
        if left > self.size * OVERFILLED:
            raise GasError(
                where,
                _("By that it holds more than it was booked with: read it again."),
            )
        return min(left, self.size)
