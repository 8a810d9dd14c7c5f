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

from inventory.core.base_units import Scale
from shared.units import UnitError
from shared.units.tables import gettext_noop

_SHARE = re.compile(r"(?P<share>\d{1,3}(?:[.,]\d{1,3})?)\s*%")
_GAUGE = re.compile(
    r"(?P<now>\d{1,6})\s*(?:psi|bar|kPa)?\s*(?:/|\bof\b|\bde\b)\s*(?P<full>\d{1,6})\s*(?:psi|bar|kPa)",
    re.I,
)


@dataclass(frozen=True, slots=True)
class Opened:
    """A pack that holds `size` base units from `at` on; used up or taken away at `finished_at`."""

    at: datetime
    size: float
    finished_at: datetime | None = None


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
    for use in uses:
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
    return left


def read_left(text: str, scale: Scale, size: int) -> int:
    """Return the base units left in a pack of `size`, from "60 ft3", "25 %" or "500 of 2200 psi".

    Gauge pressures of a cylinder stand for shares of its content: what is left is to full as the
    pressures are, which holds within a few hundredths for the gases of a weld shop. An empty text
    is nothing left. Raises UnitError, also for more than the pack holds.
    """
    shown = " ".join(text.split())
    if not shown:
        return 0
    if found := _SHARE.fullmatch(shown):
        left = _of(Fraction(found["share"].replace(",", ".")) / 100, size)
    elif (found := _GAUGE.fullmatch(shown)) and int(found["full"]):
        left = _of(Fraction(int(found["now"]), int(found["full"])), size)
    else:
        left = scale.read(shown)
    if left > size:
        raise UnitError(
            gettext_noop("“%(got)s” is more than the pack holds; write at most %(accepts)s."),
            got=shown,
            accepts=(str(scale.show(size)),),
        )
    return left


def _of(share: Fraction, size: int) -> int:
    return floor(share * size + Fraction(1, 2))
