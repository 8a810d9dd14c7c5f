"""People, their roles, PINs and tablets, as the manager (PINs: the instructor too) keeps them."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import logout
from django.core.paginator import Paginator
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shared.http import csv_response, render_page
from shared.people import services, tablets
from shared.people.access import AppRequest, role_required
from shared.people.audit import audit
from shared.people.forms import (
    CampusSettingsForm,
    EraseForm,
    PeopleFilter,
    PersonForm,
    RoleElsewhereForm,
    TabletForm,
)
from shared.people.models import Campus, Role, Tablet, User
from shared.people.once import once_only, shown_once

ROWS = 50


def _found(form: PeopleFilter, campus: Campus) -> QuerySet[User]:
    found = User.objects.at(campus).prefetch_related("memberships")
    chosen = form.cleaned_data if form.is_valid() else {}
    if not chosen.get("gone"):
        found = found.present()
    if chosen.get("q"):
        found = found.matching(chosen["q"])
    if chosen.get("role"):
        found = found.with_role(chosen["role"], campus)
    return found


@require_GET
@role_required(Role.MANAGER)
def people(request: AppRequest) -> HttpResponse:
    """List the people of this campus."""
    form = PeopleFilter(request.GET)
    found = _found(form, request.campus)
    page = Paginator(found, ROWS).get_page(request.GET.get("page"))
    rows = [(each, _role_names(each, request.campus)) for each in page]
    context = {"form": form, "page": page, "rows": rows}
    return render_page(request, "people/people.html", "people/_people_rows.html", context)


# Outside the once guard like every download: see `views.records.audit_export`.
@require_POST
@role_required(Role.MANAGER)
@transaction.atomic
def people_export(request: AppRequest) -> HttpResponse:
    """Hand out the filtered list as CSV, and note that it was done."""
    found = list(_found(PeopleFilter(request.POST), request.campus))
    audit(request.user, "people.exported", campus=request.campus, detail={"rows": len(found)})
    header = ["id", "name", "name in lists", "student number", "sign-in name", "roles"]
    rows = (
        [
            each.pk,
            each.name,
            each.sort_name,
            each.student_number,
            each.username,
            ", ".join(_role_names(each, request.campus)),
        ]
        for each in found
    )
    return csv_response(f"people-{request.campus.today()}.csv", header, rows)


@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER)
@once_only
def campus_settings(request: AppRequest) -> HttpResponse:
    """Change name, time zone, paper, symbol standard and units of this campus."""
    form = CampusSettingsForm(request.POST or None, instance=request.campus)
    if request.method == "POST" and form.is_valid():
        form.save()
        detail = {"fields": form.changed_data}
        audit(request.user, "campus.changed", form.instance, campus=form.instance, detail=detail)
        messages.success(request, _("Saved."))
        return redirect("people:people")
    status = 422 if form.is_bound else 200
    return render(request, "people/campus_settings.html", {"form": form}, status=status)


def _role_names(person: User, campus: Campus) -> list[str]:
    return [
        each.get_role_display() for each in person.memberships.all() if each.campus_id == campus.pk
    ]


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER)
@once_only
def person_add(request: AppRequest) -> HttpResponse:
    form = PersonForm(request.POST or None, person=None, campus=request.campus)
    if request.method == "POST" and form.is_valid() and _save(request, form, None):
        messages.success(request, _("%(name)s was added.") % {"name": form.cleaned_data["name"]})
        return redirect("people:people")
    context = {"form": form, "elsewhere": RoleElsewhereForm(prefix="elsewhere")}
    status = 422 if form.is_bound else 200
    return render(request, "people/person_add.html", context, status=status)


@require_POST
@role_required(Role.MANAGER)
@once_only
def role_elsewhere(request: AppRequest) -> HttpResponse:
    """Give a role here to someone whose home is another campus."""
    form = RoleElsewhereForm(request.POST, prefix="elsewhere")
    if form.is_valid():
        person: User = form.cleaned_data["username"]
        roles = {*form.cleaned_data["roles"], *person.roles_at(request.campus)}
        services.set_roles(person=person, by=request.user, campus=request.campus, roles=roles)
        messages.success(request, _("%(name)s now has a role here.") % {"name": person})
        return redirect("people:people")
    context = {
        "form": PersonForm(person=None, campus=request.campus),
        "elsewhere": form,
    }
    return render(request, "people/person_add.html", context, status=422)


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER)
@once_only
def person(request: AppRequest, pk: int) -> HttpResponse:
    """Show and change a person of this campus."""
    shown = _of_campus(request, pk)
    whole = services.manages(request.user, shown)
    form = PersonForm(request.POST or None, person=shown, campus=request.campus, whole=whole)
    if shown.erased_at is None and request.method == "POST" and form.is_valid():
        if _save(request, form, shown):
            messages.success(request, _("Saved."))
            return redirect("people:people")
        shown.refresh_from_db()
    context = {
        "form": form,
        "person": shown,
        "whole": whole,
        "is_student": Role.STUDENT in shown.roles_at(request.campus),
        "erasable": whole and not shown.roles - {Role.STUDENT.value},
    }
    return render(request, "people/person.html", context, status=422 if form.is_bound else 200)


def _of_campus(request: AppRequest, pk: int) -> User:
    return get_object_or_404(
        User.objects.visible_to(request.user).at(request.campus).select_related("home_campus"),
        pk=pk,
    )


def _save(request: AppRequest, form: PersonForm, person: User | None) -> bool:
    """Save what the form holds; else say at the field why it cannot be."""
    try:
        services.save_person(
            person=person, by=request.user, campus=request.campus, **form.cleaned_data
        )
    except services.LastManager:
        form.add_error(
            "roles",
            _("This is the last shop manager here. Make another person manager first."),
        )
        return False
    except IntegrityError:
        form.add_error(None, _("Someone else has just used this number or sign-in name."))
        return False
    return True


@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER, Role.INSTRUCTOR)
@once_only
def pin_reset(request: AppRequest, pk: int) -> HttpResponse:
    """Give a student a new PIN and show it this once."""
    student = get_object_or_404(
        User.objects.visible_to(request.user).present().with_role(Role.STUDENT, request.campus),
        pk=pk,
    )
    context: dict[str, Any] = {"person": student}
    if request.method == "POST":
        context["made"] = services.new_pins(
            people=[student], by=request.user, campus=request.campus
        )
        return shown_once(render(request, "people/pins.html", context))
    return render(request, "people/pin_reset.html", context)


@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER, Role.INSTRUCTOR)
@once_only
def pins_missing(request: AppRequest) -> HttpResponse:
    """Give every student without a PIN one, and show the list this once, to be printed."""
    without = (
        User.objects.visible_to(request.user)
        .present()
        .with_role(Role.STUDENT, request.campus)
        .filter(pin_hash="")
    )
    if request.method == "POST":
        made = services.new_pins(people=without, by=request.user, campus=request.campus)
        return shown_once(render(request, "people/pins.html", {"made": made}))
    return render(request, "people/pins_missing.html", {"without": without})


@require_http_methods(["GET", "POST"])
@role_required(Role.MANAGER)
@once_only
def person_erase(request: AppRequest, pk: int) -> HttpResponse:
    """Ask, then blank a student's name, number and sign-in; the history stays."""
    shown = _of_campus(request, pk)
    if shown.erased_at:
        return redirect("people:people")
    form = EraseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            if not services.manages(request.user, shown):
                raise services.NotErasable
            pseudonym = services.erase(person=shown, by=request.user, campus=request.campus)
        except services.NotErasable:
            form.add_error(
                None,
                _("Only students of this campus are erased. Take other roles away first."),
            )
        else:
            text = _("Erased. The history stays under %(pseudonym)s.")
            messages.success(request, text % {"pseudonym": pseudonym})
            return redirect("people:people")
    context = {"form": form, "person": shown}
    status = 422 if form.is_bound else 200
    return render(request, "people/person_erase.html", context, status=status)


@require_GET
@role_required(Role.MANAGER)
def tablet_list(request: AppRequest) -> HttpResponse:
    return _tablets(request, TabletForm())


def _tablets(request: AppRequest, form: TabletForm) -> HttpResponse:
    rows = Tablet.objects.filter(campus=request.campus).select_related("enrolled_by")
    in_use = sum(row.revoked_at is None for row in rows)
    heading = ngettext("%(n)d shop tablet", "%(n)d shop tablets", in_use) % {"n": in_use}
    context = {"tablets": rows, "form": form, "heading": heading}
    return render(request, "people/tablets.html", context, status=422 if form.is_bound else 200)


@require_POST
@role_required(Role.MANAGER)
@once_only
def tablet_enrol(request: AppRequest) -> HttpResponse:
    """Make the device this is sent from a shop tablet, and sign the manager out of it."""
    form = TabletForm(request.POST)
    if not form.is_valid():
        return _tablets(request, form)
    if request.tablet:  # the device had a name before; its old token ends
        tablets.revoke(tablet=request.tablet, by=request.user)
    _tablet, token = tablets.enrol(
        campus=request.campus, name=form.cleaned_data["name"], by=request.user
    )
    logout(request)  # a shared tablet must not keep a manager's session
    answer = redirect("people:tablet")
    tablets.set_cookie(answer, token)
    return answer


@require_POST
@role_required(Role.MANAGER)
@once_only
def tablet_revoke(request: AppRequest, pk: int) -> HttpResponse:
    tablet = get_object_or_404(Tablet, pk=pk, campus=request.campus)
    if tablets.revoke(tablet=tablet, by=request.user):
        text = _("%(tablet)s is no shop tablet any more; whoever is signed in there is out.")
        messages.success(request, text % {"tablet": tablet})
    return redirect("people:tablets")
