"""The student's pages: today, the sheet of what is welded, handing in, one's own record."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.models import Assignment
from curriculum.services.sheet import sheet_context
from grading.forms.log import LogForm
from grading.models import Attempt
from grading.services.attempts import (
    CouponRunning,
    NoSetup,
    NotInClass,
    NotOpen,
    NotRunning,
    log_attempt,
    newest_setup,
    start_attempt,
)
from grading.services.coupon import coupon_context, exercise_of
from grading.services.record import record_context
from grading.services.today import (
    could_be_next,
    given_to,
    pinned_version,
    running_coupon,
    today_context,
)
from shared.http import render_page
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import once_only


@require_GET
@role_required(Role.STUDENT)
def today(request: AppRequest) -> HttpResponse:
    """Show the one assignment that is open, a list to choose from, or what could be next."""
    given = given_to(request.user, request.campus)
    wanted = request.GET.get("assignment", "")
    picked = [one for one in given if str(one.assignment.pk) == wanted]
    if not picked and (len(given) == 1 or [one.state for one in given].count("working") == 1):
        picked = given[:1]
    if picked:
        context = today_context(given=picked[0], units=units_of(request), now=timezone.now())
        return render(request, "grading/today.html", {**context, "all_given": given})
    context = {"all_given": given}
    if not given:
        context["could_be"] = could_be_next(request.user, request.campus)
    return render(request, "grading/today_choose.html", context)


def _own_open(request: AppRequest, pk: int) -> Assignment:
    return get_object_or_404(
        Assignment.objects.filter(student=request.user, shop_class__campus=request.campus)
        .select_related("exercise", "shop_class__campus", "student"),
        pk=pk,
    )  # fmt: skip


@require_POST
@role_required(Role.STUDENT)
@once_only
def attempt_start(request: AppRequest, pk: int) -> HttpResponse:
    """Start the next coupon; where that cannot be, say why and write nothing."""
    assignment = _own_open(request, pk)
    try:
        attempt = start_attempt(assignment=assignment, by=request.user, now=timezone.now())
    except CouponRunning as running:
        messages.info(request, _("Coupon %(mark)s is begun.") % {"mark": running.attempt.mark})
    except NotOpen:
        messages.warning(request, _("This assignment is closed. Ask what is next."))
        return redirect("grading:today")
    except (NoSetup, NotInClass, ValueError):
        messages.error(
            request, _("This coupon cannot be started. Ask your instructor to assign it again.")
        )
    else:
        messages.success(request, _("Stamp %(mark)s on the plate.") % {"mark": attempt.mark})
    return redirect(f"{reverse('grading:today')}?assignment={assignment.pk}")


@require_GET
@role_required(Role.STUDENT)
def own_sheet(request: AppRequest, pk: int) -> HttpResponse:
    """Show the whole sheet: of the version the running coupon is welded to, else the newest."""
    assignment = _own_open(request, pk)
    running = running_coupon(assignment)
    setup = running.setup if running else newest_setup(assignment)
    if setup is None:
        messages.warning(request, _("There is no published sheet. Ask your instructor."))
        return redirect("grading:today")
    version = pinned_version(setup)
    context = sheet_context(
        version,
        setup.key,
        units=units_of(request),
        left_handed=request.user.left_handed,
    )
    # On the first visit the cautions stand open; once a coupon was made they are folded.
    context["cautions_folded"] = assignment.attempts.exists()
    return render(
        request, "grading/own_sheet.html", {**context, "assignment": assignment, "running": running}
    )


@require_http_methods(["GET", "POST"])
@role_required(Role.STUDENT)
@once_only
def log(request: AppRequest, pk: int) -> HttpResponse:
    """Hand a coupon in; sent again, or by a second tablet, it counts once."""
    attempt = get_object_or_404(
        Attempt.objects.filter(student=request.user, shop_class__campus=request.campus)
        .select_related("setup", "assignment__exercise", "student", "shop_class__campus"),
        pk=pk,
    )  # fmt: skip
    if attempt.state != Attempt.State.STARTED:
        messages.info(request, _("Coupon %(mark)s was handed in.") % {"mark": attempt.mark})
        return redirect("grading:attempt", attempt.pk)
    exercise, setup, rows = exercise_of(attempt)
    form = LogForm(
        request.POST if request.method == "POST" else None,
        exercise=exercise,
        setup=setup,
        criteria=list(zip(rows, exercise.criteria, strict=True)),
        units=units_of(request),
    )
    if request.method == "POST" and form.is_valid():
        try:
            log_attempt(attempt=attempt, by=request.user, now=timezone.now(), **form.values())
        except NotRunning:
            messages.info(request, _("Coupon %(mark)s was handed in.") % {"mark": attempt.mark})
        else:
            messages.success(request, _("Coupon %(mark)s is handed in.") % {"mark": attempt.mark})
        return redirect("grading:attempt", attempt.pk)
    context = {"form": form, "attempt": attempt, "exercise": exercise, "setup": setup}
    return render_page(
        request,
        "grading/log.html",
        "grading/_log_form.html",
        context,
        status=422 if form.errors else 200,
    )


@require_GET
@role_required(Role.STUDENT, Role.INSTRUCTOR, Role.MANAGER)
def attempt(request: AppRequest, pk: int) -> HttpResponse:
    """Show one coupon: what was read, what came of it and why."""
    row = get_object_or_404(
        Attempt.objects.visible_to(request.user)
        .filter(shop_class__campus=request.campus)
        .select_related("student", "shop_class", "assignment__exercise", "setup", "session")
        .distinct(),
        pk=pk,
    )
    own = row.student_id == request.user.pk
    context = coupon_context(row, units=units_of(request))
    return render(request, "grading/attempt.html", {**context, "is_own": own})


@require_GET
@role_required(Role.STUDENT)
def own_record(request: AppRequest) -> HttpResponse:
    """Show where one stands: the path of exercises, coupons, hours."""
    return render(request, "grading/own_record.html", record_context(request.user, request.campus))
