"""One material of a cutting plan: booked as cut, searched for longer, as it would be if."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from inventory.core.cutting import Plan, PlanError
from inventory.core.sizes import Size, size_text
from inventory.forms.cut_done import CutDoneForm
from inventory.forms.cutting import CutWhatIfForm
from inventory.models import CutPart, CutPlan, CuttingMachine
from inventory.services.cut_booking import book_part
from inventory.services.cut_pages import StockNames, answer_of
from inventory.services.cut_search import begin_search, end_search
from inventory.services.cut_what_if import Variant, variants
from inventory.services.cutplans import NotOpen, plan_of, problem_of, stale_parts
from inventory.services.scales import scale_of
from inventory.services.sized import FitsInNone, MoreThanWentIn
from inventory.services.stock import InQuarantine
from inventory.views.cutting import ROLES
from shared.http import render_fragment
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.once import once_only


def _part(request: AppRequest, pk: int) -> CutPart:
    """Return a part of a plan of this campus; raise Http404 for another."""
    plans = CutPlan.objects.visible_to(request.user).filter(campus=request.campus)
    rows = CutPart.objects.filter(plan__in=plans).select_related(
        "plan", "item__campus", "machine", "done_by"
    )
    return get_object_or_404(rows.prefetch_related("pieces", "item__packs"), pk=pk)


def _planned(part: CutPart) -> Plan:
    try:
        plan = plan_of(part)
    except PlanError:
        plan = None  # its page says so
    if plan is None or not plan.layouts:
        raise Http404
    return plan


@require_http_methods(["GET", "POST"])
@role_required(*ROLES)
@once_only
def cutting_done(request: AppRequest, pk: int) -> HttpResponse:
    """Book what really came off, as planned where nothing is changed."""
    part = _part(request, pk)
    plan, units = _planned(part), units_of(request)
    if part.done_at is not None or part.plan.state != CutPlan.State.OPEN:
        messages.info(request, _("That is booked or given up already."))
        return redirect(part.plan)
    names = StockNames([part], units)
    form = CutDoneForm(
        request.POST or None, part=part, plan=plan, names=names.names(part), units=units
    )
    if request.method == "POST" and form.is_valid():
        fault = _book(request, part, form)
        if not fault:
            words = _("%(item)s: sheets are out, blanks and remnants on the shelf.")
            messages.success(request, words % {"item": part.item})
            return redirect(part.plan)
        form.add_error(None, fault)
    context = {
        "part": part,
        "plan": part.plan,
        "form": form,
        "answer": answer_of(plan, names.tally(part, plan)),
        "stale": part.pk in stale_parts([part]),
    }
    status = 422 if form.errors else 200
    return render(request, "inventory/cutting_done.html", context, status=status)


def _book(request: AppRequest, part: CutPart, form: CutDoneForm) -> str:
    """Book it; return what is in the way, or an empty text."""
    units = units_of(request)
    try:
        book_part(part=part, came=form.came, by=request.user, on=form.cleaned_data["on"])
    except MoreThanWentIn as error:
        scale = scale_of(part.item, units)
        return _("That is more than was cut up: %(made)s of %(used)s. Check sheets and counts.") % {
            "made": scale.show(error.made),
            "used": scale.show(error.used),
        }
    except FitsInNone as error:
        return _("%(size)s fits into nothing that was cut up; check the sizes and the sheets.") % {
            "size": size_text(error.size, units)
        }
    except InQuarantine:
        return _("Its grade is unknown: it is in quarantine, and nothing may be cut of it.")
    except NotOpen:
        return _("The plan was given up meanwhile; make a new one.")
    return ""


@require_POST
@role_required(*ROLES)
@once_only
def cutting_search(request: AppRequest, pk: int) -> HttpResponse:
    """Search longer for a better plan in the background, or end that."""
    part = _part(request, pk)
    if request.POST.get("do") == "end":
        end_search(part=part)
        messages.info(request, _("The search is ended; the best plan it found stands here."))
    else:
        try:
            begin_search(part=part)
        except NotOpen:
            messages.info(request, _("That is booked or given up already."))
    return redirect(f"{part.plan.get_absolute_url()}#part-{part.pk}")


@require_GET
@role_required(*ROLES)
def cutting_state(request: AppRequest, pk: int) -> HttpResponse:
    """Tell how a search is getting on: a fragment that asks again while it lasts."""
    part = _part(request, pk)
    plan = _planned(part)
    names = StockNames([part], units_of(request))
    context = {
        "part": part,
        "answer": answer_of(plan, names.tally(part, plan)),
        "searching": part.searching(timezone.now()),
        "asked": True,
    }
    return render_fragment(request, "inventory/_cutting_search.html", context)


@require_GET
@role_required(*ROLES)
def cutting_what_if(request: AppRequest, pk: int) -> HttpResponse:
    """Show a part beside what it would be with other stock, blanks bought cut, or another cut."""
    part = _part(request, pk)
    plan, problem, units = _planned(part), problem_of(part), units_of(request)
    machines = CuttingMachine.objects.filter(campus=request.campus).working()
    blanks = [
        (str(place), size_text(Size(piece.length_um, piece.width_um), units))
        for place, piece in enumerate(part.pieces.all(), start=1)
    ]
    asked: Any = request.GET if "sheet" in request.GET else None
    form = CutWhatIfForm(asked, item=part.item, blanks=blanks, machines=list(machines))
    found: list[Variant] = []
    if form.is_bound and form.is_valid():
        found = variants(part, problem, plan, form.cleaned_data, units=units)
    context = {
        "part": part,
        "plan": part.plan,
        "form": form,
        "variants": found,
        "answer": answer_of(plan, StockNames([part], units).tally(part, plan)),
    }
    status = 422 if form.errors else 200
    return render(request, "inventory/cutting_what_if.html", context, status=status)
