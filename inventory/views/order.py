"""The forecast as pages: what to order, one item's outlook and how its figure came about."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_POST

from curriculum.models import Closure, ShopClass
from inventory.core.explain import explain
from inventory.forms.order import WhatIfForm
from inventory.models import StockItem
from inventory.services.forecast import forecast_basis, reckon
from inventory.services.orders import LATE, WITHIN, OrderList, OrderRow, order_list
from inventory.services.outlook import item_outlook
from inventory.services.requisitions import NothingToOrder, make_requisition, wanted_of
from inventory.services.what_if import differences, what_if
from inventory.views.scope import Scope, scope_of
from shared.http import csv_response, render_fragment, render_page
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import once_only

NOTHING_PICKED = gettext_lazy("Pick at least one item that has packs to order.")
NAMED = 3  # late items that the head of the page names


@require_GET
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
def to_order(request: AppRequest) -> HttpResponse:
    """List what to order by when, with one item's outlook under it."""
    return _order_page(request, scope_of(request))


def _order_page(request: AppRequest, scope: Scope, fault: str = "") -> HttpResponse:
    listed = order_list(scope.basis, scope.units)
    form = WhatIfForm({} if fault else request.GET)
    row = _row_shown(listed, "" if fault else request.GET.get("item", ""))
    late = listed.of(LATE)
    context: dict[str, Any] = {
        "scope": scope,
        "list": listed,
        "late_named": late[:NAMED],
        "late_more": len(late[NAMED:]),
        "what_if": form,
        "outlook": item_outlook(scope.basis, row) if row else None,
        "fault": fault,
        "urgent": (LATE, WITHIN),
    }
    if form.change:
        changed = what_if(scope.basis, **form.change)
        after = order_list(changed, scope.units)
        context |= {"after": after, "differences": differences(listed, after)}
    status = 422 if fault or form.errors else 200
    return render_page(
        request, "inventory/to_order.html", "inventory/_orders.html", context, status
    )


def _row_shown(listed: OrderList, asked: str) -> OrderRow | None:
    """Return the row asked for; else the first that is to be ordered, else the first."""
    by_pk = {str(row.item.pk): row for row in listed.rows}
    if asked:
        if asked not in by_pk:
            raise Http404
        return by_pk[asked]
    due = [row for row in listed.rows if row.found.order.packs]
    return next(iter(due + listed.rows), None)


@require_GET
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
def order_csv(request: AppRequest) -> HttpResponse:
    """Hand out the list as a table, figures in the reader's units."""
    scope = scope_of(request)
    listed = order_list(scope.basis, scope.units)
    header = ["item", "specification", "likely", "ample", "shelf", "on order", "unit"]
    header += ["runs out", "order by", "state", "packs", "pack", "price", "cost"]
    rows = [_csv_row(row) for row in listed.rows]
    rows += [
        [
            one.name,
            one.key,
            "",
            "",
            "",
            "",
            one.unit,
            "",
            "",
            "matches no stock item",
            "",
            "",
            "",
            "",
        ]
        for one in listed.missing
    ]
    return csv_response(f"to-order-{scope.basis.as_of}.csv", header, rows)


def _csv_row(row: OrderRow) -> list[object]:
    order, found = row.found.order, row.found
    figures = [found.total.likely, found.total.ample, found.on_hand, found.on_order]
    return [
        row.item.name,
        row.item.spec_key,
        *(float(f"{row.in_column(figure):.6g}") for figure in figures),
        row.unit,
        order.runs_out,
        order.order_by,
        row.state_words if row.state else "",
        order.packs,
        row.pack,
        row.pack.price if row.pack else None,
        order.cost_ample,
    ]


def _item_row(request: AppRequest, scope: Scope, pk: int) -> OrderRow:
    item = get_object_or_404(StockItem.objects.visible_to(request.user), pk=pk)
    rows = order_list(scope.basis, scope.units).rows
    row = next((row for row in rows if row.item.pk == item.pk), None)
    if row is None:
        raise Http404
    return row


@require_GET
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
def item_forecast(request: AppRequest, pk: int) -> HttpResponse:
    """Show one item's shelf against demand: a fragment of other pages."""
    scope = scope_of(request)
    row = _item_row(request, scope, pk)
    context = {"scope": scope, "outlook": item_outlook(scope.basis, row)}
    return render_fragment(request, "inventory/_item_forecast.html", context)


@require_GET
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
def forecast_steps(request: AppRequest, pk: int) -> HttpResponse:
    """Show how an item's figure came about, step by step with its sources."""
    scope = scope_of(request)
    row = _item_row(request, scope, pk)
    found = reckon(scope.basis)
    steps = explain(scope.basis.case, found, row.found.item)
    context = {
        "scope": scope,
        "row": row,
        "steps": [(step, scope.basis.tasks.get(step.subject)) for step in steps],
        "forecast": found,
    }
    return render(request, "inventory/forecast_steps.html", context)


@require_GET
@role_required(Role.INSTRUCTOR, Role.CLERK, Role.MANAGER)
def class_consumables(request: AppRequest, pk: int) -> HttpResponse:
    """Show what one class will use up: a fragment beside its plan."""
    shop_class = get_object_or_404(
        ShopClass.objects.visible_to(request.user).select_related("campus"),
        pk=pk,
        campus=request.campus,
    )
    basis = forecast_basis([shop_class], request.campus.today())
    listed = order_list(basis, units_of(request))
    used = [row for row in listed.rows if row.found.total.ample]
    context = {"shop_class": shop_class, "list": listed, "rows": used}
    return render_fragment(request, "inventory/_class_consumables.html", context)


@require_POST
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def requisition_make(request: AppRequest) -> HttpResponse:
    """Write a requisition for the items that were picked, as many packs as the forecast says."""
    scope = scope_of(request, _class_of(request.POST))
    picked = set(request.POST.getlist("item"))
    rows = [row for row in order_list(scope.basis, scope.units).rows if str(row.item.pk) in picked]
    closed = list(Closure.objects.filter(campus=request.campus).values_list("date", flat=True))
    try:
        requisition = make_requisition(
            campus=request.campus,
            wanted=wanted_of(rows),
            by=request.user,
            shop_class=scope.chosen,
            closed=closed,
        )
    except NothingToOrder:
        return _order_page(request, scope, str(NOTHING_PICKED))
    text = _("%(name)s is written. Check packs and prices, then have it approved.")
    messages.success(request, text % {"name": requisition})
    return redirect(requisition)


def _class_of(given: QueryDict) -> QueryDict:
    kept = QueryDict(mutable=True)
    kept["class"] = given.get("class", "")
    return kept
