"""A machine that cuts blanks, as its plate and the shop say."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.services.sheet import said
from inventory.models import CuttingMachine
from inventory.services.machines import usual_kerf
from shared.people.models import Campus
from shared.units import Measure, show

METALS = ("steel", "stainless", "aluminium")
_HELP = {
    "kerf": gettext_lazy("Such as 1/16 in, 1.6 mm; at a shear 0 in."),
    "trim": gettext_lazy("Off each edge of a sheet as it comes, both ends of a bar. None: 0 in."),
    "narrowest": gettext_lazy("What its hold-down or vice still grips. No limit: 0 in."),
    "longest": gettext_lazy("Such as 52 in. Empty: no limit."),
    "steel": gettext_lazy("Such as 10 ga, 1/4 in. Empty: it does not cut steel."),
    "stainless": gettext_lazy("Empty: it does not cut stainless."),
    "aluminium": gettext_lazy("Empty: it does not cut aluminium."),
}


class MachineForm(forms.ModelForm):
    """Name, kind, what a cut takes, what it holds and how thick it cuts."""

    stages = forms.TypedChoiceField(
        label=gettext_lazy("Stages of cuts"),
        coerce=int,
        choices=[
            (2, gettext_lazy("2: strips, then blanks")),
            (3, gettext_lazy("3: strips, lengths, then blanks")),
        ],
        initial=2,
        help_text=gettext_lazy("A third stage wastes less and takes more settings."),
    )

    class Meta:
        model = CuttingMachine
        fields = ["kind", "name", "stages", "signoff", "note"]
        help_texts = {
            "signoff": gettext_lazy("What a person must be signed off on first, such as shear."),
        }

    field_order = ["kind", "name", *_HELP, "stages", "signoff", "note"]

    def __init__(self, data: Any = None, *, campus: Campus, units: str, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.instance.campus = campus
        for name, text in _HELP.items():
            column = getattr(CuttingMachine, name)
            label = capfirst(str(column.verbose_name))
            field = column.formfield(system=units, help_text=text, label=label)
            field.material = name if name in METALS else None
            self.fields[name] = field
            self.initial[name] = getattr(self.instance, name)
        if self.instance.pk is None:
            for name in ("trim", "narrowest"):
                self.initial[name] = "0 in" if units == "us" else "0 mm"
        self.order_fields(self.field_order)
        self._usual(units)

    def _usual(self, units: str) -> None:
        """Say at the field what such a machine usually takes, where its kind is known."""
        kind = str(self["kind"].value() or "")
        if kind not in CuttingMachine.Kind.values:
            return
        kerf, dressing = usual_kerf(kind)
        text = _("%(such_as)s Usual for this kind: %(kerf)s (%(source)s).") % {
            "such_as": _HELP["kerf"],
            "kerf": show(Measure.of(kerf.value, "m"), units, digits=3),
            "source": said(kerf.source),
        }
        if dressing is not None:
            text += " " + _("With the dressing of its edge %(taken)s.") % {
                "taken": show(Measure.of(kerf.value + dressing.value, "m"), units, digits=3)
            }
        self.fields["kerf"].help_text = text

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        others = CuttingMachine.objects.filter(campus=self.instance.campus, name=name)
        if others.exclude(pk=self.instance.pk or 0).exists():
            raise ValidationError(_("There is a machine of this name; write another."))
        return name

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        for name in _HELP:
            if name in found:
                setattr(self.instance, name, found[name])
        if not any(found.get(metal) or self.has_error(metal) for metal in METALS):
            self.add_error("steel", _("Write how thick a metal it cuts, at least for one."))
        return found
