"""Sizes of sheet, bar, remnant and blank in whole micrometres: their area, and as written. Pure.

Sides are 1 to 10**8 µm (100 m). A bar or pipe has no width of its own: its item states it, as the
`strip` of mm² in a millimetre of its length.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.base_units import read_size
from shared.units import Measure, Shown, UnitError, parse_measure, show
from shared.units.tables import gettext_noop

UM = 10**6  # in a metre
SIDE_MAX_UM = 10**8
INCH_64 = Fraction(25_400, 64)  # µm
AGREES = 1e-4  # share by which a pack's content may differ from its sides, rounded as they are


@dataclass(frozen=True, slots=True, order=True)
class Size:
    """Sides in µm; `width` None for a length of bar or pipe."""

    length: int
    width: int | None = None

    def __post_init__(self) -> None:
        for side in (self.length, self.width):
            if side is not None and not 1 <= side <= SIDE_MAX_UM:
                raise ValueError(f"sides must be 1 to {SIDE_MAX_UM} µm, got {side}")

    @property
    def sides(self) -> tuple[int, int | None]:
        return self.length, self.width

    @property
    def long_side_first(self) -> Size:
        """The size as it lies when it does not matter which side is the length."""
        if self.width is None or self.width <= self.length:
            return self
        return Size(self.width, self.length)

    def base_units(self, base: str, strip: Fraction | None = None) -> int:
        """Return the whole base units in one piece, at least 1: mm² (of a bar by `strip`) or mm.

        Raises ValueError where the size does not go with the unit: a sheet wants both sides.
        """
        if base == "mm2" and self.width is not None:
            exact = Fraction(self.length * self.width, UM)
        elif base == "mm2" and strip is not None:
            exact = Fraction(self.length, 1000) * strip
        elif base == "mm" and self.width is None:
            exact = Fraction(self.length, 1000)
        else:
            raise ValueError(f"no size of a thing kept in {base}: {self}")
        return max(1, math.floor(exact + Fraction(1, 2)))


def micrometres(metres: float) -> int:
    """Return a length in whole micrometres, halves upwards: odd sixty-fourths of an inch are."""
    return math.floor(round(metres * UM, 3) + 0.5)


def of_metres(length: float, width: float | None = None) -> Size:
    """Return a size given in metres."""
    return Size(micrometres(length), None if width is None else micrometres(width))


def agrees(size: Size, content: int, base: str, strip: Fraction | None = None) -> bool:
    """Say whether a pack's `content` (base units) is one piece of `size`."""
    return math.isclose(size.base_units(base, strip), content, rel_tol=AGREES, abs_tol=2)


def side_text(um: int, system: str) -> Shown:
    """Return one side as the trade writes it: in sixty-fourths where it is one, in "us" inches."""
    if system != "us":
        return show(Measure.of(um / UM, "m"), system="metric")
    parts = round(um / INCH_64)
    if abs(parts * INCH_64 - um) <= 1:
        return show(Measure.of(float(parts * INCH_64) / UM, "m"), system="us")
    return Shown(f"{um / 25_400:.3f}".rstrip("0").rstrip("."), "in")


def size_text(size: Size, system: str) -> str:
    """Return a size as written in "us" or "metric" units: "48 × 96 in", a bar's "20 ft"."""
    length = side_text(size.length, system)
    if size.width is None:
        return str(length)
    width = side_text(size.width, system)
    if width.unit == length.unit:
        return f"{width.figure} × {length.figure} {length.unit}"
    return f"{width} × {length}"


def read_piece(text: str, *, flat: bool) -> Size:
    """Return the size of one piece, the long side first: "6 × 8 in" where `flat`, else "8 in".

    Raises UnitError, which says what would be accepted.
    """
    if flat:
        sheet = read_size(text)
        return Size(sheet.length_um, sheet.width_um)
    try:
        return Size(micrometres(parse_measure(text.strip(), "length").value))
    except ValueError as error:  # no length, or not within 100 m
        raise UnitError(
            gettext_noop("“%(got)s” is no length; write it with its unit, such as %(accepts)s."),
            got=text.strip()[:80],
            accepts=("6 in", "20 ft", "150 mm"),
        ) from error
