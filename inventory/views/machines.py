"""The machines that cut blanks: what each takes, holds and cuts, and whether it works."""

from __future__ import annotations

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.views.common import go_back, not_taken
from inventory.forms.machines import MachineForm
from inventory.models import CuttingMachine
from inventory.services.machines import remove_machine, save_machine, set_machine_down
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import once_only


def machine_of(request: AppRequest, pk: int) -> CuttingMachine:
    """Return a machine of this campus; raise Http404 for another."""
    rows = CuttingMachine.objects.visible_to(request.user).filter(campus=request.campus)
    return get_object_or_404(rows.select_related("campus"), pk=pk)


@require_GET
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
def machines(request: AppRequest) -> HttpResponse:
    """List the machines; one tap says that one is down, or up again."""
    rows = list(CuttingMachine.objects.filter(campus=request.campus))
    context = {
        "machines": rows,
        "down": [row for row in rows if row.is_down],
        "is_manager": Role.MANAGER in request.roles,
        "may_tap": bool(request.roles & {Role.MANAGER.value, Role.INSTRUCTOR.value}),
    }
    return render(request, "inventory/machines.html", context)


@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER)
@once_only
def machine_new(request: AppRequest) -> HttpResponse:
    """Add a machine."""
    return _machine(request, None)


@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER)
@once_only
def machine(request: AppRequest, pk: int) -> HttpResponse:
    """Change a machine, or remove one that no plan was made for."""
    row = machine_of(request, pk)
    if request.method == "POST" and "remove" in request.POST:
        try:
            with transaction.atomic():
                remove_machine(machine=row, by=request.user)
        except ProtectedError:
            text = _("Cutting plans were made for this machine; it stays. Say it is down instead.")
            messages.error(request, text)
            return redirect("inventory:machine", pk)
        messages.success(request, _("The machine is gone."))
        return redirect("inventory:machines")
    return _machine(request, row)


def _machine(request: AppRequest, row: CuttingMachine | None) -> HttpResponse:
    form = MachineForm(
        request.POST or None, instance=row, campus=request.campus, units=units_of(request)
    )
    if request.method == "POST" and form.is_valid():
        try:
            with transaction.atomic():
                save_machine(machine=form.instance, by=request.user)
        except IntegrityError:
            form.add_error("name", _("There is a machine of this name; write another."))
        else:
            messages.success(request, _("Saved."))
            return redirect("inventory:machines")
    context = {"form": form, "machine": row}
    status = 422 if form.is_bound else 200
    return render(request, "inventory/machine_form.html", context, status=status)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def machine_down(request: AppRequest, pk: int) -> HttpResponse:
    """Say that a machine is down, or up again."""
    row = machine_of(request, pk)
    wanted = request.POST.get("down", "")
    if wanted not in ("yes", "no"):
        return not_taken(_("A machine is up or down."))
    set_machine_down(machine=row, down=wanted == "yes", by=request.user)
    words = _("%(name)s is down.") if wanted == "yes" else _("%(name)s is up again.")
    messages.success(request, words % {"name": row.name})
    return go_back(request, reverse("inventory:machines"))
