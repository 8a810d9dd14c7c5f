"""Writing numbers: fractions of an inch, decimals, significant digits."""

from __future__ import annotations

from fractions import Fraction
from math import floor, log10

from shared.units.tables import MILLI, Unit

SAME = Fraction(1, 10**9)  # relative: two floats that mean one figure
FLOAT_DUST = Fraction(1, 10**13)  # relative: what a float may lack of the figure it means
COMPUTED_DIGITS = 4  # significant; a computed figure is never better known


def close(a: Fraction, b: Fraction) -> bool:
    """Say whether two figures are one but for the rounding of floats."""
    return abs(a - b) <= SAME * abs(b)


def fraction_text(value: Fraction) -> str:
    """Return inches as the trade writes them: 1/16, 1-1/2, 3."""
    whole, rest = divmod(value, 1)
    if not rest:
        return str(whole)
    text = f"{rest.numerator}/{rest.denominator}"
    return f"{whole}-{text}" if whole else text


def decimal_text(value: Fraction, places: int) -> str:
    """Return `value` with up to `places` decimals, halves up, without trailing zeros."""
    # A float just under a half (0.003175 m) means the half, as people round it.
    nudged = value * (1 + FLOAT_DUST) * 10**places + Fraction(1, 2)
    text = f"{float(Fraction(floor(nudged), 10**places)):.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def significant_text(value: Fraction, digits: int) -> str:
    """Return `value` to `digits` significant digits; whole digits are never dropped."""
    if value == 0:
        return "0"
    return decimal_text(value, max(0, digits - 1 - floor(log10(abs(value)))))


def number_text(
    number: Fraction, of: Unit, digits: int | None = None, *, fractions: bool = True
) -> str:
    """Return the figure of `number` of the unit `of`.

    A number that somebody stated (k/64 in, a gauge, a decimal to 0.001 mm) is written exactly or to
    a millionth of an inch, a computed one with four significant digits; `digits` rounds both.
    `fractions` lets 64ths of an inch be written as such.
    """
    if fractions and of.symbol == "in" and 0 < number < 1000:
        sixty_fourths = Fraction(round(number * 64), 64)
        if sixty_fourths and close(sixty_fourths, number):
            return fraction_text(sixty_fourths)
    if digits is not None:
        return significant_text(number, digits)
    # Seven decimals of a millimetre hold every 64th of an inch and every gauge.
    for places in range(8 if of.dimension == "length" else 4):
        if close(round(number, places), number):
            return decimal_text(number, places)
    if of.symbol == "in":
        microns = number * of.factor / MILLI * 1000
        if close(Fraction(round(microns)), microns):
            return decimal_text(number, 6)
    return significant_text(number, COMPUTED_DIGITS)
