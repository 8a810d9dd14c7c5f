"""Writing a requisition, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from inventory.models import MONEY_SCALE, Pack, Requisition, RequisitionLine
from inventory.services.requisitions import PACKS_MAX, packs_on_offer
from shared.people.models import Campus

PRICE_MAX = Decimal(10**9)
_WHOLE_FROM = _("Write a whole number from {low} to 100000.")


def _packs_field(label: Any, *, low: int, required: bool) -> forms.IntegerField:
    words = format_lazy(_WHOLE_FROM, low=low)
    wrong = dict.fromkeys(("required", "invalid", "min_value", "max_value"), words)
    return forms.IntegerField(
        label=label,
        required=required,
        min_value=low,
        max_value=PACKS_MAX,
        error_messages=wrong,
    )


class PackChoice(forms.ModelChoiceField):
    """A pack with its item before it."""

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.item.name}: {obj.name}"


def _packs(campus: Campus) -> Any:
    return (
        Pack.objects.filter(packs_on_offer(campus))
        .select_related("item", "supplier")
        .order_by("item__kind", "item__name", "-preferred", "name")
    )


class RequisitionForm(forms.ModelForm):
    """Account and note of a draft, and one more pack to add to it."""

    add_pack = PackChoice(Pack.objects.none(), label=_("Add a pack"), required=False)
    add_packs = _packs_field(_("How many of it"), low=1, required=False)

    class Meta:
        model = Requisition
        fields = ["account", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, campus: Campus, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["add_pack"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 - for the type checker
        field.queryset = _packs(campus)
        field.empty_label = _("nothing more")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        pack, packs = cleaned.get("add_pack"), cleaned.get("add_packs")
        if pack and not packs and "add_packs" not in self.errors:
            self.add_error("add_packs", _t("Say how many packs of it: a whole number from 1."))
        if packs and not pack:
            self.add_error("add_pack", _t("Choose what to add, or leave the number empty."))
        return cleaned


class LineForm(forms.ModelForm):
    """One line of a draft: packs, the price of one, the day it is expected; or taken out."""

    price = forms.DecimalField(
        label=_("price of a pack"),
        min_value=0,
        max_value=PRICE_MAX,
        decimal_places=4,
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value", "max_decimal_places"),
            _("Write an amount such as 38.40, with at most four decimals."),
        ),
    )
    remove = forms.BooleanField(label=_("take out"), required=False)

    class Meta:
        model = RequisitionLine
        fields = ["packs", "expected"]
        widgets = {"expected": forms.DateInput(attrs={"type": "date"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        price = self.instance.price
        self.fields["expected"].error_messages["invalid"] = _("Write a date such as 2026-09-24.")
        self.initial["price"] = f"{price:.2f}" if price == round(price, 2) else f"{price:f}"
        self.fields["packs"] = _packs_field(_("packs"), low=1, required=True)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("price") is not None:
            self.instance.price_e4 = int(cleaned["price"] * MONEY_SCALE)
        return cleaned


def line_forms(lines: Sequence[RequisitionLine], data: Any = None) -> list[LineForm]:
    """Return a form for each line of a draft."""
    return [LineForm(data, instance=line, prefix=f"line-{line.pk}") for line in lines]


class DeliveryForm(forms.Form):
    """On which day a delivery came."""

    received_on = forms.DateField(
        label=_("Received on"),
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages=dict.fromkeys(
            ("required", "invalid"), _("Write the day it came, such as 2026-09-24.")
        ),
    )

    def __init__(self, *args: Any, today: Any, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {"received_on": today})
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_received_on(self) -> Any:
        day = self.cleaned_data["received_on"]
        if day > self.today:
            raise forms.ValidationError(_t("This day has not come yet: write today or before."))
        return day


class ReceiptForm(forms.Form):
    """What a delivery brought of one line; empty: nothing."""

    right = _packs_field(_("came, kept"), low=0, required=False)
    wrong = _packs_field(_("wrong, sent back"), low=0, required=False)
    instead = PackChoice(Pack.objects.none(), label=_("kept instead"), required=False)
    note = forms.CharField(label=_("note"), required=False, max_length=200)

    def __init__(
        self, *args: Any, line: RequisitionLine, substitutes: Sequence[Pack], **kwargs: Any
    ) -> None:
        kwargs["prefix"] = f"line-{line.pk}"
        super().__init__(*args, **kwargs)
        self.line = line
        field = self.fields["instead"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 - for the type checker
        same = [one for one in substitutes if one.item.kind == line.item.kind and one != line.pack]
        field.queryset = Pack.objects.filter(pk__in=[one.pk for one in same])
        field.choices = [("", _t("as ordered")), *((one.pk, _label(one)) for one in same)]
        if not same:
            del self.fields["instead"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("instead") and not cleaned.get("right") and "right" not in self.errors:
            self.add_error("right", _t("Say how many packs were kept: a whole number from 1."))
        return cleaned

    @property
    def is_filled(self) -> bool:
        return bool(self.cleaned_data.get("right") or self.cleaned_data.get("wrong"))


def _label(pack: Pack) -> str:
    return f"{pack.item.name}: {pack.name}"


def receipt_forms(
    lines: Sequence[RequisitionLine], campus: Campus, data: Any = None
) -> list[ReceiptForm]:
    """Return a form for each line of an order, with the packs that could come instead."""
    substitutes = list(_packs(campus))
    return [ReceiptForm(data, line=line, substitutes=substitutes) for line in lines]


class ReverseForm(forms.Form):
    """Why a receipt is taken back."""

    reason = forms.CharField(
        label=_("why"),
        max_length=200,
        error_messages={"required": _("Say why it is taken back.")},
    )


class RequisitionFilter(forms.Form):
    """Which requisitions to list."""

    state = forms.ChoiceField(
        label=_("State"),
        required=False,
        choices=[("", _("all")), *Requisition.State.choices],
        widget=forms.Select(attrs={"data-go": ""}),
    )
