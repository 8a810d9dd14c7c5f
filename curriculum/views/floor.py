"""The shop of a campus: its booths on a plain floor plan, and the days it is closed."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import ProtectedError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.forms.classes import BoothForm, ClosureForm
from curriculum.models import Booth, Closure
from curriculum.services import classes as service
from curriculum.services.places import floor_plan
from curriculum.views.common import go_back, not_taken, session_url
from shared.http import AppRequest
from shared.people.access import role_required
from shared.people.audit import audit
from shared.people.models import Role
from shared.people.once import once_only


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def booths(request: AppRequest) -> HttpResponse:
    """Show the floor; one tap says that a machine is down, or up again."""
    rows = list(request.campus.booths.prefetch_related("machines"))
    processes = sorted({process for booth in rows for process in booth.processes})
    context = {
        "grid": floor_plan(rows),
        "booths": rows,
        "down": [booth for booth in rows if booth.is_down],
        "able": [
            (
                process,
                sum(process in one.processes and not one.is_down for one in rows),
                sum(process in one.processes for one in rows),
            )
            for process in processes
        ],
        "is_manager": Role.MANAGER in request.roles,
    }
    return render(request, "curriculum/booths.html", context)


@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER)
@once_only
def booth_new(request: AppRequest) -> HttpResponse:
    """Add a booth."""
    return _booth(request, None)


@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER)
@once_only
def booth_edit(request: AppRequest, pk: int) -> HttpResponse:
    """Change a booth, or remove one that nobody ever stood in."""
    booth = get_object_or_404(request.campus.booths, pk=pk)
    if request.method == "POST" and "remove" in request.POST:
        try:
            booth.delete()
        except ProtectedError:
            messages.error(request, _("People had this booth; it stays. Say it is down instead."))
            return redirect("curriculum:booth_edit", pk)
        audit(request.user, "booth.removed", campus=request.campus, detail={"booth": pk})
        messages.success(request, _("The booth is gone."))
        return redirect("curriculum:booths")
    return _booth(request, booth)


def _booth(request: AppRequest, booth: Booth | None) -> HttpResponse:
    form = BoothForm(request.POST or None, instance=booth, campus=request.campus)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        action = "booth.changed" if booth else "booth.added"
        audit(request.user, action, saved, campus=request.campus)
        messages.success(request, _("Saved."))
        return redirect("curriculum:booths")
    context = {"form": form, "booth": booth}
    status = 422 if form.is_bound else 200
    return render(request, "curriculum/booth_form.html", context, status=status)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def booth_down(request: AppRequest, pk: int) -> HttpResponse:
    """Say that a booth's machine is down, or up again."""
    booth = get_object_or_404(request.campus.booths, pk=pk)
    wanted = request.POST.get("down", "")
    if wanted not in ("yes", "no"):
        return not_taken(_("A machine is up or down."))
    service.set_booth_down(booth=booth, down=wanted == "yes", by=request.user)
    words = _("Booth %(name)s is down.") if booth.is_down else _("Booth %(name)s is up again.")
    messages.success(request, words % {"name": booth.name})
    return go_back(request, reverse("curriculum:booths"))


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def closures(request: AppRequest) -> HttpResponse:
    """List the closed days; the manager adds one or several in a row."""
    if request.method == "POST" and Role.MANAGER not in request.roles:
        raise PermissionDenied
    form = ClosureForm(request.POST or None, instance=Closure(campus=request.campus))
    if request.method == "POST" and form.is_valid():
        messages.success(request, _close(request, form.cleaned_data))
        return redirect("curriculum:closures")
    today = request.campus.today()
    rows = list(request.campus.closures.all())
    busy = service.busy_on(request.campus, [row.date for row in rows if row.date >= today])
    context = {
        "form": form,
        "rows": [(row, row.date < today) for row in rows],
        "to_come": sum(row.date >= today for row in rows),
        "busy": [(session, session_url(session)) for session in busy],
        "is_manager": Role.MANAGER in request.roles,
    }
    status = 422 if form.is_bound else 200
    return render(request, "curriculum/closures.html", context, status=status)


def _close(request: AppRequest, given: dict[str, Any]) -> str:
    first, last = given["date"], given["last"] or given["date"]
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    known = set(request.campus.closures.filter(date__in=days).values_list("date", flat=True))
    new = [
        Closure(campus=request.campus, date=day, label=given["label"])
        for day in days
        if day not in known
    ]
    Closure.objects.bulk_create(new, ignore_conflicts=True)
    detail = {"from": first, "to": last}
    audit(request.user, "closure.added", campus=request.campus, detail=detail)
    return ngettext("%(n)d day closed.", "%(n)d days closed.", len(new)) % {"n": len(new)}


@require_POST
@role_required(Role.MANAGER)
@once_only
def closure_remove(request: AppRequest, pk: int) -> HttpResponse:
    """Open the shop again on a day."""
    closure = get_object_or_404(request.campus.closures, pk=pk)
    audit(request.user, "closure.removed", campus=request.campus, detail={"date": closure.date})
    closure.delete()
    messages.success(request, _("The shop is open on this day."))
    return redirect("curriculum:closures")
