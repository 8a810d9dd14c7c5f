"""Pieces by size: what came, what goes, and how many of each size lie there."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.core.base_units import Scale
from inventory.core.sizes import Size, read_piece, size_text
from inventory.forms.fields import such_as
from inventory.forms.moves import MoveForm, reason_field
from inventory.models import SizedStock, StockItem
from inventory.models.ledger import PIECES_MAX
from inventory.services.pieces import kinds_for
from inventory.services.size_rows import is_flat, size_of
from shared.fields import translated
from shared.units import UnitError

MOST = 10_000  # pieces at once
Form = SizedStock.Form


class SizeField(forms.CharField):
    """Text that cleans to a size: "6 × 8 in" of sheet, "8 in" of bar and pipe."""

    def __init__(self, item: StockItem, **kwargs: Any) -> None:
        self.flat = is_flat(item)
        examples = ("6 × 8 in", "48 × 96 in", "150 × 200 mm") if self.flat else ("8 in", "20 ft")
        super().__init__(max_length=80, help_text=such_as(examples), **kwargs)

    def to_python(self, value: Any) -> Any:
        """Return a Size, None for an empty field."""
        text = super().to_python(value)
        if not text:
            return None
        try:
            return read_piece(text, flat=self.flat)
        except UnitError as error:
            raise forms.ValidationError(translated(error), code="unit") from error

    def run_validators(self, value: Any) -> None:
        """The length was held against the text already, by the reader."""


class ReceivePiecesForm(MoveForm):
    """Pieces that came without a requisition: donated offcuts, blanks bought cut, a remnant."""

    form = forms.ChoiceField(
        label=gettext_lazy("What it is"),
        choices=[
            (Form.REMNANT, gettext_lazy("remnant or offcut: to be cut up")),
            (Form.BLANK, gettext_lazy("blank: ready to hand out")),
            (Form.FULL, gettext_lazy("full sheet or bar")),
        ],
    )
    pieces = forms.IntegerField(
        label=gettext_lazy("Pieces"), min_value=1, max_value=MOST, initial=1
    )
    label = forms.CharField(
        label=gettext_lazy("Mark on it"),
        max_length=60,
        required=False,
        help_text=gettext_lazy("So that it is found again, such as R12, donated."),
    )

    def __init__(self, *args: Any, item: StockItem, scale: Scale, **kwargs: Any) -> None:
        super().__init__(*args, item=item, scale=scale, **kwargs)
        self.fields["size"] = SizeField(item, label=_("Size of one"))
        self.order_fields(["form", "size", "pieces", "label", "on", "reason"])


class MovePiecesForm(MoveForm):
    """Pieces of one size that are handed out, thrown away, or put with the item they are of."""

    HAND_OUT, THROW_AWAY, REGRADE = "hand out", "throw away", "regrade"
    pieces = forms.IntegerField(
        label=gettext_lazy("Pieces"), min_value=1, max_value=MOST, initial=1
    )

    def __init__(self, *args: Any, row: SizedStock, scale: Scale, **kwargs: Any) -> None:
        super().__init__(*args, item=row.item, scale=scale, **kwargs)
        self.row = row
        unknown = row.item.quarantined
        self.kinds = kinds_for(row.item) if unknown else []
        acts = [] if unknown else [(self.HAND_OUT, _("hand out"))]
        if self.kinds:
            acts.append((self.REGRADE, _("grade checked: put with its kind")))
        acts.append((self.THROW_AWAY, _("throw away")))
        self.fields["act"] = forms.ChoiceField(
            label=_("What is done"), choices=acts, widget=forms.RadioSelect, initial=acts[0][0]
        )
        if self.kinds:
            self.fields["into"] = forms.ModelChoiceField(
                label=_("It is"),
                queryset=StockItem.objects.filter(pk__in=[one.pk for one in self.kinds]),
                required=False,
                help_text=_("As somebody found it who can: write below who, and how."),
            )
        self.order_fields(["act", "pieces", "into", "on", "reason"])

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        act = found.get("act")
        if act == self.THROW_AWAY and not found.get("reason"):
            self.add_error("reason", _("Write why it is thrown away, such as bent, rusted."))
        if act == self.REGRADE:
            if not found.get("into") and not self.has_error("into"):
                self.add_error("into", _("Pick what it was found to be."))
            if not found.get("reason"):
                self.add_error("reason", _("Write who checked the grade, and how."))
        return found


class CountPiecesForm(forms.Form):
    """How many of each size lie there; sizes that are not in the book yet are added below."""

    NEW = 3
    reason = reason_field()
    all_told = forms.BooleanField(
        label=gettext_lazy("Nothing else of it lies there"),
        required=False,
        help_text=gettext_lazy("What the book holds beyond these sizes then goes."),
    )

    def __init__(
        self, *args: Any, item: StockItem, rows: Sequence[SizedStock], units: str, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.rows = rows
        for row in rows:
            label = _("Counted: %(size)s") % {"size": size_text(size_of(row), units)}
            self.fields[f"found-{row.pk}"] = forms.IntegerField(
                label=label,
                min_value=0,
                max_value=PIECES_MAX,
                required=False,
                widget=forms.NumberInput(attrs={"aria-label": label}),
            )
        for n in range(self.NEW):
            self.fields[f"form-{n}"] = forms.ChoiceField(
                label=_("What it is"),
                choices=Form.choices,
                required=False,
                initial=Form.REMNANT,
            )
            self.fields[f"size-{n}"] = SizeField(item, label=_("Size of one"), required=False)
            self.fields[f"label-{n}"] = forms.CharField(
                label=_("Mark on it"), max_length=60, required=False
            )
            self.fields[f"pieces-{n}"] = forms.IntegerField(
                label=_("Pieces"), min_value=1, max_value=MOST, required=False
            )

    @property
    def lines(self) -> list[tuple[SizedStock, Any]]:
        return [(row, self[f"found-{row.pk}"]) for row in self.rows]

    @property
    def new_lines(self) -> list[list[Any]]:
        names = ("form", "size", "label", "pieces")
        return [[self[f"{name}-{n}"] for name in names] for n in range(self.NEW)]

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        for n in range(self.NEW):
            size, pieces = found.get(f"size-{n}"), found.get(f"pieces-{n}")
            if size and pieces is None and not self.has_error(f"pieces-{n}"):
                self.add_error(f"pieces-{n}", _("Write how many of that size lie there."))
            if pieces and size is None and not self.has_error(f"size-{n}"):
                self.add_error(f"size-{n}", _("Write the size of one."))
        if not self.errors and not (self.counted or self.added or found.get("all_told")):
            self.add_error(None, _("Nothing is written: count at least one size."))
        return found

    @property
    def counted(self) -> dict[SizedStock, int]:
        """What was found of sizes in the book."""
        found = {row: self.cleaned_data.get(f"found-{row.pk}") for row in self.rows}
        return {row: count for row, count in found.items() if count is not None}

    @property
    def added(self) -> list[tuple[str, Size, str, int]]:
        """Form, size, mark and pieces of what was not in the book."""
        rows = []
        for n in range(self.NEW):
            size, pieces = (self.cleaned_data.get(f"{name}-{n}") for name in ("size", "pieces"))
            if size and pieces:
                form = self.cleaned_data.get(f"form-{n}") or Form.REMNANT
                label = self.cleaned_data.get(f"label-{n}") or ""
                rows.append((form, size, label, pieces))
        return rows
