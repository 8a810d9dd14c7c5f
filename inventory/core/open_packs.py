"""What is left in packs that are in use, computed from the coupons welded since. Pure.

An estimate: it is trued by the weekly count, never a line of the ledger.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from math import floor, inf, isfinite

from curriculum.core.gas import REFERENCE_K
from inventory.core.base_units import Scale
from inventory.core.cylinders import Cylinder
from shared.units import UnitError, parse_measure
from shared.units.tables import gettext_noop

_SHARE = re.compile(r"(?P<share>\d{1,3}(?:[.,]\d{1,3})?)\s*%")
_GAUGE = re.compile(
    r"(?P<now>\d{1,6})\s*(?:psi|bar|kPa)?\s*(?:/|\bof\b|\bde\b)\s*(?P<full>\d{1,6})\s*(?P<unit>psi|bar|kPa)",
    re.I,
)
_PRESSURE = re.compile(r"[\d.,]+\s*(?:psig?|barg?|kPa|MPa)", re.I)


@dataclass(frozen=True, slots=True)
class Opened:
    """A pack that holds `size` base units from `at` on; used up or taken away at `finished_at`.

    `readings` are what was found to be left in it, and when, oldest first.
    """

    at: datetime
    size: float
    finished_at: datetime | None = None
    readings: tuple[tuple[datetime, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Use:
    """What one coupon took by computation, base units, and when it was handed in."""

    at: datetime
    quantity: float


def remainders(packs: Sequence[Opened], uses: Sequence[Use], *, factor: float = 1.0) -> list[float]:
    """Return what is left in each of `packs` (base units, 0 to its size), in their order.

    Parameters
    ----------
    packs : sequence of Opened
        Also the finished ones that were in use beside these: they took their part.
    uses : sequence of Use
        Computed use of handed-in coupons; those before the first opening count for nothing.
    factor : float
        Real use over computed use, above 0: practice and waste.

    Notes
    -----
    A use is taken from the pack that was opened first of those then in use, what that lacks from
    the next. What none of them holds is lost to the estimate, so nothing falls below zero.
    """
    if not (factor > 0 and isfinite(factor)):
        raise ValueError(f"factor must be above 0 and finite, got {factor}")
    left = [float(pack.size) for pack in packs]
    oldest_first = sorted(range(len(packs)), key=lambda n: packs[n].at)
    coming = sorted(
        ((at, n, found) for n, pack in enumerate(packs) for at, found in pack.readings),
        key=lambda one: one[0],
        reverse=True,
    )
    for use in uses:
        while coming and coming[-1][0] <= use.at:
            _at, n, found = coming.pop()
            left[n] = found
        wanted = use.quantity * factor
        if not 0 <= wanted < inf:
            raise ValueError(f"a use must be 0 or more and finite, got {use.quantity}")
        for n in oldest_first:
            pack = packs[n]
            if pack.at > use.at or (pack.finished_at is not None and pack.finished_at < use.at):
                continue
            taken = min(left[n], wanted)
            left[n] -= taken
            wanted -= taken
            if not wanted:
                break
    for _at, n, found in reversed(coming):
        left[n] = found
    return left


def read_left(text: str, scale: Scale, size: int, cylinder: Cylinder | None = None) -> int:
    """Return the base units left in a pack of `size`, from "60 ft3", "25 %" or "500 of 2200 psi".

    Gauge pressures of a `cylinder` are those of a real gas at 70 °F, and "500 psi" is enough where
    its size is known; without one they stand for shares of its content. An empty text is nothing
    left. Raises UnitError, also for more than the pack holds, and GasError where a pressure tells
    nothing.
    """
    shown = " ".join(text.split())
    if not shown:
        return 0
    if found := _SHARE.fullmatch(shown):
        left = _of(Fraction(found["share"].replace(",", ".")) / 100, size)
    elif (found := _GAUGE.fullmatch(shown)) and int(found["full"]):
        left = _by_gauges(int(found["now"]), int(found["full"]), found["unit"], size, cylinder)
    elif cylinder and _PRESSURE.fullmatch(shown):
        left = cylinder.by_pressure(parse_measure(shown, "pressure").value, REFERENCE_K)
    else:
        left = scale.read(shown)
    if left > size:
        raise UnitError(
            gettext_noop("“%(got)s” is more than the pack holds; write at most %(accepts)s."),
            got=shown,
            accepts=(str(scale.show(size)),),
        )
    return left


def _by_gauges(now: int, full: int, unit: str, size: int, cylinder: Cylinder | None) -> int:
    if cylinder is None:
        return _of(Fraction(now, full), size)
    now_pa, full_pa = (parse_measure(f"{one} {unit}", "pressure").value for one in (now, full))
    return cylinder.by_share(now_pa, full_pa, REFERENCE_K)


def _of(share: Fraction, size: int) -> int:
    return floor(share * size + Fraction(1, 2))
