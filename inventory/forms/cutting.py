"""What a cutting plan is asked for: classes and days, blanks, machines; and what would be if."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from curriculum.models import ShopClass
from inventory.core.cutting.problem import MOST_PIECES, MOST_ROWS, SHORTEST
from inventory.core.sizes import SIDE_MAX_UM, Size, read_piece, size_text
from inventory.models import CutPlan, CuttingMachine, StockItem
from inventory.services.blanks_needed import BlanksNeeded
from inventory.services.cutplans import Wanted
from inventory.services.machines import Machines
from inventory.services.size_rows import is_cut, is_flat
from shared.fields import MeasureFormField, translated
from shared.people.models import Campus
from shared.units import UnitError

LONGEST_DAYS = 366
SPARE_LINES = 3
SHORTEST_UM = round(SHORTEST * 1e6)
PRICE_MAX = Decimal(10**6)


def day_field(label: Any) -> forms.DateField:
    return forms.DateField(
        label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


def pieces_field(label: Any, **more: Any) -> forms.IntegerField:
    """Return a field for a number of pieces, 0 to 20,000."""
    words = gettext_lazy("Write a whole number from 0 to 20,000, such as 24.")
    wrong = dict.fromkeys(("required", "invalid", "min_value", "max_value"), words)
    options: dict[str, Any] = {"min_value": 0, "max_value": MOST_PIECES, "required": True} | more
    return forms.IntegerField(label=label, error_messages=wrong, **options)


def price_field(label: Any) -> forms.DecimalField:
    words = gettext_lazy("Write an amount from 0 to 1,000,000, such as 84.50.")
    wrong = dict.fromkeys(
        ("invalid", "min_value", "max_value", "max_digits", "max_decimal_places",
         "max_whole_digits"),
        words,
    )  # fmt: skip
    return forms.DecimalField(
        label=label,
        required=False,
        min_value=Decimal(0),
        max_value=PRICE_MAX,
        max_digits=11,
        decimal_places=4,
        error_messages=wrong,
    )


class CutScopeForm(forms.Form):
    """Which classes, days and figure; left out: all classes, next week, the ample figure."""

    classes = forms.ModelMultipleChoiceField(
        ShopClass.objects.none(),
        label=gettext_lazy("Classes"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    first = day_field(gettext_lazy("From"))
    last = day_field(gettext_lazy("To"))
    figure = forms.ChoiceField(label=gettext_lazy("Figure"), choices=CutPlan.Figure.choices)

    def __init__(self, data: Any, *, available: Sequence[ShopClass], today: date) -> None:
        self.available = available
        monday = today + timedelta(days=7 - today.weekday())
        asked = data is not None and "first" in data
        super().__init__(
            data
            if asked
            else {
                "classes": (data.getlist("classes") if data else None)
                or [row.pk for row in available],
                "first": monday.isoformat(),
                "last": (monday + timedelta(days=6)).isoformat(),
                "figure": CutPlan.Figure.AMPLE,
            }
        )
        self.today = today
        field = self.fields["classes"]
        assert isinstance(field, forms.ModelMultipleChoiceField)  # noqa: S101 - for types
        field.queryset = ShopClass.objects.filter(pk__in=[row.pk for row in available])

    def clean_first(self) -> date:
        first: date = self.cleaned_data["first"]
        if first < self.today:
            raise ValidationError(
                _("That day is over; write today, %(today)s, or a day to come."),
                params={"today": self.today.isoformat()},
            )
        return first

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        first, last = found.get("first"), found.get("last")
        if first and last and last < first:
            self.add_error("last", _("The last day lies before the first; write a later one."))
        elif first and last and last - first > timedelta(days=LONGEST_DAYS):
            self.add_error("last", _("That is more than a year; write a nearer day."))
        return found

    @property
    def chosen(self) -> list[ShopClass]:
        """The classes picked, else all there are."""
        picked = {row.pk for row in self.cleaned_data.get("classes", ())}
        return [row for row in self.available if row.pk in picked or not picked]


class CutLineForm(forms.Form):
    """Blanks of one size: from the plans of the classes (`fixed`), or written by hand."""

    fixed = forms.BooleanField(required=False, widget=forms.HiddenInput)
    item = forms.ModelChoiceField(
        StockItem.objects.none(), label=gettext_lazy("Material"), required=False, empty_label="–"
    )
    length_um = forms.IntegerField(
        required=False,
        min_value=SHORTEST_UM,
        max_value=SIDE_MAX_UM,
        widget=forms.HiddenInput,
    )
    width_um = forms.IntegerField(
        required=False, min_value=SHORTEST_UM, max_value=SIDE_MAX_UM, widget=forms.HiddenInput
    )
    size = forms.CharField(label=gettext_lazy("Size"), required=False, max_length=80)
    wanted_for = forms.CharField(label=gettext_lazy("For exercise"), required=False, max_length=120)
    needed = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput)
    on_shelf = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput)
    count = pieces_field(gettext_lazy("To cut"), required=False)
    rotate = forms.BooleanField(label=gettext_lazy("may be turned"), required=False, initial=True)

    def __init__(self, *args: Any, items: Sequence[StockItem], units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.items = {row.pk: row for row in items}
        self.units = units
        field = self.fields["item"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 - for types
        field.choices = [("", "–"), *((row.pk, row.name) for row in items)]
        field.queryset = StockItem.objects.filter(pk__in=self.items)
        if self.is_fixed:
            for name in ("item", "wanted_for"):
                self.fields[name].widget = forms.HiddenInput()
        self.fields["wanted_for"].widget.attrs["placeholder"] = _("for exercise")
        line = self._named()
        for name in ("item", "size", "wanted_for", "count"):
            named = f"{self.fields[name].label}, {line}"
            self.fields[name].widget.attrs["aria-label"] = named

    def _named(self) -> str:
        """Say which line this is, for who hears the page."""
        if self.is_fixed and self.of_item:
            return f"{self.of_item.name} {self.shown_size}"
        place = str(self.prefix or "").rpartition("-")[2]
        number = int(place) + 1 if place.isdecimal() else ""
        return _("line %(number)s") % {"number": number}

    @property
    def is_fixed(self) -> bool:
        return str(self["fixed"].value()) in ("True", "on", "1")

    @property
    def of_item(self) -> StockItem | None:
        """The item as given, also before the form is cleaned."""
        text = str(self["item"].value() or "")
        return self.items.get(int(text)) if text.isdecimal() else None

    @property
    def shown_size(self) -> str:
        """The size of a fixed line in the reader's units."""
        sides = [str(self[name].value() or "") for name in ("length_um", "width_um")]
        if not sides[0].isdecimal() or not int(sides[0]):
            return ""
        width = int(sides[1]) if sides[1].isdecimal() and int(sides[1]) else None
        return size_text(Size(int(sides[0]), width), self.units)

    def clean_item(self) -> StockItem | None:
        picked: StockItem | None = self.cleaned_data["item"]
        return None if picked is None else self.items[picked.pk]

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        if self.errors:
            return found
        if self.is_fixed:
            if not found.get("item") or not found.get("length_um"):
                raise ValidationError(_("This line is incomplete; open the page again."))
            found["read"] = Size(found["length_um"], found["width_um"])
            self._refuse_other_form(found["item"], found["read"])
        elif found.get("count") or found.get("size"):
            self._clean_by_hand(found)
        return found

    def _clean_by_hand(self, found: dict[str, Any]) -> None:
        item: StockItem | None = found.get("item")
        if item is None:
            self.add_error("item", _("Pick what it is cut from."))
            return
        flat = is_flat(item)
        try:
            size = read_piece(found["size"], flat=flat)
        except UnitError as error:
            self.add_error("size", translated(error))
            return
        if min(side for side in size.sides if side is not None) < SHORTEST_UM:
            self.add_error("size", _("No blank is under 0.1 mm; write such as 6 × 8 in."))
            return
        if not found.get("count"):
            self.add_error("count", _("Write how many, such as 24."))
            return
        found["read"] = size

    def _refuse_other_form(self, item: StockItem, size: Size) -> None:
        if (size.width is not None) != is_flat(item):
            raise ValidationError(_("This size is none of that material; open the page again."))

    @property
    def wanted(self) -> Wanted | None:
        """What is to be cut; None for an empty line and for nothing to cut."""
        size, count = self.cleaned_data.get("read"), self.cleaned_data.get("count")
        if size is None or not count:
            return None
        given = self.cleaned_data
        return Wanted(
            item=given["item"],
            size=size,
            count=count,
            rotate=given["rotate"],
            wanted_for=given["wanted_for"],
            needed=given["needed"] if self.is_fixed else None,
            on_shelf=given["on_shelf"] if self.is_fixed else None,
        )


class _CutLines(forms.BaseFormSet):
    def clean(self) -> None:
        if any(self.errors):
            return
        pieces: dict[StockItem, int] = {}
        rows: dict[StockItem, int] = {}
        for row in self.wanted:
            pieces[row.item] = pieces.get(row.item, 0) + row.count
            rows[row.item] = rows.get(row.item, 0) + 1
        if not pieces:
            raise ValidationError(
                _("Nothing is to be cut; write how many beside a size, or add a line.")
            )
        for item, total in pieces.items():
            if total > MOST_PIECES or rows[item] > MOST_ROWS:
                words = _(
                    "%(item)s: a plan takes at most 20,000 pieces of 200 sizes; plan it in parts."
                )
                raise ValidationError(words % {"item": item.name})

    @property
    def wanted(self) -> list[Wanted]:
        return [row for form in self.forms if (row := form.wanted) is not None]

    def add_fields(self, form: forms.Form, index: int | None) -> None:
        """The lines need no numbers and no box to take them out: a count of 0 does."""


CutLines = forms.formset_factory(
    CutLineForm, formset=_CutLines, extra=0, max_num=MOST_ROWS * 2, absolute_max=MOST_ROWS * 2
)


def cut_items(campus: Campus) -> list[StockItem]:
    """Return what can be cut at a campus, by kind and name."""
    rows = StockItem.objects.filter(campus=campus).active().select_related("campus")
    return [row for row in rows if is_cut(row)]


def first_lines(needed: BlanksNeeded, by_hand: Sequence[Wanted] = ()) -> list[dict[str, Any]]:
    """Return the lines a new plan begins with: what the classes need, then three empty ones."""
    lines: list[dict[str, Any]] = [
        {
            "fixed": True,
            "item": line.item.pk,
            "length_um": line.size.length,
            "width_um": line.size.width,
            "wanted_for": line.wanted_for,
            "needed": line.needed,
            "on_shelf": line.on_shelf,
            "count": line.to_cut,
            "rotate": True,
        }
        for line in needed.lines
    ]
    lines += [
        {
            "fixed": True,
            "item": row.item.pk,
            "length_um": row.size.length,
            "width_um": row.size.width,
            "wanted_for": row.wanted_for,
            "count": row.count,
            "rotate": row.rotate,
        }
        for row in by_hand
    ]
    return lines + [{"rotate": True}] * SPARE_LINES


class MachineChoice(forms.ModelChoiceField):
    """A machine by name and kind."""

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.name} ({obj.get_kind_display()})"


class MachinesForm(forms.Form):
    """What sheets are cut on, and what bars and pipe."""

    flat = MachineChoice(
        CuttingMachine.objects.none(),
        label=gettext_lazy("Sheets on"),
        required=False,
        empty_label=gettext_lazy("the usual machine that cuts it"),
    )
    long = MachineChoice(
        CuttingMachine.objects.none(),
        label=gettext_lazy("Bars and pipe on"),
        required=False,
        empty_label=gettext_lazy("the usual machine that cuts it"),
    )

    def __init__(self, *args: Any, campus: Campus, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 - for types
            field.queryset = CuttingMachine.objects.filter(campus=campus).working()

    @property
    def picked(self) -> Machines:
        return Machines(self.cleaned_data["flat"], self.cleaned_data["long"])


class CutWhatIfForm(forms.Form):
    """Changes to one part of a plan that are looked at side by side and never stored."""

    sheet = forms.CharField(
        label=gettext_lazy("Another size to be had"), required=False, max_length=80
    )
    sheet_price = price_field(gettext_lazy("Price of one"))
    blank = forms.ChoiceField(label=gettext_lazy("Blanks bought cut"), required=False)
    blank_price = price_field(gettext_lazy("Price of each blank"))
    kerf = MeasureFormField(
        "length", label=gettext_lazy("A cut takes"), required=False, low=0, high=1
    )
    machine = MachineChoice(
        CuttingMachine.objects.none(),
        label=gettext_lazy("Cut on machine"),
        required=False,
        empty_label="–",
    )

    def __init__(
        self,
        *args: Any,
        item: StockItem,
        blanks: Sequence[tuple[str, str]],
        machines: Sequence[CuttingMachine],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.flat = is_flat(item)
        field = self.fields["blank"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 - for types
        field.choices = [("", "–"), *blanks]
        self.fields["sheet"].widget.attrs["placeholder"] = "60 × 120 in" if self.flat else "20 ft"
        machine = self.fields["machine"]
        assert isinstance(machine, forms.ModelChoiceField)  # noqa: S101 - for types
        machine.queryset = CuttingMachine.objects.filter(pk__in=[one.pk for one in machines])

    def clean_sheet(self) -> Size | None:
        text = self.cleaned_data["sheet"]
        if not text.strip():
            return None
        try:
            return read_piece(text, flat=self.flat)
        except UnitError as error:
            raise ValidationError(translated(error), code="unit") from error

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        for what, price in (("sheet", "sheet_price"), ("blank", "blank_price")):
            if self.has_error(what) or self.has_error(price):
                continue
            if found.get(what) and found.get(price) is None:
                self.add_error(price, _("Write what one costs, such as 84.50."))
            elif found.get(price) is not None and not found.get(what):
                self.add_error(what, _("Say what it is the price of."))
        return found


def lines_word(count: int) -> str:
    """Say how many lines have something to put right."""
    return ngettext(
        "One line has something to put right; it stands beside it.",
        "%(n)d lines have something to put right; it stands beside them.",
        count,
    ) % {"n": count}
