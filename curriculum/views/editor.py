"""Writing exercises: new ones, drafts, their setups, publishing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods, require_POST

from curriculum.core.library import Fault
from curriculum.core.sentence import Sentence
from curriculum.forms.editor import NewExerciseForms, exercise_form, setup_form
from curriculum.forms.library import ReviewForm
from curriculum.forms.tables import TableForm, place
from curriculum.models import ExerciseVersion
from curriculum.services.editing import (
    NumberTaken,
    draft_table,
    new_exercise,
    read_table,
    stamp,
)
from curriculum.services.findings import booths_of, ordered_findings, to_look_at
from curriculum.services.library import copy_to_draft, save_draft
from curriculum.services.library import publish as publish_version
from curriculum.services.sheet import sheet_context
from curriculum.services.spec_rows import to_spec
from shared.http import render_fragment
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import once_only

STALE = "stamp"


def _draft(request: AppRequest, pk: int) -> ExerciseVersion:
    drafts = ExerciseVersion.objects.editable_by(request.user).with_content()
    return get_object_or_404(drafts.select_related("exercise__campus"), pk=pk)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def draft(request: AppRequest, pk: int) -> HttpResponse:
    """Make a draft from a version, or go on with the one there is; at a `setup` where named."""
    versions = ExerciseVersion.objects.visible_to(request.user).select_related("exercise__campus")
    version = get_object_or_404(versions, pk=pk)
    if not request.user.roles_at(version.exercise.campus) & {Role.INSTRUCTOR, Role.MANAGER}:
        raise Http404
    made = copy_to_draft(version=version, by=request.user)
    key = request.POST.get("setup", "")
    if made.setups.filter(key=key).exists():
        return redirect("curriculum:setup_edit", made.pk, key)
    return redirect("curriculum:draft_edit", made.pk)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def exercise_new(request: AppRequest) -> HttpResponse:
    """Start an exercise: the least it needs, or a copy of another (`copy`); the rest follows."""
    data = request.POST if request.method == "POST" else None
    copied = None
    if (chosen := request.GET.get("copy", "")).isdecimal():
        versions = ExerciseVersion.objects.visible_to(request.user).with_content()
        here = versions.filter(exercise__campus=request.campus)
        copied = draft_table(get_object_or_404(here, pk=int(chosen)))
    form = NewExerciseForms(data, copied=copied)
    elsewhere: list[str] = []
    if request.method == "POST":
        content, faults = read_table(request.campus, form.table())
        if content is not None:
            try:
                made = new_exercise(campus=request.campus, content=content, by=request.user)
            except NumberTaken:
                taken = Sentence(gettext_noop("The library has an exercise with this number."))
                faults = [Fault("exercise[0].number", content.number, taken)]
            else:
                return redirect("curriculum:draft_edit", made.pk)
        elsewhere = form.place(faults)
    context = {
        "forms": form.parts,
        "copied": copied,
        "elsewhere": elsewhere,
        "problems": _problems(*form.parts),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "curriculum/exercise_new.html", context, status=status)


def _problems(*forms: TableForm) -> list[tuple[str, str, str]]:
    return [problem for form in forms for problem in form.problems()]


def _row_change(request: AppRequest, form: TableForm) -> bool:
    """Add, remove or lift a row where a button asks for it; say whether one did."""
    what, _colon, row = request.POST.get("do", "").partition(":")
    name, _dash, index = row.partition("-")
    if what not in ("add", "remove", "up") or name not in form.rows:
        return False
    form.rows[name].change(what, int(index) if index.isdecimal() else -1)
    return True


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def draft_edit(request: AppRequest, pk: int) -> HttpResponse:
    """Change what a draft says apart from its setups."""
    version = _draft(request, pk)
    table = draft_table(version)
    if request.method == "GET":
        return _show_exercise(request, version, table, exercise_form(table=table))
    form = exercise_form(data=request.POST)
    if _row_change(request, form):
        return _show_exercise(request, version, table, form)
    fresh = form.table()
    kept = {
        name: table[name]
        for name in ("number", "setup", "iso4063", "position_iso")
        if name in table
    }
    if fresh.get("process") != table.get("process"):
        kept.pop("iso4063", None)
    if fresh.get("position") != table.get("position"):
        kept.pop("position_iso", None)
    return _save(request, version, table, kept | fresh, form, "exercise[0]") or _show_exercise(
        request, version, table, form
    )


def _save(
    request: AppRequest,
    version: ExerciseVersion,
    before: dict[str, Any],
    table: dict[str, Any],
    form: TableForm,
    prefix: str,
) -> HttpResponse | None:
    """Store the draft and go to its page; None where the form must be shown again."""
    campus = version.exercise.campus
    content, faults = read_table(campus, table)
    if content is None:
        form.errors += place(form, faults, prefix)
        return None
    if request.POST.get(STALE) != stamp(before):
        form.errors.append(
            _(
                "Somebody saved this draft after you opened it. What you typed still stands here; "
                "save again to put it over theirs."
            )
        )
        return None
    saved = save_draft(campus=campus, content=content, by=request.user)
    messages.success(request, _("Draft saved."))
    return redirect("curriculum:version", saved.pk)


def _show_exercise(
    request: AppRequest, version: ExerciseVersion, table: dict[str, Any], form: TableForm
) -> HttpResponse:
    context = {
        "version": version,
        "form": form,
        "problems": _problems(form),
        "stamp": stamp(table),
        "setups": [setup["key"] for setup in table["setup"]],
    }
    # 422 also for an added row: nothing was saved, and the guard keeps the key free.
    status = 200 if request.method == "GET" else 422
    return render(request, "curriculum/draft_edit.html", context, status=status)


def _place_of(table: dict[str, Any], key: str) -> int:
    for index, setup in enumerate(table["setup"]):
        if setup["key"] == key:
            return index
    raise Http404


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def setup_edit(request: AppRequest, pk: int, key: str) -> HttpResponse:
    """Change one setup of a draft, beside its drawing, its check and its usage."""
    version = _draft(request, pk)
    table = draft_table(version)
    return _edit_setup(request, version, table, _place_of(table, key), key)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def setup_new(request: AppRequest, pk: int) -> HttpResponse:
    """Add a setup to a draft, empty or as a copy of another (`copy`)."""
    version = _draft(request, pk)
    table = draft_table(version)
    return _edit_setup(request, version, table, len(table["setup"]), "")


def _edit_setup(
    request: AppRequest, version: ExerciseVersion, table: dict[str, Any], index: int, key: str
) -> HttpResponse:
    stated = dict(table["setup"][index]) if key else {}
    if not key and (copied := request.GET.get("copy")):
        stated = {**table["setup"][_place_of(table, copied)], "key": ""}
    if request.method == "GET":
        form = setup_form(version.process, table=stated)
        return _show_setup(request, version, table, form, key)
    form = setup_form(version.process, data=request.POST)
    if not _row_change(request, form):
        setups = [*table["setup"]]
        setups[index : index + 1] = [form.table()]
        prefix = f"exercise[0].setup[{index}]"
        saved = _save(request, version, table, table | {"setup": setups}, form, prefix)
        if saved is not None:
            return saved
    return _show_setup(request, version, table, form, key)


def _show_setup(
    request: AppRequest,
    version: ExerciseVersion,
    table: dict[str, Any],
    form: TableForm,
    key: str,
) -> HttpResponse:
    context = {
        "version": version,
        "form": form,
        "key": key,
        "problems": _problems(form),
        "stamp": stamp(table),
        "removable": key and len(table["setup"]) > 1,
        "findings_url": reverse("curriculum:setup_findings", args=[version.pk]),
        **_live(request, version, table, form),
    }
    status = 200 if request.method == "GET" else 422
    return render(request, "curriculum/setup_edit.html", context, status=status)


def _live(
    request: AppRequest, version: ExerciseVersion, table: dict[str, Any], form: TableForm
) -> dict[str, Any]:
    """Return drawing, findings and usage of what stands in the form, or what it still lacks."""
    setup = form.table()
    alone = {**table, "setup": [setup]}
    content, faults = read_table(version.exercise.campus, alone)
    if content is None:
        shown = setup_form(version.process, table=setup)
        elsewhere = place(shown, faults, "exercise[0].setup[0]")
        told = [f"{label}: {message}" for _ident, label, message in shown.problems()]
        return {"lacking": told + elsewhere, "live": None}
    units, whole = units_of(request), content.setups[0]
    standard = version.exercise.campus.symbol_standard
    drawn = sheet_context(content, whole.key, units=units, ident="live", standard=standard)
    booths = booths_of(version.exercise.campus)
    return {"live": drawn, "findings": ordered_findings(content, whole, units, booths)}


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def setup_findings(request: AppRequest, pk: int) -> HttpResponse:
    """Show what the setup being typed would draw, use and have to be looked at; store nothing."""
    version = _draft(request, pk)
    form = setup_form(version.process, data=request.POST)
    context = _live(request, version, draft_table(version), form)
    return render_fragment(request, "curriculum/_setup_live.html", context)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def setup_remove(request: AppRequest, pk: int, key: str) -> HttpResponse:
    """Take a setup out of a draft; the last one stays."""
    version = _draft(request, pk)
    table = draft_table(version)
    index = _place_of(table, key)
    setups = [setup for place_, setup in enumerate(table["setup"]) if place_ != index]
    if not setups:
        messages.error(request, _("An exercise keeps at least one setup."))
        return redirect("curriculum:version", pk)
    content, _faults = read_table(version.exercise.campus, table | {"setup": setups})
    if content is None:
        messages.error(request, _("The draft could not be read back; nothing was changed."))
        return redirect("curriculum:version", pk)
    save_draft(campus=version.exercise.campus, content=content, by=request.user)
    messages.success(request, _("Setup %(key)s is out of the draft.") % {"key": key})
    return redirect("curriculum:version", pk)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def publish(request: AppRequest, pk: int) -> HttpResponse:
    """Freeze a draft under the name of who reviewed it."""
    version = _draft(request, pk)
    form = ReviewForm(request.POST or None, initial={"reviewed_on": request.campus.today()})
    content = to_spec(version)
    if request.method == "POST" and form.is_valid():
        day = form.cleaned_data["reviewed_on"]
        if day > request.campus.today():
            form.add_error("reviewed_on", _("A review cannot lie in the future."))
        else:
            publish_version(
                version=version,
                reviewed_by=form.cleaned_data["reviewed_by"],
                reviewed_on=day,
                by=request.user,
            )
            said = _("Version %(n)d is published. Attempts under way keep their version.")
            messages.success(request, said % {"n": version.version})
            return redirect("curriculum:version", version.pk)
    found = to_look_at(content, units_of(request), booths_of(version.exercise.campus))
    context = {"version": version, "form": form, "findings": found, "exercise": content}
    return render(request, "curriculum/publish.html", context, status=422 if form.errors else 200)
