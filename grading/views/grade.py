"""Grading at the bench: the queue, one coupon a screen, its verdict, and what follows."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST, require_safe

from curriculum.models import Assignment, Exercise, ShopClass
from curriculum.views.common import (
    class_context,
    go_back,
    own_class,
    own_classes,
    student_of,
)
from grading.forms.grade import (
    DecisionForm,
    LookForm,
    MarkForm,
    TaskForm,
    VerdictForm,
    VoidForm,
    is_pk,
)
from grading.models import Attempt, AttemptQuerySet, Verdict
from grading.services import verdicts
from grading.services.attempts import NoSetup
from grading.services.attempts import practice_look as look
from grading.services.bench import bench_context, grade_form
from grading.services.coupon import exercise_of
from grading.services.heat import heat_context
from grading.services.standing import next_for, standings
from grading.services.verdicts import NeedsReason, NothingToTakeBack
from shared.http import render_page
from shared.people.access import AppRequest, role_required
from shared.people.models import Role
from shared.people.once import once_only

NEXT_OFFERED = 3


def _attempts(request: AppRequest) -> AttemptQuerySet:
    """Those whose class the person teaches or runs; never a student's own as such."""
    return Attempt.objects.filter(shop_class__in=own_classes(request))


def _waiting(shop_class: ShopClass) -> AttemptQuerySet:
    return shop_class.attempts.to_judge().select_related(
        "student", "assignment__exercise", "setup__version", "session"
    )


def _done(request: AppRequest) -> dict[str, Any]:
    """Return the coupon judged just before, with what its student may have next."""
    pk = request.GET.get("done", "")
    if not is_pk(pk):
        return {}
    attempt = _attempts(request).for_grading().filter(pk=pk).first()
    if attempt is None:
        return {}
    verdict = attempt.current_verdict
    found: dict[str, Any] = {"done": attempt, "done_verdict": verdict, "offered": []}
    if verdict and verdict.kind == Verdict.Kind.PASS:
        given = set(
            Assignment.objects.open()
            .filter(shop_class=attempt.shop_class, student=attempt.student)
            .values_list("exercise_id", "setup_key")
        )
        tasks = next_for(attempt.student_id, attempt.shop_class)
        found["offered"] = [one for one in tasks if one.key not in given][:NEXT_OFFERED]
        found["has_open"] = bool(given)
    elif verdict and verdict.kind == Verdict.Kind.REDO:
        states = standings(attempt.shop_class, students=[attempt.student_id])
        task = (attempt.assignment.exercise_id, attempt.assignment.setup_key)
        standing = states.get(attempt.student_id, {}).get(task)
        if standing and standing.redos >= attempt.shop_class.attempt_cap:
            found["tries"] = standing.redos
    return found


@require_safe
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def queue(request: AppRequest, pk: int) -> HttpResponse:
    """Coupons to judge, oldest first; a typed mark opens its coupon."""
    shop_class = own_class(request, pk)
    form = MarkForm(request.GET if "mark" in request.GET else None)
    if form.is_valid():
        found = shop_class.attempts.filter(mark=form.cleaned_data["mark"]).first()
        if found is not None:
            return redirect("grading:grade", found.pk)
        form.add_error("mark", _("No coupon of this class has the mark. Look at the day sheet."))
    waiting = list(_waiting(shop_class))
    running = shop_class.attempts.filter(state=Attempt.State.STARTED).select_related(
        "student", "assignment__exercise", "setup__version", "session"
    )
    last = (
        Verdict.objects.filter(attempt__shop_class=shop_class, by=request.user)
        .select_related("attempt")
        .order_by("pk")
        .last()
    )
    context = {
        **class_context(request, shop_class),
        "form": form,
        "waiting": waiting,
        "running": running.order_by("student__sort_name", "pk"),
        "last": last,
        **_done(request),
    }
    return render(request, "grading/queue.html", context, status=422 if form.errors else 200)


def _page(request: AppRequest, attempt: Attempt, context: dict[str, Any]) -> dict[str, Any]:
    marks = list(attempt.shop_class.attempts.to_judge().values_list("pk", flat=True))
    place = marks.index(attempt.pk) + 1 if attempt.pk in marks else 0
    heat = {}
    if not request.htmx:  # the fragment is asked for at every reading and does not show it
        exercise, setup, _rows = exercise_of(attempt)
        heat = heat_context(attempt, exercise, setup)
    return {
        **heat,
        "shop_class": attempt.shop_class,
        "place": place,
        "waiting_count": len(marks),
        "reason": "",
        **context,
    }


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def grade(request: AppRequest, pk: int) -> HttpResponse:
    """One coupon; asked by htmx with its fields, the verdict that is forming. Writes nothing."""
    attempt = get_object_or_404(_attempts(request).for_grading(), pk=pk)
    form = grade_form(attempt, request.GET) if request.htmx else None
    context = _page(request, attempt, bench_context(attempt, form))
    if not request.htmx:
        context |= _done(request)
    return render_page(request, "grading/grade.html", "grading/_forming.html", context)


def _refused(
    request: AppRequest, attempt: Attempt, form: Any, reason: str, error: str, where: str = "reason"
) -> HttpResponse:
    context = _page(request, attempt, bench_context(attempt, form))
    context |= {"reason": reason, f"{where}_error": error, "open_other": where == "reason"}
    return render(request, "grading/grade.html", context, status=422)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def verdict(request: AppRequest, pk: int) -> HttpResponse:
    """Store the readings; keep the coupon for later, confirm what the rubric says, or overrule."""
    attempt = get_object_or_404(_attempts(request).for_grading(), pk=pk)
    form, sent = grade_form(attempt, request.POST), VerdictForm(request.POST)
    reason = request.POST.get("reason", "")
    if not form.is_valid() or not sent.is_valid():
        error = _("Put the marked readings right; nothing is saved yet.")
        return _refused(request, attempt, form, reason, error, "page")
    now, act = timezone.now(), sent.cleaned_data["act"]
    verdicts.record_readings(attempt=attempt, readings=form.readings, by=request.user, now=now)
    if act == VerdictForm.KEEP:
        messages.success(request, _("%(mark)s: readings kept.") % {"mark": attempt.mark})
        return _go_on(attempt, done=False)
    if act == VerdictForm.CONFIRM:
        act = verdicts.reckon(verdicts.rubric_of(attempt), form.stated()).verdict
        if act not in Verdict.Kind.values:
            error = _("Not everything is read, so there is nothing to confirm: keep the readings.")
            return _refused(request, attempt, form, reason, error, "page")
    try:
        verdicts.confirm(
            attempt=attempt,
            kind=act,
            reason=sent.cleaned_data["reason"],
            by=request.user,
            now=now,
        )
    except NeedsReason as refused:
        error = _("Say why: the rubric says otherwise, or the verdict stood already.")
        if refused.computed == act:
            error = _("Say why you change the verdict that stood.")
        return _refused(request, attempt, form, reason, error)
    return _go_on(attempt)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def void(request: AppRequest, pk: int) -> HttpResponse:
    """Void a coupon with a reason: it counts neither against the student nor in the pass rate."""
    attempt = get_object_or_404(_attempts(request).for_grading(), pk=pk)
    form, sent = grade_form(attempt, request.POST), VoidForm(request.POST)
    reason = request.POST.get("reason", "")
    if not sent.is_valid():
        return _refused(request, attempt, form, reason, str(sent.errors["reason"][0]))
    if not form.is_valid():
        error = _("Put the marked readings right; nothing is saved yet.")
        return _refused(request, attempt, form, reason, error, "page")
    now = timezone.now()
    verdicts.record_readings(attempt=attempt, readings=form.readings, by=request.user, now=now)
    verdicts.confirm(
        attempt=attempt,
        kind=Verdict.Kind.VOID,
        reason=sent.cleaned_data["reason"],
        by=request.user,
        now=now,
    )
    return _go_on(attempt)


def _go_on(attempt: Attempt, *, done: bool = True) -> HttpResponseRedirect:
    """Go to the coupon that waits after this one, else the first, else to the empty queue."""
    waiting = attempt.shop_class.attempts.to_judge().exclude(pk=attempt.pk)
    after = waiting.filter(logged_at__gt=attempt.logged_at).first() if attempt.logged_at else None
    following = after or waiting.first()
    url = reverse("grading:queue", args=[attempt.shop_class_id])
    if following is not None:
        url = reverse("grading:grade", args=[following.pk])
    return redirect(f"{url}?{urlencode({'done': attempt.pk})}" if done else url)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def next_give(request: AppRequest, pk: int) -> HttpResponse:
    """Give the student of a judged coupon what is next, with one tap."""
    attempt = get_object_or_404(_attempts(request).for_grading(), pk=pk)
    form = TaskForm(request.POST)
    if not form.is_valid():
        return render(
            request, "grading/_refused.html", {"error": form.errors["task"][0]}, status=422
        )
    exercise, key = _task(request, form)
    try:
        given = verdicts.give_next(
            shop_class=attempt.shop_class,
            student=attempt.student,
            exercise=exercise,
            setup_key=key,
            by=request.user,
            now=timezone.now(),
        )
    except NoSetup:
        messages.error(request, _("No published version of the exercise has this setup."))
    else:
        words = {"name": attempt.student.name, "number": given.exercise.number, "key": key}
        messages.success(request, _("%(name)s has %(number)s %(key)s now.") % words)
    return go_back(request, reverse("grading:queue", args=[attempt.shop_class_id]))


def _task(request: AppRequest, form: TaskForm) -> tuple[Exercise, str]:
    pk, key = form.cleaned_data["task"]
    return get_object_or_404(Exercise.objects.of_campus(request.campus), pk=pk), key


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def decide(request: AppRequest, pk: int, student: int) -> HttpResponse:
    """Credit a setup, let the student move on, or take that back; always with a reason."""
    from grading.views.progress import record_page  # the page this form stands on

    shop_class = own_class(request, pk)
    person = student_of(shop_class, student)
    form = DecisionForm(request.POST)
    if not form.is_valid():
        return record_page(request, shop_class, person, form)
    exercise, key = _task(request, form)
    try:
        made = verdicts.decide(
            shop_class=shop_class,
            student=person,
            exercise=exercise,
            setup_key=key,
            kind=form.cleaned_data["kind"],
            reason=form.cleaned_data["reason"],
            by=request.user,
            now=timezone.now(),
        )
    except NothingToTakeBack:
        form.add_error("kind", _("It is neither credited nor moved on, so nothing is taken back."))
        return record_page(request, shop_class, person, form)
    words = {"number": exercise.number, "key": key, "kind": made.get_kind_display()}
    messages.success(request, _("%(number)s %(key)s: %(kind)s.") % words)
    return redirect("grading:record", shop_class.pk, person.pk)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def practice_look(request: AppRequest, pk: int) -> HttpResponse:
    """Note that practice was looked at, without a grade."""
    assignment = get_object_or_404(
        Assignment.objects.filter(shop_class__in=own_classes(request)).select_related(
            "shop_class__campus", "student"
        ),
        pk=pk,
    )
    form = LookForm(request.POST)
    if not form.is_valid():
        return render(
            request, "grading/_refused.html", {"error": form.errors["note"][0]}, status=422
        )
    look(
        assignment=assignment,
        by=request.user,
        note=form.cleaned_data["note"],
        now=timezone.now(),
    )
    words = {"name": assignment.student.name}
    messages.success(request, _("Practice of %(name)s looked at, without a grade.") % words)
    record = reverse("grading:record", args=[assignment.shop_class_id, assignment.student_id])
    return go_back(request, record)
