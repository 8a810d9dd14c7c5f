"""The instructor's readings of one coupon, and the words that go with a verdict."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from curriculum.core import spec
from curriculum.services.sheet import said
from grading.core import taken
from grading.core.marks import as_stamped
from grading.core.verdict import Reading as Taken
from grading.models import Decision, Reading, Verdict
from grading.services.attempts import Said
from shared.fields import translated
from shared.units import UnitError, parse_measure

TYPED = 40  # as the column
PK_DIGITS = 19  # of the largest one


class GradeForm(forms.Form):
    """Field `c<pk>` for each criterion, of a bend also `c<pk>_corner` and `c<pk>_flaw`.

    No field is required. A text that is what the stored reading shows keeps that reading, so that
    a figure in another unit is not rounded by looking at it.
    """

    def __init__(
        self,
        *args: Any,
        criteria: Mapping[int, spec.Criterion],
        standing: Mapping[int, Reading],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.criteria, self.standing = criteria, standing
        self.readings: dict[int, Said | None] = {}
        for pk, one in criteria.items():
            row = standing.get(pk)
            self._add(pk, one, "", _shown(one, row))
            if one.kind == "bend":
                detail = row.detail if row else {}
                corner = detail.get("corner")
                text = taken.figure(one, float(corner)) if corner else ""
                self._add(pk, one, "_corner", text)
                self.fields[f"c{pk}_flaw"] = forms.BooleanField(
                    label=_("slag or no fusion seen in the corner"),
                    required=False,
                    initial=bool(detail.get("corner_flaw")),
                )

    def _add(self, pk: int, one: spec.Criterion, part: str, text: str) -> None:
        field = forms.CharField(
            label=one.name, max_length=TYPED, required=False, initial=text, strip=True
        )
        self.fields[f"c{pk}{part}"] = field

    def text(self, name: str) -> str:
        """Return what stands in a field."""
        return str(self[name].value() or "")

    def clean(self) -> dict[str, Any]:
        """Read every criterion; a refused text stays in its field and leaves the others read."""
        cleaned = super().clean() or {}
        for pk, one in self.criteria.items():
            text = str(cleaned.get(f"c{pk}") or "")
            row = self.standing.get(pk)
            try:
                if one.kind == "bend":
                    self.readings[pk] = self._bend(pk, one, text, cleaned)
                elif row is not None and text == _shown(one, row):
                    self.readings[pk] = Said(taken=row.taken, typed=row.typed)
                else:
                    self.readings[pk] = read_said(one, text)
            except (UnitError, taken.ReadingRefused) as error:
                self.add_error(f"c{pk}", refusal(error))
        return cleaned

    def _bend(
        self, pk: int, one: spec.Criterion, text: str, cleaned: Mapping[str, Any]
    ) -> Said | None:
        corner, flaw = str(cleaned.get(f"c{pk}_corner") or ""), bool(cleaned.get(f"c{pk}_flaw"))
        if not text and not corner and not flaw:
            return None
        detail: dict[str, Any] = {"openings": taken.openings(one, text)}
        if corner:
            try:
                value = parse_measure(corner, "length", bare_unit=taken.unit_of(one)).value
            except UnitError as error:
                self.add_error(f"c{pk}_corner", refusal(error))
                return None
            detail["corner"] = value
        if flaw:
            detail["corner_flaw"] = True
        row = self.standing.get(pk)
        if row is not None and (text, corner) == (_shown(one, row), _corner(one, row)):
            detail = {**row.detail, "corner_flaw": flaw} if flaw else dict(row.detail)
            if not flaw:
                detail.pop("corner_flaw", None)
        return Said(taken=Taken(detail=detail), typed=text[:TYPED])

    def stated(self) -> dict[int, Taken]:
        """Return the readings to reckon with: those in the form, before it is sent those stored."""
        if not self.is_bound:
            return {pk: row.taken for pk, row in self.standing.items()}
        self.is_valid()
        return {pk: said.taken for pk, said in self.readings.items() if said is not None}


def read_said(one: spec.Criterion, text: str) -> Said | None:
    """Return a typed reading with its text, None for nothing; raises as `taken.read`."""
    if not text:
        return None
    reading = taken.read(one, text)
    unit = taken.unit_of(one)
    typed = f"{text} {unit}" if unit and text[-1:].isdigit() else text
    return Said(taken=reading, typed=typed[:TYPED])


def refusal(error: UnitError | taken.ReadingRefused) -> str:
    """Return what a refused text should have been, in the reader's language."""
    return translated(error) if isinstance(error, UnitError) else said(error.sentence)


def _shown(one: spec.Criterion, row: Reading | None) -> str:
    return "" if row is None else taken.write(one, row.value, row.passed, row.detail)


def _corner(one: spec.Criterion, row: Reading) -> str:
    corner = row.detail.get("corner")
    return taken.figure(one, float(corner)) if corner else ""


class VerdictForm(forms.Form):
    """What is done with the readings: kept, confirmed, or another verdict with a reason."""

    KEEP, CONFIRM = "keep", "confirm"
    act = forms.ChoiceField(
        choices=[(KEEP, KEEP), (CONFIRM, CONFIRM), *Verdict.Kind.choices[:2]], required=True
    )
    reason = forms.CharField(label=_("Reason"), max_length=300, required=False)


class VoidForm(forms.Form):
    reason = forms.CharField(
        label=_("Reason"),
        max_length=300,
        error_messages={
            "required": _("Say why it is void, such as: the gas ran out, wrong rod, machine fault.")
        },
    )


class MarkForm(forms.Form):
    """A coupon's mark as stamped; case and spaces do not matter."""

    mark = forms.CharField(label=_("Mark"), max_length=16)

    def clean_mark(self) -> str:
        return as_stamped(str(self.cleaned_data["mark"]))


def is_pk(text: str) -> bool:
    """Return whether a text can be a row's number, in what a database holds."""
    return text.isascii() and text.isdigit() and len(text) < PK_DIGITS


class TaskForm(forms.Form):
    """An exercise's pk, ":" and the key of its setup."""

    task = forms.CharField(label=_("Exercise"))

    def clean_task(self) -> tuple[int, str]:
        exercise, _colon, key = str(self.cleaned_data["task"]).partition(":")
        if not is_pk(exercise) or not key:
            raise forms.ValidationError(_("Choose an exercise of the plan."))
        return int(exercise), key


class DecisionForm(TaskForm):
    """A setup counted as done, or that taken back."""

    kind = forms.ChoiceField(label=_("Decision"), choices=Decision.Kind.choices)
    reason = forms.CharField(
        label=_("Reason"),
        max_length=300,
        error_messages={"required": _("Say why; it stands in the student's record.")},
    )


class LookForm(forms.Form):
    note = forms.CharField(label=_("Note"), max_length=300, required=False)
