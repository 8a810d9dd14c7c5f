"""What one blank cost, when sheets were cut into blanks of several sizes. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from inventory.core.sizes import Size


def _measure(size: Size) -> int:
    return size.length * (size.width or 1)


def cost_of_blank(spent: Decimal, made: Sequence[tuple[Size, int]], size: Size) -> Decimal:
    """Return the share of `spent` that falls on one blank of `size`: by area, of bars by length.

    All that was cut up is borne by the blanks that came off it: a remnant kept is worth nothing
    until it is cut, as it costs nothing then. `made` are sizes and counts of all blanks of that
    cut. Rounded to a ten-thousandth.

    Raises ValueError if none of that size was made, or `spent` is below 0.
    """
    if spent < 0:
        raise ValueError(f"spent must be at least 0, got {spent}")
    if not any(one == size and count > 0 for one, count in made):
        raise ValueError(f"none of {size} was made")
    total = sum(_measure(one) * count for one, count in made)
    each = Fraction(spent) * _measure(size) / total
    return Decimal(round(each * 10_000)) / 10_000
