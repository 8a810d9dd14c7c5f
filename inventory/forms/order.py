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


class WhatIfForm(forms.Form):
    """A change to the forecast that is looked at and never stored."""

    students = forms.IntegerField(
        label=_("students more or fewer, each class"),
        required=False,
        min_value=-30,
        max_value=30,
    )
    dearer = forms.DecimalField(
        label=_("filler dearer by"),
        required=False,
        min_value=Decimal(-50),
        max_value=Decimal(200),
        decimal_places=1,
        max_digits=5,
    )
    lost = forms.IntegerField(
        label=_("next sessions lost"), required=False, min_value=0, max_value=20
    )

    @property
    def change(self) -> dict[str, Any]:
        """The change, as `what_if` takes it; empty where nothing is asked."""
        if not self.is_valid():
            return {}
        found = {name: value for name, value in self.cleaned_data.items() if value}
        return found
