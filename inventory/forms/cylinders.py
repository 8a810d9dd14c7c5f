"""What is read off cylinders in use: a gauge or a scale, and how warm they are."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from curriculum.core.gas import GasError
from curriculum.services.sheet import said
from inventory.forms.fields import AmountField, such_as
from inventory.forms.moves import gauge_examples, left_by
from inventory.services.cylinders import Found
from inventory.services.shelf import InUse
from shared.fields import MeasureFormField
from shared.units import Measure

_BARE = {
    "us": {"pressure": "psi", "mass": "lb", "temperature": "°F"},
    "metric": {"pressure": "bar", "mass": "kg", "temperature": "°C"},
}
_WARMTH = {"us": "70", "metric": "21"}


def _measure(dimension: str, system: str, **more: Any) -> MeasureFormField:
    """Return a field whose unit stands beside it, for a thumb on a tablet."""
    unit = _BARE[system][dimension]
    widget = forms.TextInput(attrs={"inputmode": "decimal"})
    field = MeasureFormField(dimension, system=system, bare_unit=unit, widget=widget, **more)
    field.unit = unit  # type: ignore[attr-defined]  # for the template, beside the field
    return field


def _figure(mass: Measure | None, system: str) -> str:
    """Write an empty weight as its field takes it: the unit stands beside it."""
    typed = mass.typed if mass else ""
    return typed.removesuffix(_BARE[system]["mass"]).strip()


class WarmthForm(forms.Form):
    """How warm the cylinders are that are read together."""

    def __init__(self, *args: Any, system: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["temperature"] = _measure(
            "temperature",
            system,
            label=_("Temperature of the cylinders"),
            initial=_WARMTH[system],
            low=273.15,
            high=323.15,
        )


class ReadingForm(forms.Form):
    """What one cylinder shows. Left empty it was not looked at.

    Bind it with the temperature that `WarmthForm` gave, None where that was refused.
    """

    def __init__(
        self, *args: Any, one: InUse, temperature: Measure | None = None, **kwargs: Any
    ) -> None:
        kwargs["prefix"] = f"open-{one.pack.pk}"
        super().__init__(*args, **kwargs)
        self.one, self.temperature = one, temperature
        system = one.scale.system
        self.cylinder = cylinder = one.cylinder
        if cylinder and cylinder.weighed:
            self.fields["now"] = _measure(
                "mass", system, label=_("Weight on the scale"), required=False, low=0, high=4000
            )
            last = one.last_reading
            self.fields["tare"] = _measure(
                "mass",
                system,
                label=_("Empty weight stamped on it"),
                required=False,
                low=0,
                high=4000,
                initial=_figure(last.tare, system) if last else None,
            )
        elif cylinder and cylinder.water is not None:
            self.fields["now"] = _measure(
                "pressure", system, label=_("Gauge now"), required=False, low=0, high=300e5
            )
        else:
            examples = ("25 %", *gauge_examples(cylinder, one.scale), *one.scale.examples[:1])
            self.fields["now"] = AmountField(
                one.scale,
                label=_("Left in it"),
                required=False,
                read=lambda text: left_by(text, one.scale, one.pack.size, cylinder),
                help_text=such_as(examples),
            )

    def clean(self) -> dict[str, Any]:
        values: dict[str, Any] = super().clean() or self.cleaned_data
        now = values.get("now")
        if now is None or self.temperature is None:
            return values
        try:
            values["left"] = self._left(now, values)
        except GasError as error:
            self.add_error("now", said(error.message, self.one.scale.system))
        return values

    def _left(self, now: Any, values: dict[str, Any]) -> int | None:
        if isinstance(now, int):
            return now
        if self.cylinder is None or self.temperature is None:
            raise TypeError("a measure is read off a cylinder")
        if not self.cylinder.weighed:
            return self.cylinder.by_pressure(now.value, self.temperature.value)
        tare = values.get("tare")
        if tare is None:
            if not self.has_error("tare"):
                self.add_error(
                    "tare", _("Write the empty weight as well; it is stamped on the cylinder.")
                )
            return None
        return self.cylinder.by_scale(now.value, tare.value)

    @property
    def found(self) -> Found | None:
        """What was read, or None where the line was left empty."""
        left = self.cleaned_data.get("left")
        if left is None or self.temperature is None:
            return None
        now = self.cleaned_data["now"]
        weighed = bool(self.cylinder and self.cylinder.weighed)
        measure = now if isinstance(now, Measure) else None
        return Found(
            open_pack=self.one.pack,
            left=left,
            temperature=self.temperature,
            pressure=None if weighed else measure,
            weight=measure if weighed else None,
            tare=self.cleaned_data.get("tare"),
        )
