"""One item: what is done at the shelf, its ledger, packs, where it is used."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET

from inventory.core.base_units import Scale
from inventory.core.cylinders import in_ml
from inventory.core.orders import money
from inventory.core.sizes import size_text
from inventory.forms.cylinders import ReadingForm, WarmthForm
from inventory.forms.moves import AmountForm, ExchangeForm, FinishForm, MoveForm, OpenForm
from inventory.models import Movement, Pack, StockItem, money_from_e4
from inventory.services.cylinders import filling
from inventory.services.learning import learned_factor
from inventory.services.shelf import (
    DIGITS,
    InUse,
    LedgerLine,
    ShelfRow,
    movements_of,
    shelf_rows,
    uses_of,
)
from inventory.services.size_rows import is_cut, size_of
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role

LINES = 30
CHANGES = 30
Kind = Movement.Kind
MovedBy = StockItem.MovedBy

ACTS: dict[str, str | Promise] = {
    Kind.RECEIVE: gettext_lazy("Receive"),
    Kind.OPEN: gettext_lazy("Open a pack"),
    Kind.EXCHANGE: gettext_lazy("Exchange a cylinder"),
    Kind.CUT: gettext_lazy("Cut into blanks"),
    Kind.ISSUE: gettext_lazy("Hand out"),
    Kind.RETURN: gettext_lazy("Take back"),
}
SHOP_WORK = frozenset({Kind.OPEN, Kind.EXCHANGE, Kind.CUT, Kind.ISSUE})
WRITERS = frozenset({Role.CLERK.value, Role.MANAGER.value})

_FITTING: dict[str, tuple[Kind, ...]] = {
    MovedBy.CUT: (Kind.CUT, Kind.RECEIVE, Kind.ISSUE, Kind.RETURN),
    MovedBy.OPEN: (Kind.OPEN, Kind.RECEIVE, Kind.ISSUE, Kind.RETURN),
    MovedBy.EXCHANGE: (Kind.EXCHANGE, Kind.RECEIVE),
    MovedBy.ISSUE: (Kind.ISSUE, Kind.RECEIVE, Kind.RETURN),
}


def may_write(request: AppRequest) -> bool:
    """Say whether the viewer keeps the shelf: clerk or manager. Others do shop work alone."""
    return bool(request.roles & WRITERS)


def item_of(request: AppRequest, pk: int) -> StockItem:
    """Return an item of this campus, with its packs; raise Http404 for another."""
    rows = StockItem.objects.visible_to(request.user).filter(campus=request.campus)
    return get_object_or_404(
        rows.select_related("campus").prefetch_related("packs__supplier"), pk=pk
    )


def acts_of(request: AppRequest, item: StockItem) -> list[Kind]:
    """Return what the viewer may do at the shelf of `item`, the usual first."""
    fitting = _FITTING[item.moved_by]
    if not any(pack.is_active for pack in item.packs.all()):
        fitting = tuple(kind for kind in fitting if kind not in (Kind.OPEN, Kind.EXCHANGE))
    return [kind for kind in fitting if may_write(request) or kind in SHOP_WORK]


def act_form(
    kind: Kind, item: StockItem, scale: Scale, in_use: tuple[InUse, ...], data: Any = None
) -> MoveForm:
    """Return the form of one act."""
    if kind == Kind.OPEN:
        return OpenForm(data, item=item, scale=scale)
    if kind == Kind.EXCHANGE:
        return ExchangeForm(data, item=item, scale=scale, in_use=in_use)
    return AmountForm(data, item=item, scale=scale, kind=kind)


@require_GET
@role_required(Role.CLERK, Role.MANAGER, Role.INSTRUCTOR)
def item(request: AppRequest, pk: int) -> HttpResponse:
    """Show an item: its shelf, what may be done there, its ledger, packs and use."""
    return item_page(request, item_of(request, pk))


def item_page(
    request: AppRequest,
    shown: StockItem,
    *,
    form: MoveForm | None = None,
    kind: Kind | None = None,
    finishing: tuple[int, FinishForm] | None = None,
    reading: tuple[int, ReadingForm, WarmthForm] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Render the page of an item, with a form as it was sent where one was refused."""
    units = units_of(request)
    row = shelf_rows(StockItem.objects.filter(pk=shown.pk), request.campus, units)[0]
    page = Paginator(movements_of(shown), LINES).get_page(request.GET.get("page"))
    acts = acts_of(request, shown)
    if shown.quarantined and kind is None:
        acts = [act for act in acts if act == Kind.RECEIVE]  # the others would be refused
    if kind is None and acts:
        asked = request.GET.get("act", "")
        kind = next((act for act in acts if act == asked), acts[0])
    if form is None and kind is not None:
        form = act_form(kind, shown, row.scale, tuple(row.in_use))
    context: dict[str, Any] = {
        "item": shown,
        "row": row,
        "finding": _finding(row),
        "may_write": may_write(request),
        "acts": [(act.value, ACTS[act]) for act in acts],
        "act": kind,
        "act_word": ACTS[kind] if kind else "",
        "form": form,
        "open_packs": _open_rows(row, finishing, reading),
        "page": page,
        "lines": [LedgerLine(movement, row.scale) for movement in page],
        "packs": [_pack_row(pack, units) for pack in shown.packs.all()],
        "uses": uses_of(shown, row.scale),
        "changes": _changes(shown, units),
        **_by_size(shown, row.scale, units),
        "learned": _learned(shown, row.scale),
    }
    return render(request, "inventory/item.html", context, status=status)


def _finding(row: ShelfRow) -> str:
    item = row.item
    words = {"item": item.name, "amount": row.scale.show(abs(item.on_hand))}
    if item.quarantined:
        return _("%(item)s: in quarantine, its grade is unknown") % words
    if item.book_short:
        return _("%(item)s: book short by %(amount)s") % words
    if not item.on_hand:
        return _("%(item)s: the shelf is empty") % words
    return _("%(item)s: %(amount)s on the shelf") % words


def _by_size(shown: StockItem, scale: Scale, units: str) -> dict[str, Any]:
    """Return the sizes on the shelf and what is told apart by none; nothing for what is not cut."""
    if not is_cut(shown):
        return {"is_cut": False}
    rows = list(shown.sizes.kept())
    untold = shown.on_hand - sum(row.each * row.count for row in rows)
    return {
        "is_cut": True,
        "sizes": [
            {
                "row": row,
                "size": size_text(size_of(row), units),
                "together": scale.show(row.each * row.count, DIGITS),
            }
            for row in rows
        ],
        "untold": scale.show(untold, DIGITS) if untold else None,
    }


def _open_rows(
    row: ShelfRow,
    finishing: tuple[int, FinishForm] | None,
    reading: tuple[int, ReadingForm, WarmthForm] | None,
) -> list[dict[str, Any]]:
    refused, form = finishing or (0, None)
    misread, shown, warmth = reading or (0, None, None)
    gas = row.item.kind == StockItem.Kind.GAS
    return [
        {
            "one": one,
            "form": form if form and one.pack.pk == refused else FinishForm(one=one),
            "refused": one.pack.pk == refused,
            "reading": (shown if one.pack.pk == misread else ReadingForm(one=one)) if gas else None,
            "warmth": (warmth if one.pack.pk == misread else None)
            or WarmthForm(system=one.scale.system, auto_id=f"id_{one.pack.pk}_%s"),
        }
        for one in row.in_use
    ]


def _pack_row(pack: Pack, units: str) -> dict[str, Any]:
    plain = Scale(pack.item.base_unit, units)
    per = pack.price * plain.per_unit.numerator / plain.per_unit.denominator / pack.size
    filled = filling(pack)
    return {
        "pack": pack,
        "content": plain.show(pack.size),
        "per_unit": per,
        "unit": plain.unit,
        "steps": filled.steps if filled and in_ml(filled.volume_m3) == pack.size else (),
    }


def _learned(shown: StockItem, scale: Scale) -> dict[str, Any] | None:
    found = learned_factor(shown)
    if found is None:
        return None
    return {
        "count": found.count,
        "since": found.since,
        "counted": scale.show(found.counted, 3),
        "computed": scale.show(found.computed, 3),
        "factor": f"{found.belief.factor:.3g}",
        "doubt": f"{100 * found.belief.bias_cv:.2g}",
        "factor_now": f"{shown.factor:.3g}",
        "doubt_now": f"{100 * shown.bias_cv:.2g}",
    }


def _changes(shown: StockItem, units: str) -> list[dict[str, Any]]:
    """Return what was changed of the item and its packs, newest first."""
    plain = Scale(shown.base_unit, units)
    found = []
    for name, rows, labels in (
        (
            _("item"),
            shown.history.select_related("history_user")[:CHANGES],
            {
                "name": _("name"), "spec_key": _("specification"),
                "moved_by": _("what moves the shelf"), "factor": _("use over coupons"),
                "bias_cv": _("doubt"), "quarantined": _("in quarantine"),
                "is_active": _("in use"), "per_student_week": _("per student and week"),
                "manifold": _("cylinders on the manifold"),
                "every_weeks": _("in so many weeks"),
            },
        ),
        (
            _("pack"),
            Pack.history.filter(item_id=shown.pk).select_related("history_user")[:CHANGES],
            {
                "name": _("name"), "price_e4": _("price"), "size": _("content"),
                "lead_days": _("lead time"), "approval_days": _("approval"),
                "preferred": _("by default"), "is_active": _("on offer"),
                "water_typed": _("water capacity"), "fill_pressure_typed": _("filled to"),
                "net_weight_typed": _("weight of its gas"),
            },
        ),
    ):  # fmt: skip
        before: dict[int, Any] = {}
        for row in reversed(list(rows)):
            old = before.get(row.id)
            before[row.id] = row
            for field, label in labels.items():
                was, new = getattr(old, field, None), getattr(row, field)
                if old is not None and was == new:
                    continue
                if old is None and field not in ("name", "price_e4"):
                    continue
                found.append(
                    {
                        "at": row.history_date,
                        "by": row.history_user,
                        "what": f"{name} {row.name}, {label}",
                        "was": _said(field, was, plain) if old is not None else "",
                        "new": _said(field, new, plain),
                    }
                )
    return sorted(found, key=lambda one: one["at"], reverse=True)[:CHANGES]


def _said(field: str, value: Any, plain: Scale) -> str:
    """Write a kept value as people read it."""
    if field == "price_e4":
        return str(money(money_from_e4(value)))
    if field in ("size", "per_student_week"):
        return str(plain.show(value))
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    return "–" if value in (None, "") else str(value)
