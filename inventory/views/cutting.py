"""Cutting plans: the list, a new one, one with its drawings, on paper, given up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from functools import wraps
from typing import Any

from django.contrib import messages
from django.core import signing
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.models import ShopClass
from inventory.core.sizes import Size
from inventory.forms.cutting import (
    CutLines,
    CutScopeForm,
    MachinesForm,
    cut_items,
    first_lines,
    lines_word,
)
from inventory.models import CutPlan
from inventory.services.blanks_needed import BlanksNeeded, blanks_needed
from inventory.services.cut_machines import cut_plan_pdf
from inventory.services.cut_pages import (
    PartShown,
    parts_by_machine,
    plan_rows,
    shown_parts,
    stock_words,
)
from inventory.services.cutplans import (
    Draft,
    NotOpen,
    Wanted,
    cancel_plan,
    draft_plans,
    store_plan,
)
from inventory.services.forecast import running_classes
from inventory.views.scope import may_buy
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import once_only

ROLES = (Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
PAGE = 20
SALT = "cutting.left_out"
SAID_LONG = 86_400  # s that a form may stay open


def plan_row(request: AppRequest, pk: int) -> CutPlan:
    """Return a plan of this campus with its parts; raise Http404 for another."""
    plans = CutPlan.objects.visible_to(request.user).filter(campus=request.campus)
    return get_object_or_404(plans.with_parts(), pk=pk)


def classes_of(request: AppRequest) -> list[ShopClass]:
    """Return the running classes the viewer plans for: the campus's, or an instructor's own."""
    running = running_classes(request.campus, request.campus.today())
    if may_buy(request):
        return running
    own = set(ShopClass.objects.taught_by(request.user).values_list("pk", flat=True))
    return [row for row in running if row.pk in own]


@require_GET
@role_required(*ROLES)
def cutting(request: AppRequest) -> HttpResponse:
    """List cutting plans: what is to be cut next, what is stale, what was cut."""
    plans = CutPlan.objects.visible_to(request.user).filter(campus=request.campus)
    waiting = plan_rows(
        list(plans.filter(state=CutPlan.State.OPEN).with_parts().order_by("first", "number"))
    )
    over = plans.exclude(state=CutPlan.State.OPEN).with_parts()
    page = Paginator(over, PAGE).get_page(request.GET.get("page"))
    context = {
        "waiting": waiting,
        "next": next((row for row in waiting if row.to_cut), None),
        "stale": [row for row in waiting if row.stale],
        "over": plan_rows(list(page.object_list)),
        "page": page,
    }
    return render(request, "inventory/cutting.html", context)


@dataclass(kw_only=True)
class Ask:
    """A new plan as it was asked for; `drafts` where nothing was wrong with it."""

    scope: CutScopeForm
    lines: Any
    machines: MachinesForm
    needed: BlanksNeeded | None = None
    instead: CutPlan | None = None
    gone: bool = False  # the plan it was to be instead of is not open any more
    left_out: list[dict[str, Any]] = field(default_factory=list)
    drafts: list[Draft] | None = None


def _drafted_first(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Plan what a form asks for before the view's transaction: it takes seconds."""

    @wraps(view)
    def drafted(request: AppRequest) -> HttpResponseBase:
        ask = _sent(request) if request.method == "POST" else _asked(request)
        if ask.scope.is_bound and ask.lines.is_bound and _sound(ask):
            ask.drafts = draft_plans(
                ask.lines.wanted, campus=request.campus, picked=ask.machines.picked
            )
        return view(request, ask)

    return drafted


def _sound(ask: Ask) -> bool:
    return all([not ask.gone, ask.scope.is_valid(), ask.lines.is_valid(), ask.machines.is_valid()])


def _sent(request: AppRequest) -> Ask:
    classes = classes_of(request)
    ask = Ask(
        scope=CutScopeForm(request.POST, available=classes, today=request.campus.today()),
        lines=_lines(request, request.POST),
        machines=MachinesForm(request.POST, campus=request.campus, prefix="on"),
        instead=_instead(request, request.POST.get("instead", "")),
    )
    ask.gone = bool(request.POST.get("instead")) and ask.instead is None
    try:
        ask.left_out = signing.loads(request.POST.get("left_out", ""), salt=SALT, max_age=SAID_LONG)
    except signing.BadSignature:
        ask.left_out = []
    return ask


def _asked(request: AppRequest) -> Ask:
    """Return the forms as they are opened: the need of the classes, nothing written yet."""
    classes, today = classes_of(request), request.campus.today()
    instead = _instead(request, request.GET.get("instead", ""))
    given: Any = request.GET
    if instead is not None and "first" not in given:
        given = given.copy()
        given["first"] = max(instead.first, today).isoformat()
        given["last"] = max(instead.last, today).isoformat()
        given["figure"] = instead.figure
        before = set(instead.classes.all())
        given.setlist("classes", [str(row.pk) for row in classes if row in before])
    scope = CutScopeForm(given, available=classes, today=today)
    needed = None
    if scope.is_valid() and classes:
        needed = _needed(request, scope)
    by_hand = _by_hand(instead) if instead else []
    empty = BlanksNeeded(lines=(), missing=(), problems=(), sessions=0)
    return Ask(
        scope=scope,
        lines=_lines(request, None, initial=first_lines(needed or empty, by_hand)),
        machines=MachinesForm(campus=request.campus, prefix="on"),
        needed=needed,
        instead=instead,
        left_out=_left_out(needed) if needed else [],
    )


def _needed(request: AppRequest, scope: CutScopeForm) -> BlanksNeeded:
    given = scope.cleaned_data
    return blanks_needed(
        scope.chosen,
        given["first"],
        given["last"],
        figure=given["figure"],
        campus=request.campus,
    )


def _left_out(needed: BlanksNeeded) -> list[dict[str, Any]]:
    return [
        {"name": one.name, "wanted_for": one.wanted_for, "needed": one.needed, "why": one.why}
        for one in needed.missing
    ]


def _lines(request: AppRequest, data: Any, initial: Any = None) -> Any:
    items = cut_items(request.campus)
    if initial:  # of items that are in use no more nothing is cut
        known = {row.pk for row in items}
        initial = [row for row in initial if row.get("item") is None or row["item"] in known]
    return CutLines(
        data,
        initial=initial,
        prefix="line",
        form_kwargs={"items": items, "units": units_of(request)},
    )


def _instead(request: AppRequest, pk: str) -> CutPlan | None:
    if not pk.isdecimal():
        return None
    plans = CutPlan.objects.visible_to(request.user).filter(campus=request.campus)
    return plans.filter(pk=int(pk), state=CutPlan.State.OPEN).first()


def _by_hand(plan: CutPlan) -> list[Wanted]:
    """Return the lines of a plan that no class asked for: they are asked for again."""
    parts = plan.parts.filter(done_at=None).select_related("item").prefetch_related("pieces")
    return [
        Wanted(
            item=part.item,
            size=Size(piece.length_um, piece.width_um),
            count=piece.count,
            rotate=piece.rotate,
            wanted_for=piece.wanted_for,
        )
        for part in parts
        for piece in part.pieces.all()
        if piece.needed is None
    ]


@require_http_methods(["GET", "POST"])
@role_required(*ROLES)
@_drafted_first
@once_only
def cutting_new(request: AppRequest, ask: Ask) -> HttpResponse:
    """Show the blanks that classes need, and plan how they are cut."""
    if ask.drafts:
        given = ask.scope.cleaned_data
        plan = store_plan(
            ask.drafts,
            campus=request.campus,
            classes=ask.scope.chosen,
            first=given["first"],
            last=given["last"],
            figure=given["figure"],
            left_out=ask.left_out,
            by=request.user,
            instead_of=ask.instead,
        )
        return redirect(plan)
    wrong = sum(bool(form.errors) for form in ask.lines.forms) if ask.lines.is_bound else 0
    context = {
        "ask": ask,
        "classes": ask.scope.available,
        "left_out": ask.left_out,
        "left_out_kept": signing.dumps(ask.left_out, salt=SALT),
        "problems": ask.needed.problems if ask.needed else (),
        "wrong": lines_word(wrong) if wrong else "",
        "to_cut": sum(line.to_cut for line in ask.needed.lines) if ask.needed else 0,
        "same_days": _same_days(request, ask),
        "scope_names": [(name, ask.scope[name].value()) for name in ("first", "last", "figure")],
    }
    refused = request.method == "POST" or bool(ask.scope.errors)
    return render(request, "inventory/cutting_new.html", context, status=422 if refused else 200)


def _same_days(request: AppRequest, ask: Ask) -> list[CutPlan]:
    """Return what waits to be cut for the same classes and days: it would be planned twice."""
    if not ask.scope.is_valid():
        return []
    given = ask.scope.cleaned_data
    plans = CutPlan.objects.visible_to(request.user).filter(
        campus=request.campus,
        state=CutPlan.State.OPEN,
        classes__in=ask.scope.chosen,
        first__lte=given["last"],
        last__gte=given["first"],
    )
    return list(plans.exclude(pk=ask.instead.pk) if ask.instead else plans)


def _title(plan: CutPlan, parts: list[PartShown]) -> str:
    words = {"number": plan.number}
    if plan.state == CutPlan.State.CANCELLED:
        return _("Cutting plan %(number)d: given up") % words
    if plan.state == CutPlan.State.DONE:
        return _("Cutting plan %(number)d: cut and booked") % words
    stock = stock_words([one.tally for one in parts if one.part.can_be_cut])
    if not stock:
        return _("Cutting plan %(number)d: nothing here can be cut") % words
    return _("Cutting plan %(number)d: %(stock)s to cut") % {**words, "stock": stock}


def _lead(plan: CutPlan) -> str:
    words = {"classes": _classes(plan), "figure": plan.get_figure_display(), **_days(plan)}
    return _("For %(classes)s, %(first)s to %(last)s, %(figure)s figure.") % words


def _classes(plan: CutPlan) -> str:
    return ", ".join(row.name for row in plan.classes.all()) or _("no class")


def _days(plan: CutPlan) -> dict[str, str]:
    return {
        "first": date_format(plan.first, "SHORT_DATE_FORMAT"),
        "last": date_format(plan.last, "SHORT_DATE_FORMAT"),
    }


@require_GET
@role_required(*ROLES)
def cutting_plan(request: AppRequest, pk: int) -> HttpResponse:
    """Show a plan: the answer, the drawings, the cut lists, and what cannot be cut."""
    plan = plan_row(request, pk)
    parts = shown_parts(plan, units=units_of(request))
    groups = parts_by_machine(parts)
    context = {
        "plan": plan,
        "title": _title(plan, parts),
        "lead": _lead(plan),
        "cost": sum((one.plan.cost for one in parts if one.plan), Decimal(0)),
        "groups": groups,
        "printable": any(group.machine for group in groups),
        "open": plan.state == CutPlan.State.OPEN,
        "stale": any(one.stale for one in parts),
        "may_order": may_buy(request),
    }
    return render(request, "inventory/cutting_plan.html", context)


@require_GET
@role_required(*ROLES)
def cutting_pdf(request: AppRequest, pk: int) -> HttpResponse:
    """Print a plan for the machine: what is still to be cut of it, all of it when that is done."""
    plan = plan_row(request, pk)
    parts = shown_parts(plan, units=units_of(request), paper=True)
    drawn = [one for one in parts if one.sheets and one.sheets.sheets]
    if not drawn:
        raise Http404
    left = [one for one in drawn if one.part.done_at is None] or drawn
    made = date_format(timezone.localtime(plan.made_at, request.campus.zone), "SHORT_DATE_FORMAT")
    return cut_plan_pdf(
        request,
        title=str(plan),
        jobs=[one.sheets for one in left if one.sheets],
        facts=[
            (_("For"), _classes(plan)),
            (_("Days"), _("%(first)s to %(last)s") % _days(plan)),
            (_("Planned"), f"{made}, {plan.made_by}"),
        ],
        url=request.build_absolute_uri(plan.get_absolute_url()),
        filename=f"cutting-plan-{plan.number}.pdf",
        size="Letter" if request.campus.paper == "Letter" else "A4",
    )


@require_POST
@role_required(*ROLES)
@once_only
def cutting_cancel(request: AppRequest, pk: int) -> HttpResponse:
    """Give a plan up."""
    plan = plan_row(request, pk)
    try:
        cancel_plan(plan=plan, by=request.user)
        messages.success(request, _("%(plan)s is given up; nothing was booked.") % {"plan": plan})
    except NotOpen:
        messages.info(request, _("%(plan)s was not open any more.") % {"plan": plan})
    return redirect("inventory:cutting")
