"""What really came off when a plan was cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField
from django.utils.translation import gettext as _

from inventory.core.cutting import Plan
from inventory.core.cutting.worklist import marks_of, size_of
from inventory.core.sizes import Size, of_metres, read_piece, size_text
from inventory.forms.cutting import day_field, pieces_field
from inventory.models import CutPart
from inventory.services.cut_booking import CameOff
from inventory.services.cutplans import problem_of
from inventory.services.size_rows import is_flat
from inventory.services.sized import Made
from shared.fields import translated
from shared.units import UnitError

SPARE = 2  # lines for remnants that the plan does not know of
LABEL_LENGTH = 60


class CutDoneForm(forms.Form):
    """Sheets cut up, blanks and remnants that came off, as planned where nothing is changed."""

    def __init__(
        self,
        *args: Any,
        part: CutPart,
        plan: Plan,
        names: Mapping[str, str],
        units: str,
        **more: Any,
    ) -> None:
        super().__init__(*args, **more)
        self.part, self.units = part, units
        self.today: date = part.item.campus.today()
        self.pieces = list(part.pieces.all())
        planned: Counter[str] = Counter()
        made: Counter[str] = Counter()
        kept: Counter[Size] = Counter()
        named: dict[Size, str] = {}
        marks = marks_of(problem_of(part), plan)
        for layout in plan.layouts:
            planned[layout.stock] += layout.count
            for blank in layout.blanks:
                made[blank.piece or ""] += layout.count
            for rest in layout.remnants:
                size = of_metres(rest.length, rest.width)
                kept[size] += layout.count
                named[size] = _("Size of %(mark)s") % {"mark": marks.remnants[size_of(rest)]}
        self.stock = [row["id"] for row in part.problem["stock"]]
        self.stock.sort(key=lambda stock: stock not in planned)
        self.planned = frozenset(planned)
        for n, stock in enumerate(self.stock):
            self.fields[f"used-{n}"] = pieces_field(names.get(stock, stock), initial=planned[stock])
        for place, piece in enumerate(self.pieces, start=1):
            label = size_text(Size(piece.length_um, piece.width_um), units)
            if mark := marks.pieces.get(str(place)):
                label = f"{mark}, {label}"
            self.fields[f"blank-{piece.pk}"] = pieces_field(label, initial=made[str(place)])
            if piece.wanted_for:
                self.fields[f"blank-{piece.pk}"].help_text = _("for exercise %(numbers)s") % {
                    "numbers": piece.wanted_for
                }
        self.rests = range(len(kept) + SPARE)
        sizes = [*kept.items()]
        for n in self.rests:
            left, count = sizes[n] if n < len(sizes) else (None, None)
            self.fields[f"rest-{n}-size"] = forms.CharField(
                label=named[left] if left else _("Size"),
                required=False,
                max_length=80,
                initial=size_text(left, units) if left else "",
            )
            self.fields[f"rest-{n}-count"] = pieces_field(
                _("How many"), required=False, initial=count
            )
            self.fields[f"rest-{n}-label"] = forms.CharField(
                label=_("Mark on it"), required=False, max_length=LABEL_LENGTH
            )
        self.kept = sizes
        self.fields["on"] = day_field(_("Cut on"))
        self.initial.setdefault("on", self.today)

    def clean_on(self) -> date:
        on: date = self.cleaned_data["on"]
        if on > self.today:
            raise ValidationError(
                _("That day is still to come; write today, %(today)s, or a day before."),
                params={"today": self.today.isoformat()},
            )
        return on

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        remnants = []
        for n in self.rests:
            text, count = found.get(f"rest-{n}-size", ""), found.get(f"rest-{n}-count")
            if not text and not count and not found.get(f"rest-{n}-label"):
                continue
            if not text:
                self.add_error(f"rest-{n}-size", _("Write its size, such as 12 × 24 in."))
                continue
            if count is None and not self.has_error(f"rest-{n}-count"):
                self.add_error(f"rest-{n}-count", _("Write how many; 0 if none was kept."))
                continue
            if not count:
                continue
            if (size := self._size(n, text)) is not None:
                label = found.get(f"rest-{n}-label", "")
                remnants.append(Made(size.length, size.width, label, count))
        found["remnants"] = remnants
        if not self.errors and not any(found[f"used-{n}"] for n in range(len(self.stock))):
            raise ValidationError(_("Nothing was cut up; write how many sheets or bars were."))
        return found

    def _size(self, n: int, text: str) -> Size | None:
        if n < len(self.kept) and text == self.fields[f"rest-{n}-size"].initial:
            return self.kept[n][0]  # as planned, to the micrometre
        try:
            return read_piece(text, flat=is_flat(self.part.item))
        except UnitError as error:
            self.add_error(f"rest-{n}-size", translated(error))
            return None

    @property
    def came(self) -> CameOff:
        """What was entered, as `book_part` takes it."""
        given = self.cleaned_data
        return CameOff(
            used={stock: given[f"used-{n}"] for n, stock in enumerate(self.stock)},
            blanks={piece.pk: given[f"blank-{piece.pk}"] for piece in self.pieces},
            remnants=given["remnants"],
        )

    @property
    def used_fields(self) -> list[BoundField]:
        """The stock that the plan uses."""
        return [self[f"used-{n}"] for n, stock in enumerate(self.stock) if stock in self.planned]

    @property
    def other_fields(self) -> list[BoundField]:
        """Stock of the same material that was used instead, or as well."""
        return [
            self[f"used-{n}"] for n, stock in enumerate(self.stock) if stock not in self.planned
        ]

    @property
    def blank_rows(self) -> list[tuple[Any, BoundField]]:
        return [(piece, self[f"blank-{piece.pk}"]) for piece in self.pieces]

    @property
    def rest_rows(self) -> list[list[BoundField]]:
        return [
            [self[f"rest-{n}-{name}"] for name in ("size", "count", "label")] for n in self.rests
        ]
