"""Packs, typed as people write them: content, size, or what a cylinder is filled with."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.core.gas import GasError, told_by
from curriculum.services.sheet import said
from inventory.core.base_units import Scale, read_size
from inventory.core.cylinders import in_ml
from inventory.core.sizes import Size, size_text
from inventory.forms.fields import AmountField, such_as
from inventory.forms.stock import WIDE, Base, Kind
from inventory.models import Pack, StockItem, Supplier
from inventory.services.cylinders import filling, gas_of
from inventory.services.scales import strip_of
from shared.units import UnitError, parse_measure

_FILLED = {  # label and help of what a cylinder states
    "water": (
        gettext_lazy("Water capacity"),
        gettext_lazy("Stamped on its shoulder, such as 43.8 L. Not the content."),
    ),
    "fill_pressure": (
        gettext_lazy("Filled to, on the gauge"),
        gettext_lazy("Such as 2200 psi, 150 bar. With the content alone it tells the capacity."),
    ),
    "fill_temperature": (
        gettext_lazy("At a temperature of"),
        gettext_lazy("Empty: 70 °F (21 °C), as fillings are stated."),
    ),
    "net_weight": (
        gettext_lazy("Weight of its gas when full"),
        gettext_lazy("Without the cylinder, such as 20 lb, 9 kg: its gauge does not tell it."),
    ),
}
_AT = {
    "gas": "name",
    "water": "water",
    "pressure": "fill_pressure",
    "temperature": "fill_temperature",
    "weight": "net_weight",
}


class PackForm(forms.ModelForm):
    """A pack as it is bought: content or size as written, price, days."""

    price = forms.DecimalField(
        label=gettext_lazy("Price of one"), min_value=0, max_value=10**8, decimal_places=4
    )
    lead_days = forms.IntegerField(
        label=gettext_lazy("Lead time, working days"),
        min_value=0,
        max_value=400,
        initial=5,
        help_text=gettext_lazy("From the order to the shelf."),
    )
    approval_days = forms.IntegerField(
        label=gettext_lazy("Approval, working days"),
        min_value=0,
        max_value=400,
        initial=8,
        help_text=gettext_lazy("Before the order goes out."),
    )

    class Meta:
        model = Pack
        fields = ["name", "supplier", "lead_days", "approval_days", "preferred", "is_active"]
        labels = {"supplier": gettext_lazy("Supplier")}
        help_texts = {"name": gettext_lazy("Such as can, 10 lb; sheet 48 × 96 in; box of 25.")}

    field_order = ["name", "content", "price", "supplier", "lead_days", "approval_days"]

    def __init__(self, *args: Any, item: StockItem, units: str, **kwargs: Any) -> None:
        self.item, self.units = item, units
        super().__init__(*args, **kwargs)
        self.instance.item = item
        plain = Scale(item.base_unit, units)
        if item.base_unit == Base.MM2:
            content: forms.Field = forms.CharField(
                max_length=80, label=_("Size"), help_text=such_as(_sizes(item))
            )
        else:
            content = AmountField(
                plain, low=1, label=_("Content"), help_text=such_as(plain.examples)
            )
        self.fields["content"] = content
        self.order_fields([*self.field_order, "preferred", "is_active"])
        if item.kind == Kind.GAS:
            self._cylinder(plain)
        supplier = self.fields["supplier"]
        supplier.queryset = Supplier.objects.filter(campus=item.campus_id)  # type: ignore[attr-defined]
        pack: Pack = self.instance
        if pack.pk:
            self.initial["price"] = f"{pack.price.normalize():f}"
            if not self._computed():
                self.initial["content"] = self._written(pack, plain)

    def _cylinder(self, plain: Scale) -> None:
        """Add what a cylinder is filled with; its content is then computed unless it is written."""
        weighed = told_by(gas_of(self.item)) == "weight"
        names = ("net_weight",) if weighed else ("water", "fill_pressure", "fill_temperature")
        for name in names:
            field = getattr(Pack, name).formfield(
                system=self.units, label=_FILLED[name][0], help_text=_FILLED[name][1]
            )
            field.required = False
            self.fields[name] = field
            self.initial[name] = getattr(self.instance, name)
        self.fields["content"].required = False
        self.fields["content"].help_text = _(
            "%(such_as)s Empty: computed from what it is filled with."
        ) % {"such_as": such_as(plain.examples)}
        self.order_fields(["name", "content", *names, *self.field_order[2:]])

    def _computed(self) -> bool:
        """Say whether the content that is kept is the one computed."""
        try:
            found = filling(self.instance) if self.item.kind == Kind.GAS else None
        except GasError:
            return False
        return found is not None and in_ml(found.volume_m3) == self.instance.size

    def _written(self, pack: Pack, plain: Scale) -> str:
        """Return the content of a pack as a text that reads back as it is kept."""
        if pack.length_um and pack.width_um:
            size = Size(pack.length_um, pack.width_um).long_side_first
            for system in (self.units, "metric", "us"):
                read = read_size(size_text(size, system))
                if (read.length_um, read.width_um, read.mm2) == (*size.sides, pack.size):
                    return size_text(size, system)
        return plain.typed(pack.size)

    def clean_content(self) -> int | None:
        """Return base units; None for a cylinder whose content is to be computed."""
        content = self.cleaned_data["content"]
        pack: Pack = self.instance
        if content is None:
            return None
        if self.item.base_unit != Base.MM2:
            return int(content)
        if pack.pk and content == self.initial.get("content"):
            return pack.size
        pack.length_um = pack.width_um = None
        try:
            size = read_size(content)
        except UnitError:
            return self._by_length(content)
        pack.length_um, pack.width_um = size.length_um, size.width_um
        return size.mm2

    def _by_length(self, content: str) -> int:
        """Read the length of a bar or pipe, whose width the item states, else an area."""
        strip = strip_of(self.item)
        scale = Scale(self.item.base_unit, self.units, strip=strip)
        try:
            if not any(letter.isalpha() for letter in content):  # no unit stands beside the field
                raise UnitError("")
            if strip and (length := _length(content)):
                self.instance.length_um = round(length * 10**6)
                return round(length * 1000 * strip)
            area = scale.read(content)
        except UnitError as error:
            raise ValidationError(
                _("“%(got)s” is no size; write such as %(accepts)s."),
                params={"got": content, "accepts": ", ".join(_sizes(self.item))},
            ) from error
        if area < 1:
            raise ValidationError(_("A pack holds more than nothing."))
        return area

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if self.item.packs.filter(name=name).exclude(pk=self.instance.pk or 0).exists():
            raise ValidationError(_("The item has a pack of this name; write another."))
        return name

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        if self.item.kind == Kind.GAS:
            self._fill(found)
        if found.get("content"):
            self.instance.size = found["content"]
        if found.get("price") is not None:
            self.instance.price = Decimal(found["price"])
        return found

    def _fill(self, found: dict[str, Any]) -> None:
        """State what the cylinder is filled with; compute its content where none is written."""
        pack: Pack = self.instance
        for name in _FILLED:
            if name in found:
                setattr(pack, name, found[name])
        if self.errors:
            return
        try:
            filled = filling(pack)
        except GasError as error:
            place = _AT[error.where]
            message = said(error.message, self.units)
            self.add_error(place if place in self.fields else None, message)
            return
        if found.get("content"):
            return
        if filled is None:
            self.add_error(
                "content",
                _("Write the content, or the weight of the gas.")
                if "net_weight" in self.fields
                else _("Write the content, or water capacity and pressure of the filling."),
            )
        elif in_ml(filled.volume_m3) < 1:
            self.add_error("content", _("A pack holds more than nothing."))
        else:
            found["content"] = in_ml(filled.volume_m3)


def _sizes(item: StockItem) -> tuple[str, ...]:
    if item.kind in WIDE:
        return ("20 ft", "4 in × 20 ft", "6 m")
    return ("48 × 96 in", "4 × 8 ft", "1250 × 2500 mm")


def _length(text: str) -> Fraction | None:
    """Return a length in metres, None for a text that is none."""
    try:
        return Fraction(parse_measure(text, "length").value)
    except UnitError:
        return None
