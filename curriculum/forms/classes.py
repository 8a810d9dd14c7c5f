"""Forms about classes: the class itself, who is in it, when and where it meets."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from curriculum.core import spec
from curriculum.forms.machines import machine_forms
from curriculum.models import Booth, BoothMachine, Closure, Enrolment, Session, ShopClass
from curriculum.services.classes import instructors_of
from shared.people.models import Campus, User

WEEKDAYS = [
    (0, _("Monday")),
    (1, _("Tuesday")),
    (2, _("Wednesday")),
    (3, _("Thursday")),
    (4, _("Friday")),
    (5, _("Saturday")),
    (6, _("Sunday")),
]


class DateInput(forms.DateInput):
    """A date with the browser's own picker, which speaks ISO 8601."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class TimeInput(forms.TimeInput):
    """A time with the browser's own picker."""

    input_type = "time"

    def __init__(self) -> None:
        super().__init__(format="%H:%M")


class ClassForm(forms.ModelForm):
    """A class: its name, its days, and how it repeats and moves on."""

    class Meta:
        model = ShopClass
        fields = [
            "name",
            "starts",
            "ends",
            "pace",
            "attempt_cap",
            "redo_odds",
            "opinion_weight",
            "attendance",
        ]
        widgets = {"starts": DateInput(), "ends": DateInput()}
        help_texts = {
            "name": _("As people say it, such as “Evening welding, spring”."),
            "attempt_cap": _("After this many coupons the instructor may move a student on."),
            "redo_odds": _("1.5: the odds of passing grow by half with every redo."),
            "opinion_weight": _("8: the library's chance counts as much as 8 judged coupons."),
            "attendance": _("0.9: nine of ten are there."),
        }

    def __init__(self, *args: Any, campus: Campus, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.campus = campus

    def clean_name(self) -> str:
        """Refuse a name that another class of the campus has."""
        name = " ".join(str(self.cleaned_data["name"]).split())
        others = ShopClass.objects.filter(campus=self.instance.campus, name=name)
        if others.exclude(pk=self.instance.pk).exists():
            raise ValidationError(_("Another class here has this name. Add the term to it."))
        return name


class TeachingForm(forms.Form):
    """Who teaches a class."""

    instructors = forms.ModelMultipleChoiceField(
        label=_("Instructors"),
        queryset=User.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, shop_class: ShopClass, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast(forms.ModelMultipleChoiceField, self.fields["instructors"])
        field.queryset = instructors_of(shop_class.campus)


class RosterForm(forms.Form):
    """A roster, as a file or pasted."""

    file = forms.FileField(
        label=_("File"), required=False, help_text=_("CSV, as a spreadsheet saves it.")
    )
    text = forms.CharField(
        label=_("or its text"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}),
        help_text=_("Paste the table with its first line; commas, semicolons or tabs between."),
    )
    whole = forms.BooleanField(
        label=_("The file names everybody"),
        required=False,
        help_text=_("Who is not in it is marked as left today; nobody is removed."),
    )

    def clean(self) -> dict[str, Any]:
        """Ask for one of the two."""
        cleaned: dict[str, Any] = super().clean() or {}
        if not cleaned.get("file") and not str(cleaned.get("text") or "").strip():
            self.add_error("file", _("Choose a file, or paste its text below."))
        return cleaned

    def data_given(self) -> bytes:
        """Return what was given, as bytes; the file counts where both are there."""
        file = self.cleaned_data.get("file")
        if file:
            return bytes(file.read())
        return str(self.cleaned_data["text"]).encode()


class EnrolmentForm(forms.ModelForm):
    """What is known of a student in a class; the letters stay, coupons carry them."""

    class Meta:
        model = Enrolment
        fields = ["group", "joined", "left", "attendance"]
        widgets = {"joined": DateInput(), "left": DateInput()}
        help_texts = {
            "left": _("Empty while the student is here. Results stay."),
            "attendance": _("0 to 1, such as 0.75; empty: as the class."),
        }

    def clean(self) -> dict[str, Any]:
        """Refuse to leave before joining, and a share outside 0 to 1."""
        cleaned: dict[str, Any] = super().clean() or {}
        joined, left = cleaned.get("joined"), cleaned.get("left")
        if joined and left and left < joined:
            self.add_error("left", _("Nobody leaves before the first day."))
        share = cleaned.get("attendance")
        if share is not None and not 0 <= share <= 1:
            self.add_error("attendance", _("Enter a share from 0 to 1, such as 0.75."))
        return cleaned


class PatternForm(forms.Form):
    """A weekly pattern of sessions."""

    start = forms.DateField(label=_("From"), widget=DateInput())
    end = forms.DateField(label=_("To, with this day"), widget=DateInput())
    starts_at = forms.TimeField(label=_("Start"), widget=TimeInput())
    ends_at = forms.TimeField(label=_("End"), widget=TimeInput())
    net_minutes = forms.IntegerField(
        label=_("Minutes at the booth"),
        min_value=1,
        max_value=1_440,
        help_text=_("Without roll call, set-up, break, cool-down and clean-up."),
    )
    weekdays = forms.TypedMultipleChoiceField(
        label=_("Weekdays"), coerce=int, choices=WEEKDAYS, widget=forms.CheckboxSelectMultiple
    )


class SessionForm(forms.ModelForm):
    """One session by itself."""

    class Meta:
        model = Session
        fields = ["date", "start", "end", "net_minutes", "note"]
        widgets = {"date": DateInput(), "start": TimeInput(), "end": TimeInput()}

    def clean(self) -> dict[str, Any]:
        """Keep the minutes at the booth within the session."""
        cleaned: dict[str, Any] = super().clean() or {}
        start, end, net = (cleaned.get(name) for name in ("start", "end", "net_minutes"))
        if start and end and net is not None and end > start:
            long = (end.hour - start.hour) * 60 + end.minute - start.minute
            if not 0 < net <= long:
                message = _("The session is %(long)s minutes long: enter 1 to %(long)s.")
                self.add_error("net_minutes", ValidationError(message, params={"long": long}))
        return cleaned


class StateForm(forms.Form):
    """Whether a session takes place in the shop."""

    state = forms.ChoiceField(choices=Session.State.choices)
    note = forms.CharField(max_length=200, required=False)


class BoothForm(forms.ModelForm):
    """A booth, its place on the floor plan, what its machines can do, and their ratings."""

    processes = forms.MultipleChoiceField(
        label=_("Processes"),
        choices=[(one, one) for one in spec.PROCESSES],
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = Booth
        fields = ["name", "row", "column", "processes", "is_down", "note"]

    def __init__(self, data: Any = None, *, campus: Campus, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.instance.campus = campus
        self.machines = machine_forms(data, self.instance)
        for name in ("row", "column"):
            self.fields[name].widget.attrs.update(min=1, max=40)

    def clean(self) -> dict[str, Any]:
        """Refuse a name or a place that another booth has."""
        cleaned: dict[str, Any] = super().clean() or {}
        others = Booth.objects.filter(campus=self.instance.campus).exclude(pk=self.instance.pk)
        if others.filter(name=cleaned.get("name", "")).exists():
            self.add_error("name", _("Another booth here has this name."))
        place = {"row": cleaned.get("row"), "column": cleaned.get("column")}
        for name, value in place.items():
            if value is not None and not 1 <= value <= 40:
                self.add_error(name, _("The floor plan counts from 1 to 40."))
        if None not in place.values() and (other := others.filter(**place).first()):
            message = _("Booth %(name)s stands at this place of the plan.")
            self.add_error("column", ValidationError(message, params={"name": other.name}))
        for machine in self.machines:
            machine.full_clean()
            if machine.is_stated and machine.process not in cleaned.get("processes", ()):
                message = _("Tick %(process)s above, or empty its figures.")
                machine.add_error(
                    "rated_current", ValidationError(message, params={"process": machine.process})
                )
        if any(machine.errors for machine in self.machines):
            self.add_error(None, _("Put the figures of the machine right, below."))
        return cleaned

    @transaction.atomic
    def save(self, commit: bool = True) -> Booth:
        """Store the booth, and its machines in place of those it had."""
        booth: Booth = super().save(commit)
        booth.machines.all().delete()
        BoothMachine.objects.bulk_create(
            row for one in self.machines if (row := one.machine(booth))
        )
        return booth


class ClosureForm(forms.ModelForm):
    """A day, or some days in a row, on which a campus has no shop."""

    last = forms.DateField(
        label=_("To, with this day"),
        required=False,
        widget=DateInput(),
        help_text=_("Empty: one day."),
    )

    class Meta:
        model = Closure
        fields = ["date", "last", "label"]
        widgets = {"date": DateInput()}
        labels = {"date": _("Closed on, or from")}

    def clean(self) -> dict[str, Any]:
        """Keep the days in order and within a quarter of a year."""
        cleaned: dict[str, Any] = super().clean() or {}
        first, last = cleaned.get("date"), cleaned.get("last")
        if first and last and not 0 <= (last - first).days <= 100:
            self.add_error("last", _("The last day is the first or one of the 100 after it."))
        return cleaned
