"""The library: its list, what a version says, comparing, files out and in."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Prefetch, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.core import spec
from curriculum.core.cautions import signoffs_for
from curriculum.core.compare import differences
from curriculum.core.library import read_exercises
from curriculum.core.library_write import write_exercises
from curriculum.forms.library import RETIRED, ImportForm, LibraryFilter
from curriculum.models import Exercise, ExerciseVersion, PlanEntry, Setup, ShopClass
from curriculum.models.library import ExerciseVersionQuerySet
from curriculum.services.editing import circle_faults
from curriculum.services.findings import booths_of, ordered_findings, to_look_at
from curriculum.services.library import (
    compare_library,
    dump_library,
    load_library,
)
from curriculum.services.pictures import joint_pictures
from curriculum.services.sheet import said, sheet_context
from curriculum.services.spec_rows import TEXT_LISTS, to_spec
from shared.http import render_page
from shared.people.access import AppRequest, role_required
from shared.people.audit import audit
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import once_only

ROWS = 200
EDITORS = {Role.INSTRUCTOR.value, Role.MANAGER.value}
READERS = (Role.STUDENT, Role.INSTRUCTOR, Role.CLERK, Role.MANAGER)


def may_edit(request: AppRequest) -> bool:
    """Say whether this person writes the library here."""
    return bool(request.roles & EDITORS)


@require_GET
@role_required(*READERS)
def library(request: AppRequest) -> HttpResponse:
    """List the exercises of this campus: the newest version the viewer may read."""
    drafts = may_edit(request)
    form = LibraryFilter(request.GET, drafts=drafts)
    page = Paginator(_found(request, form), ROWS).get_page(request.GET.get("page"))
    pictures = joint_pictures(page.object_list)
    rows = [(version, pictures.get(version.pk, "")) for version in page]
    context = {
        "form": form,
        "page": page,
        "rows": rows,
        "may_edit": drafts,
        "total": _listed(request).count(),
    }
    return render_page(request, "curriculum/library.html", "curriculum/_library_rows.html", context)


def _listed(
    request: AppRequest, published: bool = False, retired: bool = False
) -> ExerciseVersionQuerySet:
    versions = ExerciseVersion.objects.filter(
        exercise__campus=request.campus, exercise__retired_at__isnull=not retired
    )
    drafts = may_edit(request) and not published
    return versions.newest() if drafts else versions.newest_published()


def _found(request: AppRequest, form: LibraryFilter) -> QuerySet[ExerciseVersion]:
    chosen = form.cleaned_data if form.is_valid() else {}
    published = ExerciseVersion.State.PUBLISHED
    state = chosen.get("state")
    versions = _listed(request, published=state == published, retired=state == RETIRED)
    if state == RETIRED:
        chosen = {**chosen, "state": ""}
    for name in ("process", "position", "priority", "state"):
        if chosen.get(name):
            versions = versions.filter(**{name: chosen[name]})
    if chosen.get("joint"):
        versions = versions.filter(
            pk__in=Setup.objects.filter(joint_kind=chosen["joint"]).values("version")
        )
    if chosen.get("q"):
        versions = versions.matching(chosen["q"])
    keys = Prefetch("setups", Setup.objects.only("key", "version", "position"))
    live = Prefetch(
        "exercise__versions",
        ExerciseVersion.objects.filter(state=published)
        .only("exercise", "version")
        .order_by("-version"),
        to_attr="published_versions",
    )
    return (
        versions.select_related("exercise")
        .defer(*TEXT_LISTS)
        .prefetch_related(keys, live)
        .order_by("exercise__number")
    )


@require_GET
@role_required(*READERS)
def exercise(request: AppRequest, pk: int) -> HttpResponse:
    """Show the newest version of an exercise that the viewer may read."""
    versions = ExerciseVersion.objects.visible_to(request.user).filter(exercise=pk)
    newest = get_object_or_404(versions.with_content().order_by("-version")[:1])
    return _show(request, newest)


@require_GET
@role_required(*READERS)
def version(request: AppRequest, pk: int) -> HttpResponse:
    """Show one version."""
    versions = ExerciseVersion.objects.visible_to(request.user).with_content()
    return _show(request, get_object_or_404(versions, pk=pk))


def _show(request: AppRequest, row: ExerciseVersion) -> HttpResponse:
    content = to_spec(row)
    drafts = may_edit(request)
    others = list(
        ExerciseVersion.objects.visible_to(request.user)
        .filter(exercise=row.exercise_id)
        .order_by("-version")
    )
    booths = booths_of(row.exercise.campus) if drafts else []
    linked = {one.exercise.number: one.exercise for one in row.prerequisites.all()}
    context = {
        "version": row,
        "exercise": content,
        "needs": [linked[number] for number in content.prerequisites],
        "helps": [linked[number] for number in content.helps],
        "setups": [
            sheet_context(
                content,
                one.key,
                units=units_of(request),
                ident=f"setup{place}",
                standard=row.exercise.campus.symbol_standard,
            )
            | {
                "findings": ordered_findings(content, one, units_of(request), booths)
                if drafts
                else []
            }
            for place, one in enumerate(content.setups)
        ],
        "signoffs": signoffs_for(content, content.criteria),
        "versions": others,
        "newest": others[0],
        "plans": _plans(request, row.exercise) if Role.STUDENT not in request.roles else [],
        "may_edit": drafts,
        "reads_steps": Role.STUDENT not in request.roles,
    }
    return render(request, "curriculum/version.html", context)


def _plans(request: AppRequest, row: Exercise) -> list[PlanEntry]:
    classes = ShopClass.objects.visible_to(request.user)
    return list(
        PlanEntry.objects.filter(exercise=row, shop_class__in=classes)
        .select_related("shop_class", "target_session")
        .order_by("shop_class__name")
    )


@require_GET
@role_required(*READERS)
def compare(request: AppRequest, pk: int) -> HttpResponse:
    """Say what changed between this version and another (`with`; else the one before it)."""
    versions = ExerciseVersion.objects.visible_to(request.user).with_content()
    new = get_object_or_404(versions, pk=pk)
    same = versions.filter(exercise=new.exercise_id).exclude(pk=new.pk).order_by("-version")
    chosen = request.GET.get("with", "")
    if chosen.isdecimal():
        old = get_object_or_404(same, pk=int(chosen))
    else:
        old = get_object_or_404(same.filter(version__lt=new.version)[:1])
    if old.version > new.version:
        old, new = new, old
    context = {
        "old": old,
        "new": new,
        "changes": differences(to_spec(old), to_spec(new)),
        "others": same.exclude(pk=old.pk),
    }
    return render(request, "curriculum/compare.html", context)


# Outside the once guard like every download: see `shared.people.views.records.audit_export`.
@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@transaction.atomic
def library_export(request: AppRequest) -> HttpResponse:
    """Hand out the library of this campus as a file that the import reads."""
    exercises = dump_library(campus=request.campus)
    detail = {"exercises": len(exercises)}
    audit(request.user, "library.exported", campus=request.campus, detail=detail)
    name = content_disposition_header(True, f"library-{request.campus.today()}.toml")
    return HttpResponse(
        write_exercises(exercises),
        content_type="application/toml; charset=utf-8",
        headers={"Content-Disposition": name or "attachment"},
    )


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def library_import(request: AppRequest) -> HttpResponse:
    """Read a file, say what it would change and everything wrong with it; then load it."""
    form = ImportForm(request.POST or None, request.FILES or None)
    context: dict[str, Any] = {"form": form}
    if request.method == "GET" or not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(request, "curriculum/library_import.html", context, status=status)
    text = form.cleaned_data["content"]
    numbers = Exercise.objects.filter(campus=request.campus).values_list("number", flat=True)
    exercises, faults = read_exercises(text, known_numbers=frozenset(numbers))
    faults = faults or circle_faults(request.campus, exercises)
    context |= {"text": text}
    if faults:
        context["faults"] = [{"fault": one, "message": said(one.message)} for one in faults]
        return render(request, "curriculum/library_import.html", context, status=422)
    if "load" in request.POST:
        change = load_library(campus=request.campus, contents=exercises, by=request.user)
        counts = {"added": len(change.added), "changed": len(change.new_versions)}
        messages.success(
            request, _("Loaded: %(added)d new, %(changed)d with a new version.") % counts
        )
        return redirect("curriculum:library")
    change = compare_library(campus=request.campus, contents=exercises)
    drafts = ExerciseVersion.objects.filter(exercise__campus=request.campus, state="draft")
    context |= {
        "change": change,
        "rows": _preview(request, exercises, change.unchanged),
        "drafts": set(drafts.values_list("exercise__number", flat=True)),
    }
    # Looked at, not yet loaded: the guard keeps nothing of it, and its key stays free.
    return render(request, "curriculum/library_import.html", context, status=422)


def _preview(
    request: AppRequest, exercises: list[spec.Exercise], unchanged: tuple[str, ...]
) -> list[dict[str, Any]]:
    """Return each exercise that would change, with what its setups must have looked at."""
    units, booths = units_of(request), booths_of(request.campus)
    return [
        {"exercise": one, "findings": to_look_at(one, units, booths)}
        for one in exercises
        if one.number not in unchanged
    ]
