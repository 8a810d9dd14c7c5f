"""The rating of a booth's machines, a row for each process that has a current."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from curriculum.core import spec
from curriculum.core.library import uses
from curriculum.core.machines import LARGEST
from curriculum.models import Booth, BoothMachine
from shared.fields import MeasureFormField

UNITS = {"rated_current": "A", "duty": "%", "largest_current": "A"}
PROCESSES = tuple(one for one in spec.PROCESSES if "current" in uses(one))


def _amperes(label: Any) -> MeasureFormField:
    return MeasureFormField(
        "current", low=1, high=LARGEST, bare_unit="A", label=label, required=False
    )


class MachineForm(forms.Form):
    """One process of a machine: all three figures, or none where the plate was not read."""

    rated_current = _amperes(_("Rated output"))
    duty = MeasureFormField(
        "fraction", low=0.01, high=1, bare_unit="%", label=_("Duty cycle at it"), required=False
    )
    largest_current = _amperes(_("Largest output"))

    def __init__(self, data: Any = None, *, process: str, machine: BoothMachine | None) -> None:
        stated = {name: getattr(machine, name) for name in UNITS} if machine else {}
        super().__init__(data, prefix=process, initial=stated)
        self.process = process

    @property
    def is_stated(self) -> bool:
        """Whether any figure is typed."""
        return any(str(self[name].value() or "").strip() for name in UNITS)

    def rows(self) -> list[tuple[forms.BoundField, str]]:
        """Return each field with its unit."""
        return [(self[name], unit) for name, unit in UNITS.items()]

    def clean(self) -> dict[str, Any]:
        """Ask for the figures that belong together; the largest is at least the rated one."""
        cleaned: dict[str, Any] = super().clean() or {}
        if self.is_stated:
            for name in UNITS:
                if name not in self.errors and cleaned.get(name) is None:
                    self.add_error(name, _("Write this too, or empty all three."))
        rated, largest = cleaned.get("rated_current"), cleaned.get("largest_current")
        if rated and largest and largest.value < rated.value:
            message = _("Write at least the rated output, %(rated)s A.")
            self.add_error(
                "largest_current", ValidationError(message, params={"rated": f"{rated.value:g}"})
            )
        return cleaned

    def machine(self, booth: Booth) -> BoothMachine | None:
        """Return the row to store; None where nothing is stated."""
        if not self.is_stated:
            return None
        row = BoothMachine(booth=booth, process=self.process)
        for name in UNITS:
            setattr(row, name, self.cleaned_data[name])
        return row


def machine_forms(data: Any, booth: Booth) -> list[MachineForm]:
    """Return a form for each process with a current, filled with what the booth's machine has."""
    stated = {one.process: one for one in booth.machines.all()} if booth.pk else {}
    return [MachineForm(data, process=one, machine=stated.get(one)) for one in PROCESSES]
