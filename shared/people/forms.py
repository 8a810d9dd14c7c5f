from collections.abc import Iterable
from typing import Any, cast

from django import forms
from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import validate_password
from django.utils.translation import gettext_lazy as _

from shared.people import pins
from shared.people.models import Campus, Role, Tablet, Theme, Units, User


class SignInForm(AuthenticationForm):
    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=150,
        widget=forms.TextInput(attrs={"autofocus": True, "autocomplete": "username"}),
    )
    error_messages = {
        "invalid_login": _(
            "The sign-in name and the password do not fit together. Check both; "
            "capitals count in the password."
        ),
        "inactive": _("This sign-in is closed. Ask the shop manager."),
    }

    def clean_username(self) -> str:
        # folded before the limit counts, so that another spelling is not another limit
        return str(self.cleaned_data["username"]).strip().casefold()


class PinField(forms.CharField):
    """Digits as typed on the pad; `check_new_pin` is for a PIN that is being chosen."""

    def __init__(self, *, new: bool = False, **kwargs: Any) -> None:
        attrs = {"inputmode": "numeric", "autocomplete": "off", "data-pin-field": ""}
        super().__init__(
            max_length=pins.LENGTHS.stop - 1, widget=forms.PasswordInput(attrs=attrs), **kwargs
        )
        self.new = new

    def clean(self, value: Any) -> str:
        pin = str(super().clean(value))
        if self.new:
            try:
                pins.check_new_pin(pin)
            except pins.BadPin as bad:
                raise forms.ValidationError(str(bad)) from bad
        return pin


class PinForm(forms.Form):
    pin = PinField(label=_("PIN"))


class PreferencesForm(forms.Form):
    units = forms.ChoiceField(choices=Units.choices, required=False)
    theme = forms.ChoiceField(choices=[("", _("As the device")), *Theme.choices], required=False)
    language = forms.ChoiceField(choices=settings.LANGUAGES, required=False)

    def chosen(self) -> dict[str, str]:
        """Only what was sent: a form may carry one of the three."""
        return {name: value for name, value in self.cleaned_data.items() if name in self.data}


class CampusForm(forms.Form):
    campus = forms.ModelChoiceField(queryset=Campus.objects.none())

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast(forms.ModelChoiceField, self.fields["campus"])
        field.queryset = Campus.objects.filter(pk__in=person.campus_ids)


class CampusSettingsForm(forms.ModelForm):
    class Meta:
        model = Campus
        fields = ["name", "time_zone", "paper", "symbol_standard", "default_units"]
        help_texts = {"time_zone": _("Such as America/Chicago or Europe/Madrid.")}


class PeopleFilter(forms.Form):
    q = forms.CharField(label=_("Name, number or sign-in name"), max_length=100, required=False)
    role = forms.ChoiceField(
        label=_("Role"), choices=[("", _("all")), *Role.choices], required=False
    )
    gone = forms.BooleanField(label=_("with those who left"), required=False)


class PersonForm(forms.Form):
    """A person as the manager of a campus sees them; roles are those at this campus."""

    name = forms.CharField(label=_("Name"), max_length=150)
    sort_name = forms.CharField(
        label=_("Name in lists"),
        max_length=150,
        required=False,
        help_text=_("As lists are sorted, such as “Ortega, Lucía”. Empty: as the name."),
    )
    student_number = forms.CharField(label=_("Student number"), max_length=32, required=False)
    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=150,
        required=False,
        help_text=_("Needed for a password. Students on a shop tablet need none."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none"}),
    )
    password = forms.CharField(
        label=_("New password"),
        required=False,
        strip=False,
        help_text=_("At least 10 characters. Empty: stays as it is."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    roles = forms.MultipleChoiceField(
        label=_("Roles here"),
        choices=Role.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    is_active = forms.BooleanField(label=_("May sign in"), required=False, initial=True)

    ALWAYS_OPEN = ("roles",)

    def __init__(
        self, *args: Any, person: User | None, campus: Campus, whole: bool = True, **kwargs: Any
    ) -> None:
        self.person, self.campus = person, campus
        if person:
            kwargs["initial"] = {
                "name": person.name,
                "sort_name": person.sort_name if person.sort_name != person.name else "",
                "student_number": person.student_number or "",
                "username": person.username or "",
                "roles": sorted(person.roles_at(campus)),
                "is_active": person.is_active,
            }
        super().__init__(*args, **kwargs)
        if not whole:
            for name, field in self.fields.items():
                field.disabled = name not in self.ALWAYS_OPEN

    def _others(self) -> Any:
        return User.objects.exclude(pk=self.person.pk if self.person else None)

    def clean_username(self) -> str:
        username = str(self.cleaned_data["username"]).strip().casefold()
        if username and self._others().filter(username=username).exists():
            raise forms.ValidationError(_("Another person has this sign-in name."))
        return username

    def clean_student_number(self) -> str:
        number = str(self.cleaned_data["student_number"]).strip()
        campus = self.person.home_campus if self.person else self.campus
        if number and self._others().filter(home_campus=campus, student_number=number).exists():
            raise forms.ValidationError(_("Another person here has this student number."))
        return number

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        username, password = data.get("username"), data.get("password")
        if password:
            try:
                validate_password(
                    password, User(username=username or "", name=data.get("name", ""))
                )
            except forms.ValidationError as bad:
                self.add_error("password", bad)
        if username == "" and "username" not in self.errors:
            if password:
                self.add_error("username", _("Enter a sign-in name to go with the password."))
            elif _needs_password(data.get("roles", ())):
                self.add_error(
                    "username", _("Instructors, clerks and managers need a sign-in name.")
                )
        return data


def _needs_password(roles: Iterable[str]) -> bool:
    return bool(set(roles) - {Role.STUDENT.value})


class RoleElsewhereForm(forms.Form):
    """Someone of another campus gets a role here; they are known by their sign-in name alone."""

    username = forms.CharField(label=_("Sign-in name"), max_length=150)
    roles = forms.MultipleChoiceField(
        label=_("Roles here"), choices=Role.choices, widget=forms.CheckboxSelectMultiple
    )

    def clean_username(self) -> User:
        username = str(self.cleaned_data["username"]).strip().casefold()
        person = User.objects.present().filter(username=username).first()
        if person is None:
            raise forms.ValidationError(
                _("Nobody has this sign-in name. Ask them how it is spelt.")
            )
        return person


class EraseForm(forms.Form):
    sure = forms.BooleanField(
        label=_("Yes, blank this person's name, number and sign-in for good"),
        error_messages={"required": _("Tick this to erase, or go back to keep the person.")},
    )


class TabletForm(forms.ModelForm):
    class Meta:
        model = Tablet
        fields = ["name"]
        help_texts = {"name": _("As it is written on the tablet, such as “Booths 1 to 4”.")}


class OwnPinForm(forms.Form):
    """Choose one's own PIN; a PIN session shows the old PIN, any other the password."""

    old_pin = PinField(label=_("PIN until now"))
    password = forms.CharField(
        label=_("Password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    new_pin = PinField(label=_("New PIN"), new=True, help_text=_("4 to 8 digits."))
    again = PinField(label=_("New PIN once more"))

    def __init__(self, *args: Any, pin_session: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["password" if pin_session else "old_pin"]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if "new_pin" in data and "again" in data and data["new_pin"] != data["again"]:
            self.add_error("again", _("The two new PINs differ. Type the same one twice."))
        return data


class OwnPasswordForm(forms.Form):
    password = forms.CharField(
        label=_("Password until now"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    new_password = forms.CharField(
        label=_("New password"),
        strip=False,
        help_text=_("At least 10 characters."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label=_("New password once more"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_new_password(self) -> str:
        password = str(self.cleaned_data["new_password"])
        validate_password(password, self.person)
        return password

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if "new_password" in data and "again" in data and data["new_password"] != data["again"]:
            self.add_error("again", _("The two new passwords differ. Type the same one twice."))
        return data


class OwnSettingsForm(forms.ModelForm):
    class Meta:
        model = User
        fields = ["units", "theme", "language", "left_handed"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, blank in (
            ("units", _("As the campus")),
            ("theme", _("As the device")),
            ("language", _("As the browser")),
        ):
            field = cast(forms.ChoiceField, self.fields[name])
            field.choices = [("", blank), *list(field.choices)[1:]]  # type: ignore[arg-type]


class AuditFilter(forms.Form):
    action = forms.CharField(label=_("What was done"), max_length=60, required=False)
    who = forms.CharField(label=_("By"), max_length=100, required=False)
    kind = forms.CharField(label=_("Kind of row"), max_length=60, required=False)
    number = forms.CharField(label=_("Number of the row"), max_length=40, required=False)
    since = forms.DateField(
        label=_("From"), required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    until = forms.DateField(
        label=_("To"), required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
