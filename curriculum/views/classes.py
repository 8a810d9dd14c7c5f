"""Classes: the list, one of them, who teaches it and who is in it."""

from __future__ import annotations

import io
from typing import Any

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.core.roster import Comparison
from curriculum.forms.classes import ClassForm, EnrolmentForm, RosterForm, TeachingForm
from curriculum.models import Session, ShopClass
from curriculum.services import classes as service
from curriculum.services import roster as rosters
from curriculum.services.plan_page import headline
from curriculum.views.common import class_context, own_class, read_class, session_url, url_if
from shared.http import AppRequest, UploadRefused, read_upload_text
from shared.people.access import role_required
from shared.people.audit import audit
from shared.people.models import Role
from shared.people.once import once_only

NEXT_SESSIONS = 4


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER, Role.CLERK)
def classes(request: AppRequest) -> HttpResponse:
    """List the classes one may see, those that run first."""
    today = request.campus.today()
    staying = Q(enrolments__left__isnull=True) | Q(enrolments__left__gt=today)
    held = Q(sessions__date__lt=today, sessions__state=Session.State.PLANNED)
    visible = ShopClass.objects.visible_to(request.user).filter(campus=request.campus)
    found = list(
        ShopClass.objects.filter(pk__in=visible.values("pk"))  # counts must not see its joins
        .annotate(
            students=Count("enrolments", staying, distinct=True),
            all_sessions=Count("sessions", distinct=True),
            held=Count("sessions", held, distinct=True),
        )
        .prefetch_related("teachings__instructor")
    )
    running = [one for one in found if one.starts <= today <= one.ends]
    coming = [one for one in found if one.starts > today]
    over = [one for one in found if one.ends < today]
    groups = [(_("Now"), running), (_("To come"), coming), (_("Over"), over)]
    context = {
        "groups": [(label, rows) for label, rows in groups if rows],
        "running": len(running),
        "may_add": bool({Role.INSTRUCTOR, Role.MANAGER} & request.roles),
    }
    return render(request, "curriculum/classes.html", context)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def class_new(request: AppRequest) -> HttpResponse:
    """Make a class; sessions and people follow on its own pages."""
    form = ClassForm(request.POST or None, campus=request.campus)
    if request.method == "POST" and form.is_valid():
        made = service.save_class(shop_class=form.save(commit=False), by=request.user)
        messages.success(request, _("The class is there. Next: its sessions and its roster."))
        return redirect("curriculum:sessions", made.pk)
    status = 422 if form.is_bound else 200
    return render(request, "curriculum/class_form.html", {"form": form}, status=status)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def class_edit(request: AppRequest, pk: int) -> HttpResponse:
    """Change a class."""
    shop_class = own_class(request, pk)
    form = ClassForm(request.POST or None, instance=shop_class, campus=request.campus)
    if request.method == "POST" and form.is_valid():
        service.save_class(shop_class=form.save(commit=False), by=request.user)
        messages.success(request, _("Saved."))
        return redirect("curriculum:shop_class", pk)
    if form.is_bound:
        shop_class.refresh_from_db()
    return _class_form(request, shop_class, {"form": form})


def _class_form(request: AppRequest, shop_class: ShopClass, given: dict[str, Any]) -> HttpResponse:
    instructors = shop_class.teachings.values_list("instructor", flat=True)
    context = {
        "form": ClassForm(instance=shop_class, campus=request.campus),
        "teaching": TeachingForm(shop_class=shop_class, initial={"instructors": list(instructors)}),
        "is_manager": Role.MANAGER in request.roles,
        **class_context(request, shop_class),
        **given,
    }
    bound = any(form.is_bound for form in given.values())
    status = 422 if bound else 200
    return render(request, "curriculum/class_form.html", context, status=status)


@require_POST
@role_required(Role.MANAGER)
@once_only
def teaching(request: AppRequest, pk: int) -> HttpResponse:
    """Say who teaches a class."""
    shop_class = own_class(request, pk)
    form = TeachingForm(request.POST, shop_class=shop_class)
    if not form.is_valid():
        return _class_form(request, shop_class, {"teaching": form})
    people = form.cleaned_data["instructors"]
    service.set_teaching(shop_class=shop_class, instructors=people, by=request.user)
    messages.success(request, _("Saved."))
    return redirect("curriculum:shop_class", pk)


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER, Role.CLERK)
def shop_class(request: AppRequest, pk: int) -> HttpResponse:
    """Show a class: who is in it, when it meets next, how full its plan is."""
    shown = read_class(request, pk)
    today = request.campus.today()
    sessions = list(shown.sessions.all())
    enrolments = list(shown.enrolments.select_related("student"))
    here = [one for one in enrolments if one.left is None or one.left > today]
    coming = [one for one in sessions if one.date >= today]
    numbers = service.by_number(sessions)
    context = {
        **class_context(request, shown),
        "here": [(one, url_if("grading:record", pk, one.student_id)) for one in here],
        "gone": [one for one in enrolments if one not in here],
        "teachings": shown.teachings.select_related("instructor"),
        "coming": [(numbers[one.pk], one, session_url(one)) for one in coming[:NEXT_SESSIONS]],
        "next": coming[0] if coming else None,
        "next_number": numbers[coming[0].pk] if coming else 0,
        "sessions": len(sessions),
        "held": sum(one.date < today and one.state == Session.State.PLANNED for one in sessions),
        "lost": sum(one.state == Session.State.LOST for one in sessions),
        "today": today,
        "plan": headline(shown, today=today),
    }
    return render(request, "curriculum/shop_class.html", context)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def roster(request: AppRequest, pk: int) -> HttpResponse:
    """Read a roster and say what it would change; nothing is stored here."""
    shop_class = own_class(request, pk)
    sent = request.method == "POST"
    form = RosterForm(request.POST, request.FILES) if sent else RosterForm()
    if not form.is_valid():
        return _roster(request, shop_class, form, status=422 if form.is_bound else 200)
    return _preview(request, shop_class, form)


def _preview(request: AppRequest, shop_class: ShopClass, form: RosterForm) -> HttpResponse:
    data, whole = form.data_given(), form.cleaned_data["whole"]
    try:
        found = rosters.preview(
            shop_class=shop_class, data=data, whole=whole, today=request.campus.today()
        )
    except UploadRefused as refused:
        form.add_error("file" if form.cleaned_data.get("file") else "text", str(refused))
        return _roster(request, shop_class, form, status=422)
    text = read_upload_text(io.BytesIO(data))
    faults = [
        {"fault": one, "message": one.message.in_words(_), "accepts": one.accepts}
        for one in found.roster.faults
    ]
    shown = {"preview": found.comparison, "faults": faults, "text": text, "whole": whole}
    shown |= {"unread": found.roster.unread, "changes": _changes(found.comparison)}
    if faults:  # what the file held stands in the text, to be corrected there
        form = RosterForm(initial={"text": text, "whole": whole})
    return _roster(request, shop_class, form, status=422 if faults else 200, **shown)


def _changes(found: Comparison) -> list[dict[str, Any]]:
    labels = {
        "name": _("name"),
        "sort_name": _("name in lists"),
        "group": _("group"),
        "joined": _("first day"),
        "left": _("left"),
        "attendance": _("attendance"),
    }
    return [
        {
            "student": one.student,
            "fields": [
                (labels[name], getattr(one.before, name), getattr(one.student, name))
                for name in one.fields
            ],
        }
        for one in found.changed
    ]


def _roster(
    request: AppRequest, shop_class: ShopClass, form: RosterForm, *, status: int, **shown: Any
) -> HttpResponse:
    context = {**class_context(request, shop_class), "form": form, **shown}
    return render(request, "curriculum/roster.html", context, status=status)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def roster_load(request: AppRequest, pk: int) -> HttpResponse:
    """Load a roster that was shown before, whole or not at all."""
    shop_class = own_class(request, pk)
    form = RosterForm(request.POST, request.FILES)
    if not form.is_valid():
        return _roster(request, shop_class, form, status=422)
    try:
        change = rosters.load(
            shop_class=shop_class,
            data=form.data_given(),
            whole=form.cleaned_data["whole"],
            today=request.campus.today(),
            by=request.user,
        )
    except (UploadRefused, rosters.RosterRefused):
        return _preview(request, shop_class, form)
    told = {
        "added": len(change.added),
        "changed": len(change.changed),
        "left": len(change.left),
        "unchanged": len(change.unchanged),
    }
    messages.success(
        request,
        _("Roster: %(added)d added, %(changed)d changed, %(left)d left, %(unchanged)d as before.")
        % told,
    )
    return redirect("curriculum:shop_class", pk)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def enrolment_edit(request: AppRequest, pk: int, student: int) -> HttpResponse:
    """Change a student's group, days and share of attendance in the class."""
    shop_class = own_class(request, pk)
    enrolment = get_object_or_404(shop_class.enrolments.select_related("student"), student=student)
    form = EnrolmentForm(request.POST or None, instance=enrolment)
    if request.method == "POST" and form.is_valid():
        form.save()
        audit(
            request.user,
            "enrolment.changed",
            enrolment,
            campus=request.campus,
            detail={"fields": form.changed_data},
        )
        messages.success(request, _("Saved."))
        return redirect("curriculum:shop_class", pk)
    context = {**class_context(request, shop_class), "form": form, "enrolment": enrolment}
    status = 422 if form.is_bound else 200
    return render(request, "curriculum/enrolment_edit.html", context, status=status)
