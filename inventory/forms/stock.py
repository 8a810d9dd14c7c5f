"""Items, packs and suppliers, typed as people write them."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.core.spec_key import spec_key
from inventory.core.base_units import Scale, read_size
from inventory.forms.fields import AmountField, such_as
from inventory.models import Pack, StockItem, Supplier
from inventory.services.scales import scale_of, strip_of
from shared.fields import MeasureFormField, translated
from shared.people.models import Campus
from shared.units import UnitError, gauge_metals, parse_measure

Kind = StockItem.Kind
Base = StockItem.BaseUnit
MovedBy = StockItem.MovedBy
PLATE = (Kind.SHEET, Kind.BAR, Kind.PIPE, Kind.BACKING)
FILLER = (Kind.ROD, Kind.ELECTRODE, Kind.WIRE)
ROUND = (*FILLER, Kind.TUNGSTEN)
WIDE = (Kind.BAR, Kind.PIPE, Kind.BACKING)

BASE_UNITS: dict[str, Base] = {
    **dict.fromkeys(PLATE, Base.MM2),
    **dict.fromkeys(FILLER, Base.MG),
    Kind.GAS: Base.ML,
}
MOVED_BY: dict[str, MovedBy] = {
    **dict.fromkeys(PLATE, MovedBy.CUT),
    **dict.fromkeys((*FILLER, Kind.WEAR), MovedBy.OPEN),
    Kind.GAS: MovedBy.EXCHANGE,
}
METALS = ("steel", "stainless", "aluminium")


class ItemForm(forms.Form):
    """A stock item; its specification is built from what is typed, its base unit from its kind."""

    kind = forms.ChoiceField(label=gettext_lazy("Kind"), choices=Kind.choices)
    name = forms.CharField(label=gettext_lazy("Name on the shelf"), max_length=120)
    metal = forms.ChoiceField(
        label=gettext_lazy("Metal"),
        choices=[("", "–"), *((name, name) for name in METALS)],
        required=False,
        help_text=gettext_lazy("Of sheet, bar, pipe and backing."),
    )
    thing = forms.CharField(
        label=gettext_lazy("Class or name"),
        max_length=60,
        required=False,
        help_text=gettext_lazy("Such as E7018, ER70S-6, 75 Ar/25 CO2, contact tip."),
    )
    thickness = MeasureFormField(
        "length",
        label=gettext_lazy("Thickness or wall"),
        required=False,
        low=0.0001,
        high=1,
        help_text=gettext_lazy("Such as 1/4 in, 16 ga, 6 mm."),
    )
    width = MeasureFormField(
        "length",
        label=gettext_lazy("Width, of pipe its outside diameter"),
        required=False,
        low=0.001,
        high=5,
        help_text=gettext_lazy("Of bar, backing and pipe, such as 4 in."),
    )
    diameter = MeasureFormField(
        "length",
        label=gettext_lazy("Diameter or bore"),
        required=False,
        low=0.0001,
        high=0.1,
        help_text=gettext_lazy("Of rod, electrode, wire and tungsten, such as 1/8 in, 0.035 in."),
    )
    piece = MeasureFormField(
        "mass",
        label=gettext_lazy("Weight of one rod or electrode"),
        required=False,
        low=1e-6,
        high=100,
        help_text=gettext_lazy("To count in pieces as well, such as 34 g."),
    )
    moved_by = forms.ChoiceField(
        label=gettext_lazy("What moves the shelf"),
        choices=[("", gettext_lazy("as usual for its kind")), *MovedBy.choices],
        required=False,
    )
    per_student_week = forms.CharField(
        label=gettext_lazy("Use per student and week"),
        required=False,
        max_length=80,
        help_text=gettext_lazy("On top of coupons. Empty: nothing."),
    )
    factor = forms.FloatField(
        label=gettext_lazy("Use over that of handed-in coupons"),
        min_value=0.05,
        max_value=20,
        initial=1.8,
        help_text=gettext_lazy("Practice and waste: 1 for plate, usually 1.3 to 3."),
    )
    bias_cv = forms.FloatField(
        label=gettext_lazy("Doubt about that factor"),
        min_value=0,
        max_value=3,
        initial=0.10,
        help_text=gettext_lazy("0.10: it may well be a tenth off."),
    )
    use_cv = forms.FloatField(
        label=gettext_lazy("Spread of one attempt's use"), min_value=0, max_value=3, initial=0.15
    )
    quarantined = forms.BooleanField(
        label=gettext_lazy("Grade unknown: in quarantine, nothing is used"), required=False
    )
    is_active = forms.BooleanField(label=gettext_lazy("In use"), required=False, initial=True)

    def __init__(
        self, *args: Any, campus: Campus, units: str, item: StockItem | None = None, **kwargs: Any
    ) -> None:
        self.item, self.campus, self.units = item, campus, units
        super().__init__(*args, **kwargs)
        for name in ("thickness", "width", "diameter", "piece"):
            self.fields[name].system = units  # type: ignore[attr-defined]
        if item is not None:
            self.initial = {**self._stated(item), **self.initial}
            self.fields["kind"].disabled = True
            self.fields["kind"].help_text = _("Stays as it is: the ledger counts in its unit.")
        metal = str(self["metal"].value() or "")
        self.fields["thickness"].material = (  # type: ignore[attr-defined]
            metal if metal in gauge_metals() or metal in METALS else None
        )

    def _stated(self, item: StockItem) -> dict[str, Any]:
        """Return what the form says of an item: its own columns, its sizes from its key."""
        kind, word, *sizes = item.spec_key.split(":")
        mm = [f"{int(size) / 1000:g} mm" for size in sizes if size.isdecimal()]
        stated: dict[str, Any] = {
            name: getattr(item, name)
            for name in ("kind", "name", "moved_by", "factor", "bias_cv", "use_cv")
        }
        stated |= {"quarantined": item.quarantined, "is_active": item.is_active}
        stated["metal" if kind in PLATE else "thing"] = word
        names = ("thickness", "width") if kind in PLATE else ("diameter",)
        stated |= dict(zip(names, mm, strict=False))
        if item.piece_mg:
            stated["piece"] = f"{item.piece_mg / 1000:g} g"
        if item.per_student_week:
            stated["per_student_week"] = scale_of(item, self.units).typed(item.per_student_week)
        return stated

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        kind = found.get("kind")
        if kind is None:
            return found
        self._want(found, "metal", kind in PLATE, _("Pick its metal."))
        self._want(found, "thing", kind not in PLATE, _("Write its class or name, such as E7018."))
        self._want(found, "thickness", kind in PLATE, _("Write its thickness, such as 1/4 in."))
        self._want(found, "width", kind in WIDE, _("Write its width, such as 4 in."))
        self._want(found, "diameter", kind in ROUND, _("Write its diameter, such as 1/8 in."))
        if not self.errors:
            self._key(found)
            self._week(found)
        return found

    def _want(self, found: dict[str, Any], name: str, wanted: bool, message: str) -> None:
        if wanted and not found.get(name) and not self.has_error(name):
            self.add_error(name, message)

    def _key(self, found: dict[str, Any]) -> None:
        sizes = {
            f"{name}_m": found[name].value if found.get(name) else None
            for name in ("thickness", "width", "diameter")
        }
        try:
            key = spec_key(found["kind"], name=found["thing"], metal=found["metal"], **sizes)
        except ValueError as error:
            raise ValidationError(str(error)) from error
        if len(key) > 120:
            self.add_error("thing", _("That is too long; write at most 60 letters."))
        taken = StockItem.objects.filter(campus=self.campus, spec_key=key)
        other = taken.exclude(pk=(self.item.pk if self.item else None) or 0).first()
        if other is not None:
            raise ValidationError(
                _("“%(name)s” has this very specification: receive there, or add a pack to it.")
                % {"name": other.name}
            )
        found["spec_key"] = key

    def _week(self, found: dict[str, Any]) -> None:
        text = found["per_student_week"].strip()
        try:
            found["per_student_week"] = self.scale.read(text) if text else 0
        except UnitError as error:
            self.add_error("per_student_week", translated(error))

    @property
    def scale(self) -> Scale:
        """The scale the item is read in."""
        if self.item is not None:
            return scale_of(self.item, self.units)
        base = BASE_UNITS.get(self.cleaned_data["kind"], Base.PIECE)
        return Scale(base, self.units)

    def filled(self) -> StockItem:
        """Return the item, new or as it was, with what the form says; unsaved."""
        found = self.cleaned_data
        item = self.item or StockItem(
            campus=self.campus,
            kind=found["kind"],
            base_unit=BASE_UNITS.get(found["kind"], Base.PIECE),
        )
        for name in (
            "name", "spec_key", "per_student_week", "factor", "bias_cv", "use_cv",
            "quarantined", "is_active",
        ):  # fmt: skip
            setattr(item, name, found[name])
        item.moved_by = found["moved_by"] or MOVED_BY.get(item.kind, MovedBy.ISSUE)
        piece = found["piece"]
        item.piece_mg = round(piece.value * 10**6) if piece else None
        return item


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
        supplier = self.fields["supplier"]
        supplier.queryset = Supplier.objects.filter(campus=item.campus_id)  # type: ignore[attr-defined]
        pack: Pack = self.instance
        if pack.pk:
            self.initial["price"] = f"{pack.price.normalize():f}"
            self.initial["content"] = self._written(pack, plain)

    def _written(self, pack: Pack, plain: Scale) -> str:
        """Return the content of a pack as a text that reads back as it is kept."""
        if pack.length_mm and pack.width_mm:
            kept = (*sorted((pack.width_mm, pack.length_mm)), pack.size)
            for text in _written_sizes(pack.width_mm, pack.length_mm):
                size = read_size(text)
                if (size.width_mm, size.length_mm, size.mm2) == kept:
                    return text
        return plain.typed(pack.size)

    def clean_content(self) -> int:
        content = self.cleaned_data["content"]
        pack: Pack = self.instance
        if self.item.base_unit != Base.MM2:
            return int(content)
        if pack.pk and content == self.initial.get("content"):
            return pack.size
        pack.length_mm = pack.width_mm = None
        try:
            size = read_size(content)
        except UnitError:
            return self._by_length(content)
        pack.length_mm, pack.width_mm = size.length_mm, size.width_mm
        return size.mm2

    def _by_length(self, content: str) -> int:
        """Read the length of a bar or pipe, whose width the item states, else an area."""
        strip = strip_of(self.item)
        scale = Scale(self.item.base_unit, self.units, strip=strip)
        try:
            if not any(letter.isalpha() for letter in content):  # no unit stands beside the field
                raise UnitError("")
            if strip and (length := _length(content)):
                self.instance.length_mm = round(length * 1000)
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
        if "content" in found:
            self.instance.size = found["content"]
        if found.get("price") is not None:
            self.instance.price = Decimal(found["price"])
        return found


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


def _written_sizes(width_mm: int, length_mm: int) -> Iterator[str]:
    """Yield how sides kept in whole millimetres may have been written: in inches, then in mm."""
    for parts in (1, 2, 4, 8, 16):
        sides = (round(side / 25.4 * parts) / parts for side in (width_mm, length_mm))
        yield " × ".join(f"{side:g}" for side in sides if side) + " in"
    yield f"{width_mm} × {length_mm} mm"


class SupplierForm(forms.ModelForm):
    """Who delivers, and on which days of the week."""

    delivery_weekdays = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Delivery days"),
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("None ticked: any working day."),
        choices=[
            (0, gettext_lazy("Monday")),
            (1, gettext_lazy("Tuesday")),
            (2, gettext_lazy("Wednesday")),
            (3, gettext_lazy("Thursday")),
            (4, gettext_lazy("Friday")),
            (5, gettext_lazy("Saturday")),
            (6, gettext_lazy("Sunday")),
        ],
    )

    class Meta:
        model = Supplier
        fields = ["name", "delivery_weekdays"]

    def __init__(self, *args: Any, campus: Campus, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.campus = campus

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        others = Supplier.objects.filter(campus=self.instance.campus, name=name)
        if others.exclude(pk=self.instance.pk or 0).exists():
            raise ValidationError(_("There is a supplier of this name; change that one."))
        return name


class ShelfFilter(forms.Form):
    """What the list of the shelf shows."""

    q = forms.CharField(label=gettext_lazy("Name or specification"), max_length=80, required=False)
    kind = forms.ChoiceField(
        label=gettext_lazy("Kind"),
        choices=[("", gettext_lazy("all")), *Kind.choices],
        required=False,
    )
    state = forms.ChoiceField(
        label=gettext_lazy("State"),
        required=False,
        choices=[
            ("", gettext_lazy("all in use")),
            ("short", gettext_lazy("book short")),
            ("count", gettext_lazy("count asked for")),
            ("quarantine", gettext_lazy("in quarantine")),
            ("gone", gettext_lazy("not in use")),
        ],
    )
