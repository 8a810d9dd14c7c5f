"""Forms of the term plan, of assigning, and of the taps in a session."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.utils.translation import gettext_lazy as _

from curriculum.models import Booth, ExerciseVersion, PlanEntry, Session, ShopClass
from curriculum.services.assign import OVERRIDES
from shared.people.models import User


class EntryForm(forms.Form):
    """Names one entry of a class's plan."""

    entry = forms.ModelChoiceField(queryset=PlanEntry.objects.none())

    def __init__(self, *args: Any, shop_class: ShopClass, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast(forms.ModelChoiceField, self.fields["entry"])
        field.queryset = shop_class.plan_entries.select_related("exercise", "shop_class__campus")


class MoveForm(EntryForm):
    """Up, down, or a place from 1."""

    to = forms.RegexField(r"^(up|down|[1-9]\d{0,3})$")

    def where(self) -> str | int:
        """Return "up", "down" or a place from 0."""
        to = str(self.cleaned_data["to"])
        return to if to in ("up", "down") else int(to) - 1


class TargetForm(EntryForm):
    """Earlier, later, a session, or none."""

    to = forms.ChoiceField(
        choices=[("earlier", _("earlier")), ("later", _("later"))], required=False
    )
    session = forms.ModelChoiceField(queryset=Session.objects.none(), required=False)
    place = forms.IntegerField(min_value=0, required=False)  # from a drop: 0 is the first session

    def __init__(self, *args: Any, shop_class: ShopClass, **kwargs: Any) -> None:
        super().__init__(*args, shop_class=shop_class, **kwargs)
        self.sessions = shop_class.sessions.all()
        cast(forms.ModelChoiceField, self.fields["session"]).queryset = self.sessions

    def clean(self) -> dict[str, Any]:
        """Turn a place into its session."""
        cleaned: dict[str, Any] = super().clean() or {}
        if (place := cleaned.get("place")) is not None:
            cleaned["session"] = self.sessions[place : place + 1].first()
            if cleaned["session"] is None:
                self.add_error("place", _("There is no such session."))
        return cleaned

    def where(self) -> str | Session | None:
        """Return "earlier", "later", the session, or None for no session."""
        session: Session | None = self.cleaned_data["session"]
        return str(self.cleaned_data["to"]) or session


class SetupsForm(EntryForm):
    """The setups an entry requires."""

    setups = forms.MultipleChoiceField(required=False)

    def __init__(self, *args: Any, keys: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.MultipleChoiceField, self.fields["setups"]).choices = [
            (key, key) for key in keys
        ]


class PlanSearch(forms.Form):
    """A search in the library for something to plan."""

    q = forms.CharField(
        label=_("Search the library"),
        max_length=100,
        required=False,
        widget=forms.TextInput(attrs={"type": "search"}),
    )


class AssignForm(forms.Form):
    """To whom which setups of an exercise are given."""

    TO = [("class", _("the whole class")), ("ticked", _("those ticked below"))]
    to = forms.ChoiceField(label=_("To"), widget=forms.RadioSelect)
    setups = forms.MultipleChoiceField(
        label=_("Setups"), choices=[], widget=forms.CheckboxSelectMultiple
    )
    session = forms.ModelChoiceField(
        label=_("For session"),
        queryset=Session.objects.none(),
        required=False,
        empty_label=_("any session"),
    )
    students = forms.ModelMultipleChoiceField(queryset=User.objects.none(), required=False)
    override = forms.ChoiceField(
        label=_("Those who still need something first"),
        required=False,
        choices=[("", _("are held back")), *OVERRIDES.items()],
    )

    def __init__(
        self,
        *args: Any,
        shop_class: ShopClass,
        version: ExerciseVersion,
        students: list[User],
        groups: list[str],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        fields = cast(dict[str, Any], self.fields)
        self.in_class = students
        fields["to"].choices = [
            self.TO[0],
            *((f"group:{name}", _("group %(name)s") % {"name": name}) for name in groups),
            self.TO[1],
        ]
        fields["setups"].choices = [(one.key, one.key) for one in version.setups.all()]
        fields["session"].queryset = shop_class.sessions.filter(
            state=Session.State.PLANNED, date__gte=shop_class.campus.today()
        )
        fields["students"].queryset = User.objects.filter(pk__in=[one.pk for one in students])

    def clean(self) -> dict[str, Any]:
        """Ask for somebody where those ticked are meant."""
        cleaned: dict[str, Any] = super().clean() or {}
        if cleaned.get("to") == "ticked" and not cleaned.get("students"):
            self.add_error("to", _("Tick the students below, or choose the class or a group."))
        return cleaned


class TapForm(forms.Form):
    """Names one student of a class."""

    student = forms.ModelChoiceField(queryset=User.objects.none())

    def __init__(self, *args: Any, shop_class: ShopClass, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast(forms.ModelChoiceField, self.fields["student"])
        field.queryset = User.objects.filter(enrolments__shop_class=shop_class)


class PlaceForm(TapForm):
    """The booth a student is put into; none: no booth."""

    booth = forms.ModelChoiceField(queryset=Booth.objects.none(), required=False)

    def __init__(self, *args: Any, shop_class: ShopClass, **kwargs: Any) -> None:
        super().__init__(*args, shop_class=shop_class, **kwargs)
        field = cast(forms.ModelChoiceField, self.fields["booth"])
        field.queryset = shop_class.campus.booths.all()


class AttendanceForm(TapForm):
    """Present, absent, or not said."""

    present = forms.ChoiceField(
        choices=[("yes", _("present")), ("no", _("absent")), ("", _("not said"))], required=False
    )

    def said(self) -> bool | None:
        """Return True, False, or None for not said."""
        return {"yes": True, "no": False}.get(self.cleaned_data["present"])


class SignoffForm(TapForm):
    """A sign-off to give or to take."""

    name = forms.CharField(max_length=60)
    held = forms.ChoiceField(choices=[("yes", _("holds it")), ("no", _("does not hold it"))])
