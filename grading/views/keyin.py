"""Keying a paper day sheet: 18 lines in one form, tabbed through from left to right."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.forms import formset_factory
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from curriculum.models import Session
from curriculum.views.common import class_context, own_session
from grading.core.marks import as_stamped
from grading.forms.keyin import LINES_MAX, LineForm
from grading.services.attempts import CouponRunning, NotOpen
from grading.services.keyin import Line, LineRefused, Target, key_in, targets
from shared.http import AppRequest
from shared.people.access import role_required
from shared.people.models import Role
from shared.people.once import once_only

SPARE = 3  # empty lines under the prefilled ones
LineFormSet = formset_factory(
    LineForm, extra=SPARE, max_num=LINES_MAX, validate_max=True, absolute_max=LINES_MAX
)


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def keyin(request: AppRequest, pk: int) -> HttpResponse:
    """Show the lines of a session's sheet; store them all, or show each error at its place."""
    session = own_session(request, pk)
    known = targets(session)
    if request.method == "POST":
        forms = LineFormSet(request.POST, prefix="line")
        lines = _read(forms, known, session)
        if lines and _store(request, session, forms, lines):
            return redirect("grading:queue", session.shop_class_id)
    else:
        forms = LineFormSet(initial=[{"mark": mark} for mark in known], prefix="line")
    wrong = forms.is_bound
    context = {
        "session": session,
        **class_context(request, session.shop_class),
        "forms": forms,
        "rows": [(form, known.get(_mark(form))) for form in forms],
        "wrong": sum(bool(form.errors) for form in forms) if wrong else 0,
        "nothing": wrong and not any(form.errors for form in forms),
    }
    return render(request, "grading/keyin.html", context, status=422 if wrong else 200)


def _mark(form: LineForm) -> str:
    return as_stamped(str(form["mark"].value() or ""))


def _read(forms: Any, known: dict[str, Target], session: Session) -> list[Line]:
    """Return the lines that say something, none where one has an error."""
    valid = forms.is_valid()
    lines, seen = [], set()
    for place, form in enumerate(forms):
        mark = _mark(form)
        if form.says_nothing and (not mark or mark in known):
            continue
        target = known.get(mark)
        if target is None:
            form.add_error("mark", _no_target(mark, session))
        elif mark in seen:
            form.add_error("mark", _("This mark stands on another line too."))
        elif form.is_valid() and form.read(target.criteria):
            data = form.cleaned_data
            lines.append(
                Line(
                    place=place,
                    target=target,
                    current=data["current"],
                    rods=data["rods"],
                    readings=form.said,
                    verdict=data["verdict"],
                    reason=data["reason"],
                )
            )
        seen.add(mark)
    return lines if valid and not any(form.errors for form in forms) else []


def _no_target(mark: str, session: Session) -> str:
    if not mark:
        return _("Write the mark on the steel.")
    judged = session.shop_class.attempts.filter(mark=mark).exists()
    if judged:
        return _("%(mark)s is judged already; open it in the queue to change it.") % {"mark": mark}
    return _("No open work has the mark %(mark)s; look at the day sheet.") % {"mark": mark}


def _store(request: AppRequest, session: Session, forms: Any, lines: list[Line]) -> bool:
    try:
        stored = key_in(session=session, lines=lines, by=request.user, now=timezone.now())
    except LineRefused as refused:
        forms[refused.place].add_error(refused.name, refused.message)
        return False
    except (CouponRunning, NotOpen):
        first = lines[0].place
        forms[first].add_error(
            "mark", _("Somebody changed the work of this student meanwhile; open the page again.")
        )
        return False
    words = ngettext("%(n)d line keyed.", "%(n)d lines keyed.", len(stored)) % {"n": len(stored)}
    messages.success(request, words)
    return True
