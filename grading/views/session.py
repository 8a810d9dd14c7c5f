"""A session: who is here, where and on what; hold points; the day sheet on screen and paper."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from curriculum.models import Session, ShopClass
from curriculum.services.sheet_paper import paper_size
from curriculum.views.common import go_back, not_taken, own_classes, own_session
from grading.models import Attempt
from grading.services.attempts import NoHoldPoint, session_at, tap_hold
from grading.services.day import Day, load_day
from grading.services.day_sheet import day_sheet_context
from shared.paper import paper_response, qr_svg
from shared.people.access import AppRequest, role_required
from shared.people.models import Role
from shared.people.once import once_only


def running_classes(request: AppRequest) -> list[ShopClass]:
    """Return the running classes of this campus that the person teaches, else manages."""
    classes = list(
        own_classes(request)
        .filter(closed_at=None)
        .select_related("campus")
        .order_by("starts", "name")
    )
    taught = set(request.user.teachings.values_list("shop_class_id", flat=True))
    return [one for one in classes if one.pk in taught] or classes


def coming_session(shop_class: ShopClass) -> Session | None:
    """Return today's session, else the next one, else the last one there was."""
    today = session_at(shop_class, timezone.now())
    if today is not None:
        return today
    kept = shop_class.sessions.exclude(state=Session.State.LOST)
    after = kept.filter(date__gte=shop_class.campus.today()).order_by("date", "start").first()
    return after or shop_class.sessions.order_by("date", "start").last()


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def next_session(request: AppRequest) -> HttpResponse:
    """Go to the session that is on or next, of the class named or of the one that meets first."""
    classes = running_classes(request)
    wanted = [one for one in classes if str(one.pk) == request.GET.get("class")] or classes
    found = [one for shop_class in wanted if (one := coming_session(shop_class))]
    if found:
        today = request.campus.today()
        first = min(found, key=lambda one: (one.date < today, one.date, one.start))
        return redirect("grading:session", first.pk)
    return render(request, "grading/no_session.html", {"classes": classes})


def finding(day: Day) -> str:
    """Return the first line: the day, and what asks for attention."""
    waiting, holds = len(day.queue), len(day.holds)
    unplaced, idle = len(day.without_booth), len(day.without_work)
    parts = []
    if day.session.state != Session.State.PLANNED:
        parts.append(str(day.session.get_state_display()))
    if holds:
        parts.append(
            ngettext("%(n)d hold point waits", "%(n)d hold points wait", holds) % {"n": holds}
        )
    if waiting:
        parts.append(
            ngettext("%(n)d coupon to judge", "%(n)d coupons to judge", waiting) % {"n": waiting}
        )
    if unplaced:
        parts.append(
            ngettext("%(n)d without a booth", "%(n)d without a booth", unplaced) % {"n": unplaced}
        )
    if idle:
        parts.append(ngettext("%(n)d without work", "%(n)d without work", idle) % {"n": idle})
    return ", ".join(parts) or _("everybody has work and a booth")


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def session(request: AppRequest, pk: int) -> HttpResponse:
    """Show a session: the floor, everybody in the class, what waits."""
    row = own_session(request, pk)
    day = load_day(row)
    context = {
        **_about(row),
        "day": day,
        "floor": day.floor(),
        "finding": finding(day),
        "down": sum(booth.is_down for booth in day.booths),
        "classes": running_classes(request),
        "states": Session.State.choices,
    }
    return render(request, "grading/session.html", context)


def _about(row: Session) -> dict[str, Any]:
    pks = list(row.shop_class.sessions.order_by("date", "start", "pk").values_list("pk", flat=True))
    at = pks.index(row.pk)
    return {
        "session": row,
        "shop_class": row.shop_class,
        "number": at + 1,
        "last": len(pks),
        "before": pks[at - 1] if at else None,
        "after": pks[at + 1] if at + 1 < len(pks) else None,
    }


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def hold_tap(request: AppRequest, pk: int) -> HttpResponse:
    """Say that a hold point was looked at, or that the tap was a slip."""
    attempt = get_object_or_404(
        Attempt.objects.filter(shop_class__in=own_classes(request).values("pk"))
        .select_related("setup__version", "student"),
        pk=pk,
    )  # fmt: skip
    position, on = request.POST.get("position", ""), request.POST.get("on", "yes")
    try:
        if not position.isascii() or not position.isdigit() or on not in ("yes", "no"):
            raise NoHoldPoint
        tap_hold(
            attempt=attempt,
            position=int(position),
            by=request.user,
            now=timezone.now(),
            on=on == "yes",
        )
    except NoHoldPoint:
        return not_taken(_("The coupon's sheet has no such hold point."))
    words = {"mark": attempt.mark, "point": attempt.setup.version.hold_points[int(position)]}
    said = _("%(mark)s: %(point)s seen.") if on == "yes" else _("%(mark)s: %(point)s not seen yet.")
    messages.success(request, said % words)
    return go_back(request, reverse("grading:next_session"))


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def day_sheet(request: AppRequest, pk: int) -> HttpResponse:
    """Show the day sheet as it will be printed."""
    row = own_session(request, pk)
    context = {**_about(row), **day_sheet_context(load_day(row))}
    return render(request, "grading/day_sheet.html", context)


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def day_sheet_pdf(request: AppRequest, pk: int) -> HttpResponse:
    """Give the day sheet on the campus's paper, with a code that opens the session."""
    row = own_session(request, pk)
    url = request.build_absolute_uri(reverse("grading:session", args=[pk]))
    context = {
        **_about(row),
        **day_sheet_context(load_day(row)),
        "teachers": [
            one.instructor.name for one in row.shop_class.teachings.select_related("instructor")
        ],
        "paper": True,
        "code": qr_svg(url, millimetres=20),
    }
    name = f"day-sheet-{date_format(row.date, 'Y-m-d')}.pdf"
    return paper_response(
        request, "print/day_sheet.html", context, filename=name, size=paper_size(request.campus)
    )
