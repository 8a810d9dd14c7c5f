"""The form a coupon is handed in with: what was set and used, and the student's own inspection."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.core import spec
from curriculum.core.library import uses
from curriculum.core.limits import allowed
from curriculum.models import Criterion
from curriculum.services.sheet import said
from grading.core import taken
from grading.forms.grade import refusal
from grading.models import Attempt
from grading.services.attempts import Said
from shared.fields import MeasureFormField
from shared.templatetags.quantities import plain
from shared.units import Measure, UnitError

PICKED = {
    "yes": gettext_lazy("yes"),
    "no": gettext_lazy("no"),
    "small": gettext_lazy("too small"),
    "large": gettext_lazy("too large"),
}
RODS_MAX = 1_000
PRACTICE_MAX = 500


class LogForm(forms.Form):
    """No field is a hurdle: an empty form hands the coupon in. Bare numbers are in the unit beside.

    `criteria` are the rows of the attempt's version with their specs, in the rubric's order.
    """

    def __init__(
        self,
        *args: Any,
        exercise: spec.Exercise,
        setup: spec.Setup,
        criteria: list[tuple[Criterion, spec.Criterion]],
        units: str,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.criteria = criteria
        self.units_of: dict[str, str] = {}
        used = uses(exercise.process)
        speed = "mm/min" if units == "metric" else "in/min"
        for name, label, unit in (
            ("current", _("Current"), "A"),
            ("voltage", _("Voltage"), "V"),
            ("travel_speed", _("Travel speed"), speed),
        ):
            if name in used:
                field = getattr(Attempt, f"used_{name}")
                self._add(f"used_{name}", field.formfield(label=label, bare_unit=unit), unit)
        if "filler" in used or (exercise.process == "SMAW"):
            label = _("Electrodes used") if exercise.process == "SMAW" else _("Rods used")
            rods = MeasureFormField("count", low=0, high=RODS_MAX, label=label, required=False)
            self._add("used_rods", rods)
        practice = forms.IntegerField(
            label=_("Practice pieces"), min_value=0, max_value=PRACTICE_MAX, required=False,
            error_messages={"invalid": _("Enter a whole number, such as 3.")},
        )  # fmt: skip
        practice.widget.attrs["inputmode"] = "numeric"
        self._add("used_practice_pieces", practice)
        for row, one in criteria:
            self._add(f"own_{row.pk}", _criterion_field(one, setup, units), taken.unit_of(one))
        note = forms.CharField(
            label=_("What I saw"), widget=forms.Textarea(attrs={"rows": 3}), required=False
        )
        note.max_length = 2_000
        self._add("own_note", note)

    def _add(self, name: str, field: forms.Field, unit: str = "") -> None:
        self.fields[name] = field
        self.units_of[name] = unit

    def _rows(self, names: list[str]) -> list[tuple[forms.BoundField, str]]:
        return [(self[name], self.units_of[name]) for name in names]

    def used_fields(self) -> list[tuple[forms.BoundField, str]]:
        """Return what was set and used, each with the unit beside it."""
        return self._rows([name for name in self.fields if name.startswith("used_")])

    def own_fields(self) -> list[tuple[forms.BoundField, str]]:
        """Return the own inspection, each with the unit beside it."""
        return self._rows([f"own_{row.pk}" for row, _spec in self.criteria])

    def clean(self) -> dict[str, Any]:
        """Read the own inspection; a refused reading stays in its field as typed."""
        cleaned = super().clean() or {}
        self.readings: dict[int, Said] = {}
        for row, one in self.criteria:
            name = f"own_{row.pk}"
            text = str(cleaned.get(name) or "").strip()
            if not text:
                continue
            try:
                self.readings[row.pk] = Said(taken=taken.read(one, text), typed=text)
            except (UnitError, taken.ReadingRefused) as error:
                self.add_error(name, refusal(error))
        return cleaned

    def values(self) -> dict[str, Any]:
        """Return what `log_attempt` takes."""
        found = {name: self.cleaned_data.get(name) for name in self.fields if "used_" in name}
        rods = found.get("used_rods")
        if isinstance(rods, Measure):
            found["used_rods"] = rods.value
        return found | {
            "own_readings": self.readings,
            "own_note": self.cleaned_data.get("own_note", ""),
        }


def _criterion_field(one: spec.Criterion, setup: spec.Setup, units: str) -> forms.Field:
    picks = taken.choices(one)
    label = one.name[:1].upper() + one.name[1:]
    if picks:
        return forms.ChoiceField(
            label=label,
            choices=[(pick, PICKED.get(pick, pick)) for pick in picks],
            widget=forms.RadioSelect,
            required=False,
        )
    field = forms.CharField(label=label, max_length=40, required=False)
    keys = "numeric" if one.kind == "counted" else "text"
    field.widget.attrs |= {"inputmode": keys, "autocomplete": "off", "autocapitalize": "off"}
    limit = allowed(one, setup.thickness)
    figure = limit.range or limit.bound
    words = (said(limit.word), plain(figure, units) if figure else "")
    field.help_text = _("Wanted: %(limit)s") % {"limit": " ".join(filter(None, words))}
    if one.kind == "bend":
        field.help_text += ". " + _("Each opening, with commas between; 0 for none.")
    return field
