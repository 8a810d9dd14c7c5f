from typing import Any, cast

from django import forms
from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.utils.translation import gettext_lazy as _

from shared.people import pins
from shared.people.models import Campus, Theme, Units, User


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


class PinForm(forms.Form):
    pin = forms.CharField(
        label=_("PIN"),
        min_length=pins.LENGTHS.start,
        max_length=pins.LENGTHS.stop - 1,
        error_messages={"min_length": _("A PIN has 4 to 8 digits.")},
        widget=forms.PasswordInput(
            attrs={"inputmode": "numeric", "autocomplete": "off", "autofocus": True}
        ),
    )


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
