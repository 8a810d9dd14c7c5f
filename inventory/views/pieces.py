"""Pieces by size at the shelf of an item, and the blanks of a session."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from curriculum.views.common import own_session
from inventory.core.sizes import size_text
from inventory.forms.pieces import CountPiecesForm, MovePiecesForm, ReceivePiecesForm
from inventory.models import SizedStock, StockItem
from inventory.services.ledger import ShelfOverflow
from inventory.services.pieces import (
    count_pieces,
    hand_out,
    receive_pieces,
    regrade,
    throw_away,
)
from inventory.services.scales import scale_of
from inventory.services.session_blanks import hand_out_blanks, session_blanks
from inventory.services.size_rows import is_cut, size_of, size_row
from inventory.views.item import item_of, may_write
from shared.http import render_fragment
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import FIELD, once_only


def _cut_item(request: AppRequest, pk: int) -> StockItem:
    item = item_of(request, pk)
    if not is_cut(item):
        raise Http404
    return item


def _key(request: AppRequest) -> str:
    return f"size:{request.POST[FIELD]}"


def _too_many(form: Any) -> None:
    form.add_error(None, _("The shelf cannot hold so much; write a smaller number."))


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def pieces_receive(request: AppRequest, pk: int) -> HttpResponse:
    """Put pieces on the shelf that came without a requisition."""
    item = _cut_item(request, pk)
    form = ReceivePiecesForm(
        request.POST or None, item=item, scale=scale_of(item, units_of(request))
    )
    if request.method == "POST" and form.is_valid():
        found = form.cleaned_data
        try:
            receive_pieces(
                item=item,
                form=found["form"],
                size=found["size"],
                pieces=found["pieces"],
                label=found["label"],
                key=_key(request),
                by=request.user,
                on=found["on"],
                reason=found["reason"],
            )
        except ShelfOverflow:
            _too_many(form)
        else:
            messages.success(request, _("Done: it is on the shelf."))
            return redirect("inventory:item", pk)
    context = {"form": form, "item": item}
    status = 422 if form.is_bound else 200
    return render(request, "inventory/pieces_receive.html", context, status=status)


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
@once_only
def pieces_move(request: AppRequest, pk: int) -> HttpResponse:
    """Hand out or throw away pieces of a size, or put graded ones with their kind."""
    row = get_object_or_404(
        SizedStock.objects.select_related("item__campus"), pk=pk, item__campus=request.campus
    )
    row.item = item_of(request, row.item_id)
    units = units_of(request)
    form = MovePiecesForm(request.POST or None, row=row, scale=scale_of(row.item, units))
    if request.method == "POST" and form.is_valid():
        try:
            _do(request, form)
        except ShelfOverflow:
            _too_many(form)
        else:
            if row.book_short:
                messages.warning(request, _("Done. The book is short of it: a count is asked for."))
            else:
                messages.success(request, _("Done."))
            return redirect("inventory:item", row.item_id)
    context = {
        "form": form,
        "row": row,
        "item": row.item,
        "may_write": may_write(request),
        "size": size_text(size_of(row), units),
    }
    status = 422 if form.is_bound else 200
    return render(request, "inventory/pieces_move.html", context, status=status)


def _do(request: AppRequest, form: MovePiecesForm) -> None:
    found = form.cleaned_data
    common: dict[str, Any] = {
        "sized": form.row,
        "pieces": found["pieces"],
        "key": _key(request),
        "by": request.user,
        "on": found["on"],
        "reason": found["reason"],
    }
    if found["act"] == form.HAND_OUT:
        hand_out(**common)
    elif found["act"] == form.THROW_AWAY:
        throw_away(**common)
    else:
        regrade(into=next(one for one in form.kinds if one == found["into"]), **common)


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def pieces_count(request: AppRequest, pk: int) -> HttpResponse:
    """Count an item by its sizes; what the book holds beyond them may go with it."""
    item = _cut_item(request, pk)
    units = units_of(request)
    rows = list(item.sizes.kept())
    form = CountPiecesForm(request.POST or None, item=item, rows=rows, units=units)
    if request.method == "POST" and form.is_valid():
        found = form.counted
        for kind, size, label, pieces in form.added:
            row = size_row(item, kind, size, label)
            found[row] = found.get(row, 0) + pieces
        try:
            lines = count_pieces(
                item=item,
                found=found,
                all_told=form.cleaned_data["all_told"],
                key=_key(request),
                by=request.user,
                reason=form.cleaned_data["reason"],
            )
        except ShelfOverflow:
            _too_many(form)
        else:
            text = _("Counted: the book was changed.") if lines else _("Counted: the book held.")
            messages.success(request, text)
            return redirect("inventory:item", pk)
    context = {
        "form": form,
        "item": item,
        "lines": [
            {"row": row, "size": size_text(size_of(row), units), "field": field}
            for row, field in form.lines
        ],
    }
    status = 422 if form.is_bound else 200
    return render(request, "inventory/pieces_count.html", context, status=status)


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def session_blanks_panel(request: AppRequest, pk: int) -> HttpResponse:
    """Show the blanks a session takes against the shelf; empty where it takes none."""
    session = own_session(request, pk)
    units = units_of(request)
    lines = session_blanks(session)
    context = {
        "session": session,
        "lines": [{"line": line, "size": size_text(line.size, units)} for line in lines],
        "still": sum(line.still for line in lines if line.can_go),
        "short": sum(line.short for line in lines),
        "needed": sum(line.needed for line in lines),
    }
    return render_fragment(request, "inventory/_session_blanks.html", context)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def session_blanks_out(request: AppRequest, pk: int) -> HttpResponse:
    """Hand out the blanks a session still needs, once, whoever else taps it too."""
    session = own_session(request, pk)
    pieces = hand_out_blanks(
        session=session,
        key=request.POST[FIELD],
        by=request.user,
        on=min(session.date, request.campus.today()),
    )
    if pieces:
        text = ngettext("%(n)d blank handed out.", "%(n)d blanks handed out.", pieces)
        messages.success(request, text % {"n": pieces})
    else:
        messages.info(request, _("They were handed out before."))
    return redirect("grading:session", pk)
