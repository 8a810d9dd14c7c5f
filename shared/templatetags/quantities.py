"""Quantities, computed figures and money in templates; loaded everywhere.

`units` is "us" or "metric" and stands in the context of every page.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import template
from django.template import Context
from django.utils.formats import number_format
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext

from shared.units import Measure, Range, Shown, show, show_range

register = template.Library()

DIGITS = 3  # significant, of a converted figure: what can be read and set at the bench
NOTHING = "–"
CENT = Decimal("0.01")


def shown(value: Measure | Range, units: str, material: str | None = None) -> Shown:
    """Return `value` as a page shows it: as typed, else converted to three significant digits."""
    system = "metric" if units == "metric" else "us"
    if isinstance(value, Range):
        return show_range(value, system, material, digits=DIGITS)
    return show(value, system, material, digits=DIGITS)


@register.filter
def quantity(value: Measure | Range | None, units: str = "us") -> str:
    """Write a quantity with its unit set smaller: `{{ setup.current|quantity:units }}`."""
    if value is None:
        return NOTHING
    text = shown(value, units)
    if not text.unit or text.unit == "°":
        return format_html('<span class="q">{}{}</span>', _spoken(text.figure), text.unit)
    return format_html('<span class="q">{}<i>{}</i></span>', _spoken(text.figure), text.unit)


@register.filter
def plain(value: Measure | Range | None, units: str = "us") -> str:
    """Write a quantity as text alone: `{{ setup.thickness|plain:units }}`."""
    if value is None:
        return NOTHING
    text = shown(value, units)
    return str(Shown(_spoken(text.figure), text.unit))


@register.filter
def unit_of(value: Measure | Range | None, units: str = "us") -> str:
    """Write the unit alone, where the figure stands beside it: `{{ limit|unit_of:units }}`."""
    return "" if value is None else shown(value, units).unit


def _spoken(figure: str) -> str:
    """Put the signs of a one-sided limit into words: they are read aloud and by beginners."""
    for sign, words in (("≤ ", gettext("at most")), ("≥ ", gettext("at least"))):
        if figure.startswith(sign):
            return f"{words} {figure.removeprefix(sign)}"
    return figure


@register.simple_tag(takes_context=True)
def figure(context: Context, name: str, value: Any, text: Any = None) -> SafeString:
    """Write a computed figure with its exact value, so that a check can compare it.

    `{% figure "usage.filler" filler.value filler|quantity:units %}`; `value` is SI, a number or a
    `Measure`, which needs no text: it is shown in the reader's units.
    """
    if isinstance(value, Measure):
        text = plain(value, str(context.get("units", "us"))) if text is None else text
        value = value.value
    exact = "" if value is None else repr(value) if isinstance(value, float) else value
    return format_html(
        '<data data-figure="{}" value="{}">{}</data>',
        name,
        exact,
        NOTHING if text is None else text,
    )


@register.filter
def money(value: Decimal | int | None) -> str:
    """Write an amount with grouped thousands: 1,234.50; whole ten-thousandths show: 45.0525.

    What is no whole number of ten-thousandths was divided, not paid: it is rounded to cents.
    """
    if value is None:
        return NOTHING
    amount = Decimal(value)
    places = next((n for n in (2, 3, 4) if amount == round(amount, n)), 2)
    return _amount(amount, places)


@register.filter
def cents(value: Decimal | None) -> str:
    """Write an amount that was reckoned, not paid, in whole cents; what is less is "< 0.01"."""
    if value is None:
        return NOTHING
    if 0 < value < CENT / 2:
        return f"< {_amount(CENT, 2)}"
    return _amount(value, 2)


def _amount(value: Decimal, places: int) -> str:
    rounded = value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return number_format(rounded, decimal_pos=places, use_l10n=True, force_grouping=True)
