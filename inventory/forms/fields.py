"""Form fields for what lies on a shelf."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from inventory.core.base_units import Scale
from shared.fields import translated
from shared.units import UnitError


class AmountField(forms.CharField):
    """Text that cleans to base units by the scale of an item: "10 lb", "2 cans", "40 pcs".

    `unit` stands beside the field and is that of a bare number. `read` takes the text instead of
    `scale.read`, where more than a quantity is accepted.
    """

    def __init__(
        self,
        scale: Scale,
        *,
        low: int = 0,
        read: Callable[[str], int] | None = None,
        **kwargs: Any,
    ) -> None:
        self.scale, self.low = scale, low
        self.read = read or scale.read
        self.unit = scale.unit
        kwargs.setdefault("max_length", 80)
        kwargs.setdefault("help_text", such_as(scale.examples))
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        attrs = super().widget_attrs(widget)
        return attrs | {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}

    def to_python(self, value: Any) -> Any:
        """Return base units, None for an empty field."""
        if isinstance(value, int):
            return value
        text = super().to_python(value)
        if not text:
            return None
        try:
            return self.read(text)
        except UnitError as error:
            raise ValidationError(translated(error), code="unit") from error

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is not None and value < self.low:
            raise ValidationError(
                _("That is nothing; write such as %(accepts)s.")
                % {"accepts": ", ".join(self.scale.examples)},
                code="nothing",
            )

    def run_validators(self, value: Any) -> None:
        """The length was held against the text already, by the reader."""


def such_as(examples: tuple[str, ...]) -> str:
    """Return the help beside a field that takes such texts."""
    return _("Such as %(examples)s.") % {"examples": ", ".join(examples)}
