"""When a class meets: a weekly pattern, single sessions, and those that are lost."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.core.sentence import in_words
from curriculum.forms.classes import PatternForm, SessionForm, StateForm
from curriculum.models import Session, ShopClass
from curriculum.services import classes as service
from curriculum.services.plan import Moved
from curriculum.views.common import (
    class_context,
    go_back,
    not_taken,
    own_class,
    own_session,
    read_class,
    session_url,
)
from shared.http import AppRequest
from shared.people.access import role_required
from shared.people.models import Role
from shared.people.once import once_only

PATTERN = ("start", "end", "weekdays", "starts_at", "ends_at", "net_minutes")


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER, Role.CLERK)
def sessions(request: AppRequest, pk: int) -> HttpResponse:
    """List the sessions; with a pattern in the query, show what it would make."""
    shop_class = read_class(request, pk)
    form = PatternForm(request.GET) if "start" in request.GET else None
    return _sessions(request, shop_class, form)


def _sessions(request: AppRequest, shop_class: ShopClass, form: PatternForm | None) -> HttpResponse:
    preview = _preview(shop_class, form) if form is not None and form.is_valid() else None
    rows = list(shop_class.sessions.all())
    closed = dict(shop_class.campus.closures.values_list("date", "label"))
    today = request.campus.today()
    numbers = service.by_number(rows)
    context = {
        **class_context(request, shop_class),
        "rows": [
            {
                "number": numbers[row.pk],
                "session": row,
                "url": session_url(row),
                "past": row.date < today,
                "closed": row.date in closed and row.state == Session.State.PLANNED,
                "label": closed.get(row.date, ""),
            }
            for row in rows
        ],
        "lost": sum(row.state == Session.State.LOST for row in rows),
        "theory": sum(row.state == Session.State.THEORY for row in rows),
        "hours": sum(r.net_minutes for r in rows if r.state == Session.State.PLANNED) / 60,
        "form": form or PatternForm(initial=_usual(shop_class, rows)),
        "preview": preview,
        "states": Session.State.choices,
    }
    bad = form is not None and preview is None
    return render(request, "curriculum/sessions.html", context, status=422 if bad else 200)


def _usual(shop_class: ShopClass, rows: list[Session]) -> dict[str, Any]:
    """What a class that meets already would write again."""
    usual: dict[str, Any] = {"start": shop_class.starts, "end": shop_class.ends}
    if rows:
        last = rows[-1]
        usual |= {"starts_at": last.start, "ends_at": last.end, "net_minutes": last.net_minutes}
        usual["weekdays"] = sorted({row.date.weekday() for row in rows[-8:]})
    return usual


def _pattern(form: PatternForm) -> dict[str, Any]:
    return {name: form.cleaned_data[name] for name in PATTERN}


def _preview(shop_class: ShopClass, form: PatternForm) -> service.PatternPreview | None:
    try:
        return service.preview_pattern(shop_class=shop_class, **_pattern(form))
    except ValueError as error:
        form.add_error(None, _in_words(error))
    return None


def _in_words(error: ValueError) -> str:
    return in_words(error.args[0], _) if error.args else ""


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def sessions_make(request: AppRequest, pk: int) -> HttpResponse:
    """Make the sessions of a pattern."""
    shop_class = own_class(request, pk)
    form = PatternForm(request.POST)
    if not form.is_valid() or _preview(shop_class, form) is None:
        return _sessions(request, shop_class, form)
    made = service.make_sessions(shop_class=shop_class, by=request.user, **_pattern(form))
    told = ngettext("%(n)d session made.", "%(n)d sessions made.", made) % {"n": made}
    messages.success(request, told)
    return redirect("curriculum:sessions", pk)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def session_new(request: AppRequest, pk: int) -> HttpResponse:
    """Add one session."""
    shop_class = own_class(request, pk)
    return _one(request, Session(shop_class=shop_class))


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def session_edit(request: AppRequest, pk: int) -> HttpResponse:
    """Change date, times, minutes or note of a session."""
    return _one(request, own_session(request, pk))


def _one(request: AppRequest, session: Session) -> HttpResponse:
    form = SessionForm(request.POST or None, instance=session)
    if request.method == "POST" and form.is_valid():
        try:
            service.save_session(session=form.save(commit=False), by=request.user)
        except service.AlreadyThere:
            form.add_error("start", _("The class meets at this date and time already."))
        else:
            messages.success(request, _("Saved."))
            return redirect("curriculum:sessions", session.shop_class_id)
    context = {
        **class_context(request, session.shop_class),
        "form": form,
        "session": session if session.pk else None,
    }
    status = 422 if form.is_bound else 200
    return render(request, "curriculum/session_form.html", context, status=status)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def session_remove(request: AppRequest, pk: int) -> HttpResponse:
    """Take a session out of the term, if nothing is known about it."""
    session = own_session(request, pk)
    day = date_format(session.date)
    try:
        moved = service.remove_session(session=session, by=request.user)
    except service.HasHistory:
        messages.error(
            request,
            _("%(day)s stays: people were there or have work for it. Say it is lost.")
            % {"day": day},
        )
    else:
        messages.success(request, " ".join([_("%(day)s is out.") % {"day": day}, *told(moved)]))
    return redirect("curriculum:sessions", session.shop_class_id)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def session_state(request: AppRequest, pk: int) -> HttpResponse:
    """Say that a session is lost, theory only, or planned; what follows shifts, or comes back."""
    session = own_session(request, pk)
    form = StateForm(request.POST)
    if not form.is_valid():
        return not_taken(_("A session is planned, theory only or lost."))
    moved = service.set_session_state(
        session=session,
        state=form.cleaned_data["state"],
        by=request.user,
        note=form.cleaned_data["note"] or None,
    )
    words = {"day": date_format(session.date), "state": session.get_state_display()}
    said = [_("%(day)s is %(state)s.") % words, *told(moved)]
    messages.success(request, " ".join(said))
    return go_back(request, reverse("curriculum:sessions", args=[session.shop_class_id]))


def told(moved: Moved) -> list[str]:
    """Return what moved in the plan, in sentences."""
    if not moved.changes:
        return []
    placed = [
        f"{entry.exercise.number} ({date_format(after.date, 'MONTH_DAY_FORMAT')})"
        for entry, _before, after in moved.changes
        if after is not None
    ]
    said = []
    if placed:
        said.append(
            _("In the plan these begin on another day: %(list)s.") % {"list": ", ".join(placed)}
        )
    if moved.past_the_end:
        numbers = ", ".join(entry.exercise.number for entry in moved.past_the_end)
        said.append(_("No session is left for %(list)s.") % {"list": numbers})
    return said
