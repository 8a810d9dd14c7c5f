"""A paper day sheet keyed next morning: one line a coupon, all of them in one form."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.core import spec
from grading.core import taken
from grading.core.marks import as_stamped
from grading.forms.grade import read_said, refusal
from grading.models import Attempt, Verdict
from grading.services.attempts import Said
from shared.units import UnitError

UNITS = frozenset({"in", "mm", "deg", "%", "s", "°"})
NOT_READ = frozenset({"-", "–", "?", "."})
LINES_MAX = 60


class LineForm(forms.Form):
    """One line of the sheet; empty but for its mark it says nothing and is passed over."""

    mark = forms.CharField(label=gettext_lazy("Mark"), max_length=16, required=False)
    current = Attempt.used_current.formfield(
        label=gettext_lazy("Current"), bare_unit="A", required=False
    )
    rods = forms.FloatField(
        label=gettext_lazy("Rods"), min_value=0, max_value=1_000, required=False
    )
    readings = forms.CharField(label=gettext_lazy("Readings"), max_length=300, required=False)
    verdict = forms.ChoiceField(
        label=gettext_lazy("Verdict"),
        required=False,
        choices=[("", gettext_lazy("by readings")), *Verdict.Kind.choices],
    )
    reason = forms.CharField(label=gettext_lazy("Reason"), max_length=300, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            field.widget.attrs |= {"autocomplete": "off", "aria-label": field.label}
            if name in ("mark", "readings"):
                field.widget.attrs["spellcheck"] = "false"
        self.fields["mark"].widget.attrs["autocapitalize"] = "characters"
        self.fields["rods"].widget = forms.TextInput(
            attrs={**self.fields["rods"].widget.attrs, "inputmode": "decimal"}
        )
        self.said: dict[int, Said] = {}

    def clean_mark(self) -> str:
        return as_stamped(str(self.cleaned_data.get("mark") or ""))

    @property
    def says_nothing(self) -> bool:
        """Whether only the mark, which may be there from the start, is filled in."""
        names = ("current", "rods", "readings", "verdict", "reason")
        return not any(str(self[name].value() or "").strip() for name in names)

    def read(self, criteria: Mapping[int, spec.Criterion]) -> bool:
        """Read the readings in the rubric's order; False with an error where one is refused."""
        text = str(self.cleaned_data.get("readings") or "")
        parts = split(text)
        if len(parts) > len(criteria):
            words = {"n": len(criteria), "got": len(parts)}
            self.add_error(
                "readings",
                _("There are %(got)d readings, the rubric has %(n)d: part them by blanks.") % words,
            )
            return False
        for (pk, one), part in zip(criteria.items(), parts, strict=False):
            if part in NOT_READ:
                continue
            try:
                reading = read_said(one, part)
            except (UnitError, taken.ReadingRefused) as error:
                self.add_error("readings", f"{one.name}: {refusal(error)}")
                return False
            if reading is not None:
                self.said[pk] = reading
        return True


def split(text: str) -> list[str]:
    """Part readings by blanks or semicolons; a unit stays with its figure, commas at the end go.

    >>> split("3/8 11/32 in; 0, y")
    ['3/8', '11/32 in', '0', 'y']
    """
    parts: list[str] = []
    for part in re.split(r"[;\s]+", text.strip()):
        part = part.rstrip(",")
        if not part:
            continue
        if part in UNITS and parts:
            parts[-1] = f"{parts[-1]} {part}"
        else:
            parts.append(part)
    return parts
