"""The shelf: its list, one item with its ledger, and what items, packs and suppliers are."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods

from curriculum.core.usage import Weekly, weekly
from curriculum.services.sheet import said
from inventory.forms.packs import PackForm
from inventory.forms.stock import ItemForm, ShelfFilter, SupplierForm
from inventory.models import Pack, StockItem, Supplier
from inventory.services import stock
from inventory.services.shelf import shelf_rows
from inventory.views.item import item_of, may_write
from shared.http import csv_response, render_page
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import once_only

ROWS = 60


def _found(request: AppRequest, form: ShelfFilter) -> QuerySet[StockItem]:
    chosen = form.cleaned_data if form.is_valid() else {}
    found = StockItem.objects.visible_to(request.user).filter(campus=request.campus)
    state = chosen.get("state")
    found = found.filter(is_active=state != "gone")
    if state == "short":
        found = found.filter(on_hand__lt=0)
    elif state == "count":
        found = found.filter(count_due__isnull=False)
    elif state == "quarantine":
        found = found.filter(quarantined=True)
    if chosen.get("kind"):
        found = found.filter(kind=chosen["kind"])
    for word in str(chosen.get("q", "")).split():
        found = found.filter(Q(name__icontains=word) | Q(spec_key__icontains=word))
    return found.order_by("kind", "name")


@require_GET
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
def items(request: AppRequest) -> HttpResponse:
    """List the shelf: what lies there, what is open, what is on order."""
    form = ShelfFilter(request.GET)
    page = Paginator(_found(request, form), ROWS).get_page(request.GET.get("page"))
    chosen = StockItem.objects.filter(pk__in=[item.pk for item in page]).order_by("kind", "name")
    whole = StockItem.objects.filter(campus=request.campus, is_active=True)
    context = {
        "form": form,
        "page": page,
        "rows": shelf_rows(chosen, request.campus, units_of(request)),
        "finding": _finding(whole),
        "may_write": may_write(request),
        "today": request.campus.today(),
    }
    return render_page(request, "inventory/items.html", "inventory/_items_rows.html", context)


def _finding(whole: QuerySet[StockItem]) -> str:
    short = whole.filter(on_hand__lt=0).count()
    due = whole.filter(count_due__isnull=False).count()
    if short:
        text = ngettext(
            "Shelf: %(n)d item is book short", "Shelf: %(n)d items are book short", short
        )
        return text % {"n": short}
    if due:
        text = ngettext("Shelf: %(n)d item to count", "Shelf: %(n)d items to count", due)
        return text % {"n": due}
    return _("Shelf: nothing is short, no count is asked for")


@require_GET
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
def items_csv(request: AppRequest) -> HttpResponse:
    """Hand out the filtered list as a table."""
    form = ShelfFilter(request.GET)
    rows = shelf_rows(_found(request, form), request.campus, units_of(request))
    header = [
        "item", "kind", "specification", "on shelf", "unit", "on shelf, base units", "base unit",
        "open packs", "left in open packs", "on order", "pack", "price", "value", "book short",
        "count asked for", "in quarantine",
    ]  # fmt: skip
    lines = (
        [
            row.item.name,
            row.item.kind,
            row.item.spec_key,
            row.on_hand.replace("−", "-"),
            row.scale.unit,
            row.item.on_hand,
            row.item.base_unit,
            len(row.in_use),
            row.left_open,
            row.on_order,
            row.pack.name if row.pack else "",
            row.pack.price if row.pack else "",
            "" if row.value is None else round(row.value, 2),
            _yes(row.item.book_short),
            row.item.count_due or "",
            _yes(row.item.quarantined),
        ]
        for row in rows
    )
    return csv_response(f"shelf-{request.campus.today()}.csv", header, lines)


def _yes(value: bool) -> str:
    return "yes" if value else ""


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def item_new(request: AppRequest) -> HttpResponse:
    """Put a new item on the list; its first pack comes next.

    The address may say what to fill in, as the list of what to order does for what it lacks.
    """
    asked = request.GET.dict()
    form = ItemForm(
        request.POST or None, campus=request.campus, units=units_of(request), initial=asked
    )
    if request.method == "POST" and form.is_valid():
        item = form.filled()
        if _kept(form, lambda: stock.save_item(item=item, by=request.user)):
            messages.success(request, _("%(item)s is on the list.") % {"item": item})
            return redirect("inventory:pack_new", item.pk)
    context = {"form": form, "weekly": [_start(one) for one in weekly()]}
    status = 422 if form.is_bound else 200
    return render(request, "inventory/item_form.html", context, status=status)


def _start(one: Weekly) -> tuple[str, str]:
    """Return the name of something that goes by the week, and the query that fills the form."""
    name = said(one.name)
    pieces, weeks = one.whole
    filled = {
        "kind": "sundry",
        "name": name.capitalize(),
        "thing": one.name,
        "per_student_week": pieces,
        "every_weeks": weeks,
    }
    return name, urlencode(filled)


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def item_edit(request: AppRequest, pk: int) -> HttpResponse:
    """Change what an item is; its ledger stays."""
    item = item_of(request, pk)
    form = ItemForm(request.POST or None, campus=request.campus, units=units_of(request), item=item)
    if request.method == "POST" and form.is_valid():
        changed = form.filled()
        if _kept(form, lambda: stock.save_item(item=changed, by=request.user)):
            messages.success(request, _("Saved."))
            return redirect("inventory:item", pk)
    context = {"form": form, "item": item}
    status = 422 if form.is_bound else 200
    return render(request, "inventory/item_form.html", context, status=status)


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def pack_new(request: AppRequest, pk: int) -> HttpResponse:
    """Add a pack to an item."""
    item = item_of(request, pk)
    return _pack(request, item, Pack(item=item))


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def pack_edit(request: AppRequest, pk: int) -> HttpResponse:
    """Change price, content, days or supplier of a pack."""
    pack = get_object_or_404(
        Pack.objects.select_related("item__campus"), pk=pk, item__campus=request.campus
    )
    return _pack(request, item_of(request, pack.item_id), pack)


def _pack(request: AppRequest, item: StockItem, pack: Pack) -> HttpResponse:
    form = PackForm(request.POST or None, instance=pack, item=item, units=units_of(request))
    if request.method == "POST" and form.is_valid():
        made = pack.pk is None
        if _kept(form, lambda: stock.save_pack(pack=form.instance, by=request.user)):
            text = _("%(pack)s was added.") if made else _("%(pack)s was saved.")
            messages.success(request, text % {"pack": pack})
            return redirect("inventory:item", item.pk)
    context = {"form": form, "item": item, "pack": pack}
    status = 422 if form.is_bound else 200
    return render(request, "inventory/pack_form.html", context, status=status)


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def suppliers(request: AppRequest) -> HttpResponse:
    """List who delivers, with what is bought there; add one."""
    return _suppliers(request, None)


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def supplier_edit(request: AppRequest, pk: int) -> HttpResponse:
    """Change the name or the delivery days of a supplier."""
    return _suppliers(request, get_object_or_404(Supplier, pk=pk, campus=request.campus))


def _suppliers(request: AppRequest, chosen: Supplier | None) -> HttpResponse:
    form = SupplierForm(request.POST or None, instance=chosen, campus=request.campus)
    if request.method == "POST" and form.is_valid():
        one = form.instance
        if _kept(form, lambda: stock.save_supplier(supplier=one, by=request.user)):
            messages.success(request, _("%(supplier)s was saved.") % {"supplier": one})
            return redirect("inventory:suppliers")
    days = dict(form.fields["delivery_weekdays"].choices)  # type: ignore[attr-defined]
    rows = [
        {
            "supplier": row,
            "days": [days[day] for day in sorted(row.delivery_weekdays) if day in days],
            "packs": row.packs.all(),
        }
        for row in Supplier.objects.filter(campus=request.campus).prefetch_related("packs__item")
    ]
    context: dict[str, Any] = {"form": form, "rows": rows, "chosen": chosen}
    status = 422 if form.is_bound else 200
    return render(request, "inventory/suppliers.html", context, status=status)


def _kept(form: BaseForm, save: Any) -> bool:
    """Save; else say that somebody was faster with the same name or specification."""
    try:
        with transaction.atomic():
            save()
    except IntegrityError:
        form.add_error(None, _("Someone else has just stored the same. Look at the list first."))
        return False
    return True
