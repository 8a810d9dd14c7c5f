"""Figures of one attempt, as pages write them."""

from __future__ import annotations

import re
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from curriculum.core.steps import Input, Step
from curriculum.core.usage import Item, Supply, Usage
from curriculum.services.sheet import said
from shared.templatetags.quantities import quantity
from shared.units import DIMENSIONS, Measure

register = template.Library()

FILLER = ("rod", "electrode", "wire")
JOULE = 3.6e6  # of a kilowatt-hour
KNOWN = frozenset(DIMENSIONS.values())
NAME = re.compile(r"[a-z]{2,}(?:_[a-z]+)*")  # in an expression; a number may follow


@register.filter
def usage_name(item: Item) -> str:
    """Return the name of an item's figure: "usage.filler", "usage.gas" …"""
    return f"usage.{'filler' if item.kind in FILLER else item.kind}"


@register.filter
def usage_quantity(item: Item, units: str) -> str:
    """Write an item's quantity in the reader's units; pieces as a number."""
    if item.unit not in KNOWN or item.unit == "1":
        return f"{item.quantity:.3g}"
    return quantity(Measure.of(item.quantity, item.unit), units)


@register.filter
def supply_name(one: Supply) -> str:
    """Return the name of a supply's figure: "usage.energy", "usage.air"."""
    return f"usage.{one.kind}"


@register.filter
def supply_quantity(one: Supply, units: str) -> str:
    """Write electric energy in kWh, air as a volume in the reader's units."""
    if one.unit == "J":
        return format_html('<span class="q">{}<i>kWh</i></span>', f"{one.quantity / JOULE:.3g}")
    return quantity(Measure.of(one.quantity, one.unit), units)


@register.filter
def per_cent(share: float) -> str:
    """Write a share of 0 to 1 in per cent."""
    return format_html('<span class="q">{}<i>%</i></span>', f"{share * 100:.0f}")


@register.filter
def pass_share(used: Usage | None, place: int) -> str:
    """Write what a pass lays of the metal, in per cent; empty where one pass lays it all.

    `place` counts the stated passes from 1.
    """
    passes = used.weld.passes if isinstance(used, Usage) else ()
    return per_cent(passes[place - 1].share) if len(passes) > 1 else ""


@register.filter
def si(value: float, unit: str) -> Measure:
    """Return a computed SI figure as a measure, for `quantity`."""
    return Measure.of(value, unit)


@register.filter
def minutes(seconds: float) -> str:
    """Write seconds as minutes."""
    return format_html('<span class="q">{}<i>min</i></span>', f"{seconds / 60:.0f}")


@register.filter
def figure_si(one: Input | Step) -> str:
    """Write a figure of a step in SI, four digits, with its unit."""
    unit = re.sub(r"(?<=m)([23])", lambda found: {"2": "²", "3": "³"}[found[1]], one.unit)
    unit = pgettext("unit", "piece") if unit == "piece" else "" if unit == "1" else unit
    shown = f"{one.value:.4g}"
    if "e" not in shown:
        return format_html('<span class="q">{}<i>{}</i></span>', shown, unit)
    mantissa, exponent = shown.split("e")
    power = str(int(exponent)).replace("-", "−")
    return format_html(
        '<span class="q">{} × 10<sup>{}</sup><i>{}</i></span>',
        mantissa,
        power,
        unit,
    )


@register.filter
def readable(expression: str) -> str:
    """Write an expression, or a name in one, with the signs and the words that people use."""
    named = NAME.sub(lambda found: pgettext("formula", found[0].replace("_", " ")), expression)
    spaced = re.sub(r" ?\*\* ?([23])", lambda found: {"2": "²", "3": "³"}[found[1]], named)
    return spaced.replace("*", "×").replace(" - ", " − ").replace("_", " ")


@register.filter
def in_words(text: str) -> str:
    """Return a core's sentence in the reader's language."""
    return said(text) if text else _("not stated")


@register.filter
def in_limits(findings: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the findings that nobody has to look at."""
    return [one for one in findings or [] if one["finding"].level == "ok"]
