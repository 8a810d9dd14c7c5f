"""What is done at the shelf: move, finish a pack, reverse a line, ask for a count, count."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from inventory.forms.cylinders import ReadingForm, WarmthForm
from inventory.forms.moves import (
    AmountForm,
    CountForm,
    ExchangeForm,
    FinishForm,
    MoveForm,
    OpenForm,
    ReverseForm,
)
from inventory.models import CutPlan, Movement, OpenPack, SizedStock, StockItem
from inventory.services import stock
from inventory.services.cylinders import Found, keep_readings
from inventory.services.learning import learned_factor, take_factor
from inventory.services.ledger import AlreadyReversed, LeftoverReturned, finish_pack, reverse
from inventory.services.reversal import plan_booked_by, undone
from inventory.services.scales import scale_of
from inventory.services.shelf import cylinders_in_use, dear_rows, last_counts, packs_in_use
from inventory.views.item import act_form, acts_of, item_of, item_page
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import FIELD, once_only

Kind = Movement.Kind


def _key(request: AppRequest, what: str) -> str:
    """Return a ledger key that is the same for a form sent again."""
    return f"{what}:{request.user.pk}:{request.POST[FIELD]}"


@require_POST
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
@once_only
def move(request: AppRequest, pk: int) -> HttpResponse:
    """Do one act at the shelf of an item: receive, open, exchange, cut, hand out, take back."""
    item = item_of(request, pk)
    kind = next((act for act in acts_of(request, item) if act == request.POST.get("act")), None)
    if kind is None:
        raise Http404
    units = units_of(request)
    in_use = packs_in_use([item], request.campus, units).get(item.pk, ())
    form = act_form(kind, item, scale_of(item, units), in_use, request.POST)
    if not form.is_valid():
        return item_page(request, item, form=form, kind=kind, status=422)
    try:
        _do(request, form, kind)
    except stock.InQuarantine:
        form.add_error(
            None,
            _("It is in quarantine: have its grade checked, then take it out of quarantine first."),
        )
        return item_page(request, item, form=form, kind=kind, status=422)
    item.refresh_from_db(fields=["on_hand", "count_due"])
    left = scale_of(item, units).show(item.on_hand)
    if item.book_short:
        text = _("Done. The book says %(left)s: a count is asked for.")
        messages.warning(request, text % {"left": left})
    else:
        messages.success(request, _("Done: %(left)s on the shelf.") % {"left": left})
    return redirect("inventory:item", pk)


def _do(request: AppRequest, form: MoveForm, kind: Kind) -> None:
    found = form.cleaned_data
    common: dict[str, Any] = {
        "key": _key(request, kind),
        "by": request.user,
        "on": found["on"],
        "reason": found["reason"],
    }
    if isinstance(form, AmountForm):
        stock.move_amount(
            item=form.item, kind=kind, amount=found["amount"], pack=form.pack, **common
        )
    elif isinstance(form, OpenForm):
        stock.take_packs(pack=found["pack"], packs=found["packs"], **common)
    elif isinstance(form, ExchangeForm):
        stock.exchange(
            pack=found["pack"],
            replaces=form.replaces,
            left=found.get("left") or 0,
            stays=found.get("stays", False),
            mark=found["mark"],
            **common,
        )


@require_POST
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
@once_only
def pack_finish(request: AppRequest, pk: int) -> HttpResponse:
    """Put an open pack away: empty, or with what is left in it."""
    opened = get_object_or_404(
        OpenPack.objects.select_related("item__campus"), pk=pk, item__campus=request.campus
    )
    item = item_of(request, opened.item_id)
    in_use = packs_in_use([item], request.campus, units_of(request)).get(item.pk, ())
    one = next((each for each in in_use if each.pack.pk == pk), None)
    if one is None:
        messages.info(request, _("That pack was put away before."))
        return redirect("inventory:item", item.pk)
    form = FinishForm(request.POST, one=one)
    if not form.is_valid():
        return item_page(request, item, finishing=(pk, form), status=422)
    finish_pack(
        open_pack=one.pack,
        left=form.cleaned_data["left"] or 0,
        stays=form.cleaned_data.get("stays"),
        key=_key(request, "finish"),
        by=request.user,
    )
    messages.success(request, _("Put away."))
    return redirect("inventory:item", item.pk)


@require_POST
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
@once_only
def cylinder_read(request: AppRequest, pk: int) -> HttpResponse:
    """Keep what the gauge of an open cylinder, or the scale under it, shows."""
    opened = get_object_or_404(
        OpenPack.objects.select_related("item__campus"),
        pk=pk,
        item__campus=request.campus,
        item__kind=StockItem.Kind.GAS,
    )
    item = item_of(request, opened.item_id)
    units = units_of(request)
    in_use = packs_in_use([item], request.campus, units).get(item.pk, ())
    one = next((each for each in in_use if each.pack.pk == pk), None)
    if one is None:
        messages.info(request, _("That pack was put away before."))
        return redirect("inventory:item", item.pk)
    warmth = WarmthForm(request.POST, system=units)
    temperature = warmth.cleaned_data["temperature"] if warmth.is_valid() else None
    form = ReadingForm(request.POST, one=one, temperature=temperature)
    read = form.is_valid() and temperature is not None
    if read and form.found is None:
        form.add_error("now", _("Nothing is written: write what it shows."))
    if not read or form.found is None:
        return item_page(request, item, reading=(pk, form, warmth), status=422)
    keep_readings(found=[form.found], key=_key(request, "gauge"), by=request.user)
    text = _("Kept: about %(left)s left.")
    messages.success(request, text % {"left": one.scale.show(form.found.left, 3)})
    return redirect("inventory:item", item.pk)


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def movement_reverse(request: AppRequest, pk: int) -> HttpResponse:
    """Ask why, then take a wrong line of the ledger back by one of the opposite sign."""
    rows = Movement.objects.select_related(
        "item__campus", "by", "pack", "receipt_line__line__requisition", "reversed_by"
    ).prefetch_related("item__packs")
    line = get_object_or_404(rows, pk=pk, item__campus=request.campus)
    receipt = getattr(line, "receipt_line", None)
    form, units = ReverseForm(request.POST or None), units_of(request)
    plan = plan_booked_by(line)
    given_up = plan is not None and plan.state == CutPlan.State.CANCELLED
    if request.method == "POST" and form.is_valid():
        fault = _reversed(request, line, form.cleaned_data["reason"])
        if fault is None:
            again = _("Reversed; of %(plan)s this is to be cut again.") % {"plan": plan}
            messages.success(request, again if plan and not given_up else _("Reversed."))
            return redirect("inventory:item", line.item_id)
        form.add_error(None, fault)
    context = {
        "form": form,
        "line": line,
        "shown": scale_of(line.item, units).show(line.quantity),
        "requisition": receipt.line.requisition if receipt else None,
        "plan": plan,
        "given_up": given_up,
        "undone": undone(line, units),
        "over": line.kind == Kind.REVERSE or getattr(line, "reversed_by", None) is not None,
    }
    status = 422 if form.is_bound else 200
    return render(request, "inventory/movement_reverse.html", context, status=status)


def _reversed(request: AppRequest, line: Movement, reason: str) -> str | None:
    """Reverse; else return why that cannot be."""
    receipt = getattr(line, "receipt_line", None)
    if receipt is not None and receipt.reversed_at is None:
        return _("This line came with a requisition: reverse its receipt there.")
    try:
        reverse(movement=line, by=request.user, reason=reason, key=_key(request, "reverse"))
    except AlreadyReversed:
        return _("This line was reversed before, or is a reversal itself.")
    except LeftoverReturned:
        return _("What was left in this pack is back on the shelf: reverse that line first.")
    return None


@require_POST
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
@once_only
def ask_count(request: AppRequest, pk: int) -> HttpResponse:
    """Put an item on the list to count."""
    item = item_of(request, pk)
    stock.ask_count(item=item, by=request.user)
    messages.success(request, _("It is on the list to count."))
    return redirect("inventory:item", pk)


@require_POST
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def factor_take(request: AppRequest, pk: int) -> HttpResponse:
    """Let the forecast use the factor that the counts of an item say."""
    item = item_of(request, pk)
    found = learned_factor(item)
    if found is None or str(found.count.pk) != request.POST.get("count"):
        messages.warning(request, _("There is a newer count: look at what it says first."))
    else:
        take_factor(item=item, learned=found, by=request.user)
        messages.success(request, _("The forecast uses it from now on."))
    return redirect("inventory:item", pk)


@require_http_methods(["GET", "POST"])
@role_required(Role.CLERK, Role.MANAGER)
@once_only
def shelf_count(request: AppRequest) -> HttpResponse:
    """Key what lies on the shelf of the ten dearest items and what open cylinders show.

    All lines are kept, or none.
    """
    units = units_of(request)
    data = request.POST or None
    rows = dear_rows(request.campus, units)
    forms = [CountForm(data, row=row) for row in _as_sent(request, rows, units)]
    warmth = WarmthForm(data, system=units)
    temperature = warmth.cleaned_data["temperature"] if warmth.is_valid() else None
    cylinders = [
        ReadingForm(data, one=one, temperature=temperature)
        for one in cylinders_in_use(request.campus, units)
    ]
    nothing = False
    sent = [*forms, *cylinders, *([warmth] if cylinders else [])]
    valid = [form.is_valid() for form in sent]  # each, so that each says what is wrong
    if request.method == "POST" and all(valid):
        counts = [
            stock.Count(form.row.item, form.found, form.cleaned_data["reason"])
            for form in forms
            if form.found is not None
        ]
        found = [form.found for form in cylinders if form.found is not None]
        if counts or found:
            _keep(request, counts, found)
            return redirect("inventory:shelf_count")
        nothing = True
    short = SizedStock.objects.filter(item__in=[form.row.item for form in forms], count__lt=0)
    context = {
        "forms": forms,
        "short_of_a_size": set(short.values_list("item", flat=True)),
        "cylinders": cylinders,
        "warmth": warmth,
        "wrong": [form for form in sent if form.is_bound and form.errors],
        "nothing": nothing,
        "due": sum(form.row.item.count_due is not None for form in forms),
        "counted": last_counts(request.campus, units),
        "today": request.campus.today(),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "inventory/shelf_count.html", context, status=status)


@transaction.atomic
def _keep(request: AppRequest, counts: list[stock.Count], found: list[Found]) -> None:
    """Keep a round, all of it or nothing, and say so."""
    key = _key(request, "count")
    stock.keep_counts(counts=counts, key=key, by=request.user)
    keep_readings(found=found, key=key, by=request.user)
    for number, text in (
        (len(counts), ngettext("%(n)d item counted.", "%(n)d items counted.", len(counts))),
        (len(found), ngettext("%(n)d cylinder read.", "%(n)d cylinders read.", len(found))),
    ):
        if number:
            messages.success(request, text % {"n": number})


def _as_sent(request: AppRequest, rows: list[Any], units: str) -> list[Any]:
    """Return the rows of the form that was sent: the ten dearest may have changed meanwhile."""
    sent = {
        name.removeprefix("item-").removesuffix("-found")
        for name in request.POST
        if name.startswith("item-") and name.endswith("-found")
    }
    if not sent:
        return rows
    wanted = StockItem.objects.filter(
        campus=request.campus, pk__in=[pk for pk in sent if pk.isdecimal()]
    )
    return dear_rows(request.campus, units, len(sent), wanted)
