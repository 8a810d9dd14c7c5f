"""Requisitions: the list, one of them in each of its states, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import F, Prefetch, QuerySet, Sum
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.models import Closure
from inventory.core.orders import money
from inventory.forms.requisitions import (
    DeliveryForm,
    LineForm,
    ReceiptForm,
    RequisitionFilter,
    RequisitionForm,
    ReverseForm,
    line_forms,
    receipt_forms,
)
from inventory.models import ReceiptLine, Requisition, RequisitionLine, money_from_e4
from inventory.services import requisitions as services
from inventory.services.requisitions import Came, NoLines, ReceiptReversed, Wanted, WrongState
from shared.http import csv_response, render_page
from shared.paper import paper_response, qr_svg
from shared.people.access import AppRequest, role_required
from shared.people.models import Role
from shared.people.once import once_only

ROWS = 30
BUYERS = (Role.CLERK, Role.MANAGER)
_STATE = Requisition.State


@dataclass(frozen=True)
class LineRow:
    """A line with what came of it, and the form that is open on it."""

    line: RequisitionLine
    kept: int
    receipts: Sequence[ReceiptLine]
    form: LineForm | ReceiptForm | None = None

    @property
    def open(self) -> int:
        """Packs still to come."""
        return max(0, self.line.packs - self.kept)

    @property
    def over(self) -> int:
        """Packs that came beyond what was ordered."""
        return max(0, self.kept - self.line.packs)


def _visible(request: AppRequest) -> QuerySet[Requisition]:
    return Requisition.objects.visible_to(request.user).filter(campus=request.campus)


def _one(request: AppRequest, pk: int) -> Requisition:
    rows = _visible(request).select_related("campus", "shop_class", "created_by", "approved_by")
    return get_object_or_404(rows, pk=pk)


def _lines(requisition: Requisition) -> list[RequisitionLine]:
    receipts = ReceiptLine.objects.select_related("movement__item", "movement__pack", "by")
    return list(
        requisition.lines.select_related("item", "pack__supplier")
        .prefetch_related("item__packs", Prefetch("receipts", receipts))
        .order_by("item__kind", "item__name", "pk")
    )


def _kept(line: RequisitionLine) -> int:
    right = ReceiptLine.Outcome.RIGHT
    return sum(
        one.packs for one in line.receipts.all() if one.outcome == right and one.reversed_at is None
    )


def _rows(
    lines: Sequence[RequisitionLine], forms: Sequence[LineForm | ReceiptForm] = ()
) -> list[LineRow]:
    by_line = {
        (form.line if isinstance(form, ReceiptForm) else form.instance).pk: form for form in forms
    }
    return [
        LineRow(line, _kept(line), list(line.receipts.all()), by_line.get(line.pk))
        for line in lines
    ]


def _listed(request: AppRequest) -> tuple[RequisitionFilter, QuerySet[Requisition]]:
    form = RequisitionFilter(request.GET)
    # a sum over lines must not meet the join that a person's several roles double
    rows = Requisition.objects.filter(pk__in=_visible(request).values("pk"))
    rows = rows.select_related("shop_class", "created_by")
    if form.is_valid() and form.cleaned_data["state"]:
        rows = rows.filter(state=form.cleaned_data["state"])
    return form, rows.annotate(total_e4=Sum(F("lines__packs") * F("lines__price_e4"))).order_by(
        "-number"
    )


@require_GET
@role_required(*BUYERS)
def requisitions(request: AppRequest) -> HttpResponse:
    """List the requisitions of this campus, the newest first."""
    form, rows = _listed(request)
    page = Paginator(rows, ROWS).get_page(request.GET.get("page"))
    counts = {
        state: _visible(request).filter(state=state).count()
        for state in (_STATE.DRAFT, _STATE.APPROVED)
    }
    lines: dict[int, list[LineRow]] = {}
    for line in (
        RequisitionLine.objects.filter(requisition__in=list(page))
        .select_related("item")
        .prefetch_related("receipts")
    ):
        lines.setdefault(line.requisition_id, []).append(LineRow(line, _kept(line), ()))
    context = {
        "form": form,
        "page": page,
        "rows": [_list_row(row, lines.get(row.pk, [])) for row in page],
        "drafts": counts[_STATE.DRAFT],
        "ordered": counts[_STATE.APPROVED],
        "today": request.campus.today(),
    }
    return render_page(
        request, "inventory/requisitions.html", "inventory/_requisition_rows.html", context
    )


def _list_row(row: Requisition, lines: list[LineRow]) -> dict[str, Any]:
    coming = [one for one in lines if one.open] if row.state == _STATE.APPROVED else []
    days = [one.line.expected for one in coming if one.line.expected]
    return {
        "requisition": row,
        "lines": len(lines),
        "open": len(coming),
        "next": min(days, default=None),
        "total": money_from_e4(getattr(row, "total_e4", None) or 0),
    }


@require_GET
@role_required(*BUYERS)
def requisitions_csv(request: AppRequest) -> HttpResponse:
    """Hand out the filtered list as a table."""
    _form, rows = _listed(request)
    header = ["number", "state", "class", "account", "written", "approved", "total"]
    table = (
        [
            str(row),
            row.get_state_display(),
            row.shop_class,
            row.account,
            row.created_at.astimezone(request.campus.zone).date(),
            row.approved_at and row.approved_at.astimezone(request.campus.zone).date(),
            money(money_from_e4(getattr(row, "total_e4", None) or 0)),
        ]
        for row in rows
    )
    return csv_response(f"requisitions-{request.campus.today()}.csv", header, table)


def _page(
    request: AppRequest,
    requisition: Requisition,
    *,
    form: RequisitionForm | None = None,
    forms: Sequence[LineForm | ReceiptForm] = (),
    delivery: DeliveryForm | None = None,
    reverse_form: ReverseForm | None = None,
    reversed_pk: int | None = None,
    lines: list[RequisitionLine] | None = None,
    fault: str = "",
    status: int = 200,
) -> HttpResponse:
    """Render a requisition; forms that are not given are made fresh for its state."""
    lines = _lines(requisition) if lines is None else lines
    campus = request.campus
    if requisition.state == _STATE.DRAFT and form is None:
        form = RequisitionForm(instance=requisition, campus=campus)
        forms = line_forms(lines)
    if requisition.state == _STATE.APPROVED and delivery is None:
        delivery = DeliveryForm(today=campus.today())
        forms = receipt_forms(lines, campus)
    rows = _rows(lines, forms)
    context = {
        "requisition": requisition,
        "rows": rows,
        "total": sum((one.line.cost for one in rows), Decimal(0)),
        "form": form,
        "delivery": delivery,
        "reverse_form": reverse_form or ReverseForm(),
        "reversed_pk": reversed_pk,
        "fault": fault,
        "wrong": sum(bool(one.form and one.form.errors) for one in rows),
        "coming": [one for one in rows if one.open],
        "receipts": [(one, receipt) for one in rows for receipt in one.receipts],
        "may_approve": Role.MANAGER.value in request.roles,
        "today": campus.today(),
    }
    return render(request, "inventory/requisition.html", context, status=status)


@require_http_methods(["GET", "POST"])
@role_required(*BUYERS)
@once_only
def requisition(request: AppRequest, pk: int) -> HttpResponse:
    """Show a requisition; while it is a draft, change its lines, account and note."""
    found = _one(request, pk)
    if request.method == "GET":
        return _page(request, found)
    lines = _lines(found)
    form = RequisitionForm(request.POST, instance=found, campus=request.campus)
    forms = line_forms(lines, request.POST)
    valid = [each.is_valid() or _taken_out(each) for each in forms]
    if not (form.is_valid() and all(valid)):
        return _page(request, found, form=form, forms=forms, lines=lines, status=422)
    extra = form.cleaned_data["add_pack"]
    gone = [each.instance for each in forms if _taken_out(each)]
    try:
        services.change_draft(
            requisition=found,
            account=form.cleaned_data["account"],
            note=form.cleaned_data["note"],
            lines=[each.instance for each in forms if each.instance not in gone],
            gone=gone,
            extra=Wanted(extra, form.cleaned_data["add_packs"]) if extra else None,
            by=request.user,
        )
    except WrongState as error:
        return _wrong_state(request, error)
    messages.success(request, _("Saved."))
    return redirect(found)


def _taken_out(form: LineForm) -> bool:
    return bool(form.data.get(form.add_prefix("remove")))


def _wrong_state(request: AppRequest, error: WrongState) -> HttpResponse:
    found = _one(request, error.requisition.pk)
    text = _("Nothing was changed: %(name)s is %(state)s meanwhile.")
    names = {"name": found, "state": found.get_state_display()}
    return _page(request, found, fault=text % names, status=409)


@require_POST
@role_required(Role.MANAGER)
@once_only
def requisition_approve(request: AppRequest, pk: int) -> HttpResponse:
    """Approve a draft: from now on it is on order and counts in the forecast."""
    found = _one(request, pk)
    closed = list(Closure.objects.filter(campus=request.campus).values_list("date", flat=True))
    try:
        services.approve(requisition=found, by=request.user, now=timezone.now(), closed=closed)
    except WrongState as error:
        return _wrong_state(request, error)
    except NoLines:
        text = _("Nothing was approved: add at least one line first.")
        return _page(request, found, fault=text, status=422)
    messages.success(request, _("%(name)s is approved and on order.") % {"name": found})
    return redirect(found)


@require_POST
@role_required(*BUYERS)
@once_only
def requisition_cancel(request: AppRequest, pk: int) -> HttpResponse:
    """Give up a draft, or what is still to come of an order."""
    found = _one(request, pk)
    try:
        services.cancel(requisition=found, by=request.user)
    except WrongState as error:
        return _wrong_state(request, error)
    messages.success(request, _("%(name)s is cancelled.") % {"name": found})
    return redirect(found)


@require_POST
@role_required(*BUYERS)
@once_only
def receive(request: AppRequest, pk: int) -> HttpResponse:
    """Record a delivery line by line; the shelf rises with it."""
    found = _one(request, pk)
    lines = _lines(found)
    delivery = DeliveryForm(request.POST, today=request.campus.today())
    forms = receipt_forms(lines, request.campus, request.POST)
    valid = all([delivery.is_valid(), *(each.is_valid() for each in forms)])
    came = _came(forms) if valid else []
    if not came:
        fault = "" if not valid else _("Say at one line at least how many packs came.")
        return _page(
            request, found, delivery=delivery, forms=forms, lines=lines, fault=fault, status=422
        )
    try:
        over = services.receive(
            requisition=found,
            came=came,
            by=request.user,
            on=delivery.cleaned_data["received_on"],
        )
    except WrongState as error:
        return _wrong_state(request, error)
    kept = sum(one.right for one in came)
    text = ngettext("%(n)d pack is on the shelf.", "%(n)d packs are on the shelf.", kept)
    messages.success(request, text % {"n": kept})
    for line in over:
        text = _("More came of %(item)s than was ordered; it is counted.")
        messages.warning(request, text % {"item": line.item})
    return redirect(found)


def _came(forms: Sequence[ReceiptForm]) -> list[Came]:
    return [
        Came(
            line=each.line,
            right=each.cleaned_data["right"] or 0,
            wrong=each.cleaned_data["wrong"] or 0,
            instead=each.cleaned_data.get("instead"),
            note=each.cleaned_data["note"],
        )
        for each in forms
        if each.is_filled
    ]


@require_POST
@role_required(*BUYERS)
@once_only
def receipt_reverse(request: AppRequest, pk: int) -> HttpResponse:
    """Take a receipt back, with its stock."""
    rows = ReceiptLine.objects.filter(line__requisition__in=_visible(request))
    receipt = get_object_or_404(rows.select_related("movement", "line__requisition"), pk=pk)
    found = _one(request, receipt.line.requisition_id)
    form = ReverseForm(request.POST)
    if not form.is_valid():
        fault = str(form.errors["reason"][0])
        return _page(request, found, reverse_form=form, reversed_pk=pk, fault=fault, status=422)
    try:
        services.reverse_receipt(
            receipt=receipt, by=request.user, reason=form.cleaned_data["reason"]
        )
    except ReceiptReversed:
        fault = _("This receipt was taken back before.")
        return _page(request, found, fault=fault, status=409)
    messages.success(request, _("The receipt is taken back, and its packs with it."))
    return redirect(found)


@require_GET
@role_required(*BUYERS)
def requisition_pdf(request: AppRequest, pk: int) -> HttpResponse:
    """Print a requisition."""
    found = _one(request, pk)
    rows = _rows(_lines(found))
    context = {
        "requisition": found,
        "rows": rows,
        "total": sum((one.line.cost for one in rows), Decimal(0)),
        "qr": qr_svg(request.build_absolute_uri(found.get_absolute_url())),
    }
    return paper_response(
        request,
        "print/requisition.html",
        context,
        filename=f"requisition-{found.number}.pdf",
        size="Letter" if request.campus.paper == "Letter" else "A4",
    )


@require_GET
@role_required(*BUYERS)
def requisition_csv(request: AppRequest, pk: int) -> HttpResponse:
    """Hand out the lines of a requisition as a table, money exact."""
    found = _one(request, pk)
    header = ["requisition", "item", "specification", "pack", "supplier", "packs", "price"]
    header += ["cost", "order by", "expected", "received", "account"]
    table = (
        [
            str(found),
            row.line.item.name,
            row.line.item.spec_key,
            row.line.pack.name,
            row.line.pack.supplier,
            row.line.packs,
            money(row.line.price),
            money(row.line.cost),
            row.line.order_by,
            row.line.expected,
            row.kept,
            found.account,
        ]
        for row in _rows(_lines(found))
    )
    return csv_response(f"requisition-{found.number}.csv", header, table)
