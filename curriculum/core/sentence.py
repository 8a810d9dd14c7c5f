"""Sentences of the cores: English that remembers how it was made, for whoever translates it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Self

from shared.units import Measure, Range, show, show_range

DIGITS = 3  # of a converted figure
NO_BREAK = "\u00a0"


class Sentence(str):
    """Text with the template and the parts it was made of; these may be sentences themselves.

    In a core it is plain text. A page calls `in_words(gettext)`; templates are collected by the
    usual name `_`, under which cores import this class. A part that is a `Figure` is written in
    the reader's units where the page names them.
    """

    template: str
    params: Mapping[str, object]

    def __new__(cls, template: str, **params: object) -> Self:
        self = super().__new__(cls, template % params if params else template)
        self.template, self.params = template, params
        return self

    @classmethod
    def join(cls, parts: Iterable[str], between: str = " ") -> Self:
        """Return the parts behind each other, those that are empty left out."""
        named = {f"part{place}": part for place, part in enumerate(part for part in parts if part)}
        return cls(between.join(f"%({name})s" for name in named), **named)

    def in_words(self, translate: Callable[[str], str], system: str = "") -> str:
        """Return the sentence in another language: `translate` turns templates.

        `system` is "us" or "metric"; without one a figure stands in both.
        """
        words = {
            name: part.in_words(translate, system)
            if isinstance(part, Sentence)
            else part.shown(system)
            if isinstance(part, Figure) and system
            else part
            for name, part in self.params.items()
        }
        text = translate(self.template) if self.template else ""  # gettext("") is a header
        return text % words if words else text


def in_words(text: str, translate: Callable[[str], str]) -> str:
    """Return a text in another language where it is a `Sentence`, as it is where it is none."""
    return text.in_words(translate) if isinstance(text, Sentence) else text


class Figure(str):
    """A quantity in a sentence: plain text in both systems, in one of them when a reader asks.

    `material` names the gauge table a thickness is shown by.
    """

    quantity: Measure | Range
    material: str | None

    def __new__(cls, quantity: Measure | Range, material: str | None = None) -> Self:
        us, metric = (_shown(quantity, system, material) for system in ("us", "metric"))
        self = super().__new__(cls, us if us == metric else f"{us} ({metric})")
        self.quantity, self.material = quantity, material
        return self

    def __getnewargs__(self) -> tuple[Measure | Range, str | None]:  # type: ignore[override]
        return self.quantity, self.material

    @classmethod
    def of(cls, value: float, unit: str) -> Self:
        """Return a computed SI value, such as 0.0016 "m"."""
        return cls(Measure.of(value, unit))

    def shown(self, system: str) -> str:
        """Return the figure in "us" or "metric" units, never parted from its unit."""
        return _shown(self.quantity, system, self.material).replace(" ", NO_BREAK)


def _shown(quantity: Measure | Range, system: str, material: str | None) -> str:
    if isinstance(quantity, Range):
        return str(show_range(quantity, system, material, digits=DIGITS))
    return str(show(quantity, system, material, digits=DIGITS))
