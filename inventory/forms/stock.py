"""Items and suppliers, typed as people write them."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.core.spec_key import spec_key
from curriculum.core.usage import weekly_of
from curriculum.services.sheet import said
from inventory.core.base_units import Scale
from inventory.models import WEEKS_MAX, StockItem, Supplier
from inventory.services.scales import scale_of
from shared.fields import MeasureFormField, translated
from shared.people.models import Campus
from shared.units import UnitError, gauge_metals

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
    every_weeks = forms.IntegerField(
        label=gettext_lazy("In so many weeks"),
        min_value=1,
        max_value=WEEKS_MAX,
        required=False,
        help_text=gettext_lazy("12: such use once in twelve weeks. Empty: each week."),
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
    manifold = forms.IntegerField(
        label=gettext_lazy("Cylinders on the manifold"),
        required=False,
        min_value=1,
        max_value=100,
        help_text=gettext_lazy(
            "Of acetylene: how many feed the torches together. The session page then holds the "
            "draw of all lit torches against them."
        ),
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
        self._usual_week()
        metal = str(self["metal"].value() or "")
        self.fields["thickness"].material = (  # type: ignore[attr-defined]
            metal if metal in gauge_metals() or metal in METALS else None
        )

    def _usual_week(self) -> None:
        """Say at the field what such a thing usually takes, where the planning figures know it."""
        found = weekly_of(f"{self['name'].value()} {self['thing'].value()}")
        if found is None:
            return
        pieces, weeks = found.whole
        self.fields["per_student_week"].help_text = _(
            "Usual: %(pieces)s in so many weeks: %(weeks)s; range %(span)s a week. "
            "Source: %(source)s. Empty: nothing."
        ) % {
            "pieces": pieces,
            "weeks": weeks,
            "span": said(found.pieces.span),
            "source": said(found.pieces.source),
        }

    def _stated(self, item: StockItem) -> dict[str, Any]:
        """Return what the form says of an item: its own columns, its sizes from its key."""
        kind, word, *sizes = item.spec_key.split(":")
        mm = [f"{int(size) / 1000:g} mm" for size in sizes if size.isdecimal()]
        stated: dict[str, Any] = {
            name: getattr(item, name)
            for name in ("kind", "name", "moved_by", "factor", "bias_cv", "use_cv", "manifold")
        }
        stated |= {"quarantined": item.quarantined, "is_active": item.is_active}
        stated["metal" if kind in PLATE else "thing"] = word
        names = ("thickness", "width") if kind in PLATE else ("diameter",)
        stated |= dict(zip(names, mm, strict=False))
        if item.piece_mg:
            stated["piece"] = f"{item.piece_mg / 1000:g} g"
        if item.per_student_week:
            stated["per_student_week"] = scale_of(item, self.units).typed(item.per_student_week)
            stated["every_weeks"] = item.every_weeks
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
        found["every_weeks"] = found.get("every_weeks") or 1
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
            "name", "spec_key", "per_student_week", "every_weeks", "factor", "bias_cv", "use_cv",
            "quarantined", "is_active", "manifold",
        ):  # fmt: skip
            setattr(item, name, found[name])
        item.moved_by = found["moved_by"] or MOVED_BY.get(item.kind, MovedBy.ISSUE)
        piece = found["piece"]
        item.piece_mg = round(piece.value * 10**6) if piece else None
        return item


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
