"""Forms of the library: its filter, a file to load, a review to publish under."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from curriculum.core import spec
from curriculum.core.library_keys import positions
from curriculum.forms.labels import choice_said
from curriculum.models import ExerciseVersion
from shared.http import UploadRefused, read_upload_text

ANY = ("", _("all"))
RETIRED = "retired"


class LibraryFilter(forms.Form):
    """What narrows the list of exercises; unknown values are passed over."""

    q = forms.CharField(
        label=_("Search"),
        required=False,
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    process = forms.ChoiceField(
        label=_("Process"),
        required=False,
        choices=[ANY, *((one, one) for one in spec.PROCESSES)],
    )
    position = forms.ChoiceField(label=_("Position"), required=False)
    priority = forms.ChoiceField(
        label=_("Priority"), required=False, choices=[ANY, *ExerciseVersion.Priority.choices]
    )
    joint = forms.ChoiceField(label=_("Joint"), required=False)
    state = forms.ChoiceField(
        label=_("State"),
        required=False,
        choices=[ANY, *ExerciseVersion.State.choices, (RETIRED, _("retired"))],
    )

    def __init__(self, *args: Any, drafts: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["position"].choices = [ANY, *((one, _(one)) for one in positions())]  # type: ignore[attr-defined]
        joints = [ANY, *((one, choice_said(one)) for one in spec.JOINT_KINDS)]
        self.fields["joint"].choices = joints  # type: ignore[attr-defined]
        if not drafts:
            del self.fields["state"]


class RetireForm(forms.Form):
    """Whether an exercise is retired."""

    retired = forms.ChoiceField(choices=[("yes", _("Retire it")), ("no", _("Bring it back"))])


class PrintForm(forms.Form):
    """For which hand a sheet is printed."""

    hand = forms.ChoiceField(
        choices=[("right", _("Right hand")), ("left", _("Left hand"))], required=False
    )


class ImportForm(forms.Form):
    """A library file, uploaded or pasted."""

    file = forms.FileField(label=_("File"), required=False)
    text = forms.CharField(
        label=_("or its text"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "class": "code"}),
        help_text=_("TOML, as the export writes it. Nothing is stored before you have seen it."),
    )

    def clean(self) -> dict[str, Any]:
        """Give the file's text, or the pasted one, as `content`."""
        cleaned = super().clean() or {}
        file, text = cleaned.get("file"), cleaned.get("text", "")
        if file is not None:
            try:
                cleaned["content"] = read_upload_text(file)
            except UploadRefused as refused:
                self.add_error("file", str(refused))
        elif text.strip():
            cleaned["content"] = text
        elif not self.errors:
            self.add_error("file", _("Choose a file, or paste its text."))
        return cleaned


class ReviewForm(forms.Form):
    """Who reviewed a draft, and when: a version is published under that name."""

    reviewed_by = forms.CharField(
        label=_("Reviewed by"),
        max_length=120,
        help_text=_("The qualified person who has read every figure. The sheet prints the name."),
    )
    reviewed_on = forms.DateField(
        label=_("Reviewed on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
