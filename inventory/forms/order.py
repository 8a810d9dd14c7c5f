"""What the forecast pages take from their address: which classes, which item, and what if."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from curriculum.models import ShopClass


class ScopeForm(forms.Form):
    """Which of the classes the viewer may look at; empty: all of them together."""

    def __init__(self, *args: Any, classes: Sequence[ShopClass], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["class"] = forms.ModelChoiceField(
            ShopClass.objects.filter(pk__in=[row.pk for row in classes]),
            required=False,
            label=_("Class"),
            empty_label=_("All classes together"),
        )
        self.fields["class"].widget.attrs["data-go"] = ""


def _in_words(sentence: Any) -> dict[str, Any]:
    """Say what is accepted, whatever was wrong."""
    wrong = ("invalid", "min_value", "max_value", "max_digits", "max_decimal_places")
    return dict.fromkeys((*wrong, "max_whole_digits"), sentence)


class WhatIfForm(forms.Form):
    """A change to the forecast that is looked at and never stored."""

    students = forms.IntegerField(
        label=_("students more or fewer, each class"),
        required=False,
        min_value=-30,
        max_value=30,
        error_messages=_in_words(_("Write a whole number from -30 to 30, such as 4 or -2.")),
    )
    dearer = forms.DecimalField(
        label=_("filler dearer by"),
        required=False,
        min_value=Decimal(-50),
        max_value=Decimal(200),
        decimal_places=1,
        max_digits=5,
        error_messages=_in_words(_("Write percent from -50 to 200, such as 12.5.")),
    )
    lost = forms.IntegerField(
        label=_("next sessions lost"),
        required=False,
        min_value=0,
        max_value=20,
        error_messages=_in_words(_("Write a whole number from 0 to 20, such as 1.")),
    )

    @property
    def change(self) -> dict[str, Any]:
        """The change, as `what_if` takes it; empty where nothing is asked."""
        if not self.is_valid():
            return {}
        found = {name: value for name, value in self.cleaned_data.items() if value}
        return found
