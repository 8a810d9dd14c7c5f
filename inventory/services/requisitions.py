"""Requisitions: written from the forecast, edited, approved, received in parts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Max, Q, Sum
from django.utils import timezone

from inventory.core.orders import delivered_on
from inventory.models import Pack, ReceiptLine, Requisition, RequisitionLine
from inventory.services.ledger import receive_packs, reverse
from shared.people.audit import audit
from shared.people.models import Campus

if TYPE_CHECKING:
    from curriculum.models import ShopClass
    from inventory.services.orders import OrderRow
    from shared.people.models import User

PACKS_MAX = 100_000
_STATE = Requisition.State


class NothingToOrder(Exception):
    """None of the items that were picked has packs to order."""


class WrongState(Exception):
    """The requisition is not in a state in which this is done; `requisition.state` says which."""

    def __init__(self, requisition: Requisition) -> None:
        self.requisition = requisition
        super().__init__(requisition.state)


class ReceiptReversed(Exception):
    """This receipt was taken back before."""


class NoLines(Exception):
    """A requisition without lines is not approved."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Packs to order of one kind."""

    pack: Pack
    packs: int
    order_by: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Came:
    """What a delivery brought of one line: packs kept, packs sent back, and what came instead."""

    line: RequisitionLine
    right: int = 0
    wrong: int = 0
    instead: Pack | None = None
    note: str = ""


def _next_number(campus: Campus) -> int:
    """Return the next number of a campus, which stays locked until the transaction ends.

    Requisitions are cancelled and never deleted, so the numbers have no gaps.
    """
    Campus.objects.select_for_update().get(pk=campus.pk)
    last = Requisition.objects.filter(campus=campus).aggregate(last=Max("number"))["last"]
    return (last or 0) + 1


@transaction.atomic
def make_requisition(
    *,
    campus: Campus,
    wanted: Iterable[Wanted],
    by: User,
    shop_class: ShopClass | None = None,
    closed: Sequence[date] = (),
) -> Requisition:
    """Write a requisition at today's prices; raise NothingToOrder if nothing is wanted.

    Expected on the day that approval, lead time and the supplier's delivery days give, counted
    from today.
    """
    lines = [one for one in wanted if one.packs > 0]
    if not lines:
        raise NothingToOrder
    requisition = Requisition.objects.create(
        campus=campus, number=_next_number(campus), shop_class=shop_class, created_by=by
    )
    today = campus.today()
    RequisitionLine.objects.bulk_create(
        RequisitionLine(
            requisition=requisition,
            item_id=one.pack.item_id,
            pack=one.pack,
            packs=min(one.packs, PACKS_MAX),
            price_e4=one.pack.price_e4,
            order_by=one.order_by,
            expected=expected_on(one.pack, today, closed),
        )
        for one in lines
    )
    detail = {"number": requisition.number, "lines": len(lines)}
    audit(by, "requisition.made", requisition, campus=campus, detail=detail)
    return requisition


def wanted_of(rows: Iterable[OrderRow]) -> list[Wanted]:
    """Return what the rows of the forecast say to order; rows without a pack are passed over."""
    return [
        Wanted(row.pack, row.found.order.packs, row.found.order.order_by)
        for row in rows
        if row.pack is not None and row.found.order.packs
    ]


def expected_on(
    pack: Pack, ordered: date, closed: Sequence[date] = (), *, approved: bool = False
) -> date:
    """Return the day on which a pack ordered on `ordered` should come.

    Approval and lead time later, `approved` the lead time alone, on a day of delivery.
    """
    days = pack.lead_days if approved else pack.approval_days + pack.lead_days
    weekdays = pack.supplier.delivery_weekdays if pack.supplier else []
    return delivered_on(ordered, days, [n for n in weekdays if n in range(7)], closed)


def _locked(requisition: Requisition, *states: str) -> Requisition:
    found = Requisition.objects.select_for_update().get(pk=requisition.pk)
    if found.state not in states:
        raise WrongState(found)
    return found


@transaction.atomic
def change_draft(
    *,
    requisition: Requisition,
    account: str,
    note: str,
    lines: Iterable[RequisitionLine],
    gone: Iterable[RequisitionLine],
    extra: Wanted | None,
    by: User,
) -> None:
    """Save what was edited in a draft; raise WrongState once it is no draft."""
    found = _locked(requisition, _STATE.DRAFT)
    found.account, found.note = account, note
    found.save(update_fields=["account", "note"])
    for line in lines:
        line.save(update_fields=["packs", "price_e4", "expected"])
    for line in gone:
        line.delete()
    if extra is not None:
        line, created = RequisitionLine.objects.get_or_create(
            requisition=found,
            pack=extra.pack,
            defaults={
                "item_id": extra.pack.item_id,
                "packs": extra.packs,
                "price_e4": extra.pack.price_e4,
                "expected": expected_on(extra.pack, found.campus.today()),
            },
        )
        if not created:
            line.packs = min(line.packs + extra.packs, PACKS_MAX)
            line.save(update_fields=["packs"])
    audit(by, "requisition.changed", found, campus=found.campus, detail={"number": found.number})


@transaction.atomic
def approve(
    *, requisition: Requisition, by: User, now: datetime, closed: Sequence[date] = ()
) -> Requisition:
    """Put a draft on order; raise WrongState once it is no draft, NoLines if it is empty.

    A line whose day has passed, because approval took long, is expected the lead time from now.
    """
    found = _locked(requisition, _STATE.DRAFT)
    lines = list(found.lines.select_related("pack__supplier"))
    if not lines:
        raise NoLines
    found.state, found.approved_by, found.approved_at = _STATE.APPROVED, by, now
    found.save(update_fields=["state", "approved_by", "approved_at"])
    today = found.campus.today()
    for line in lines:
        soonest = expected_on(line.pack, today, closed, approved=True)
        if line.expected is None or line.expected < soonest:
            line.expected = soonest
            line.save(update_fields=["expected"])
    total = sum(line.packs * line.price_e4 for line in lines)
    detail = {"number": found.number, "total_e4": total}
    audit(by, "requisition.approved", found, campus=found.campus, detail=detail)
    return found


@transaction.atomic
def cancel(*, requisition: Requisition, by: User) -> Requisition:
    """Give up a draft, or what is still to come of an order; raise WrongState if there is nothing.

    What has come stays received.
    """
    found = _locked(requisition, _STATE.DRAFT, _STATE.APPROVED)
    before, found.state = found.state, _STATE.CANCELLED
    found.save(update_fields=["state"])
    detail = {"number": found.number, "from": before}
    audit(by, "requisition.cancelled", found, campus=found.campus, detail=detail)
    return found


def received(lines: Iterable[RequisitionLine]) -> dict[int, int]:
    """Return the packs kept of each line, reversed receipts left out. One query."""
    counts: dict[int, int] = defaultdict(int)
    counts.update(
        ReceiptLine.objects.filter(
            line__in=lines, outcome=ReceiptLine.Outcome.RIGHT, reversed_at=None
        )
        .values_list("line")
        .annotate(Sum("packs"))
    )
    return counts


@transaction.atomic
def receive(
    *, requisition: Requisition, came: Sequence[Came], by: User, on: date
) -> list[RequisitionLine]:
    """Record a delivery and put what is kept on the shelf; return the lines that got too much.

    Packs may come in parts and may be more than ordered: they are there, so they are counted. A
    wrong item that goes back is noted and moves no stock; one that is kept stands on the shelf of
    the pack that came instead, and counts for the line. All received, the requisition is done.
    What was paid becomes the price of the pack, so that the next forecast reckons with it.

    Raises
    ------
    WrongState
        If it is not on order.
    """
    found = _locked(requisition, _STATE.APPROVED)
    for one in came:
        if one.right:
            receipt = _receipt(one, ReceiptLine.Outcome.RIGHT, one.right, by, on)
            receipt.movement = receive_packs(
                pack=one.instead or one.line.pack,
                packs=one.right,
                key=f"receipt:{receipt.pk}",
                by=by,
                on=on,
                reason=str(found),
            )
            receipt.save(update_fields=["movement"])
            if one.instead is None:
                _price_paid(one.line)
        if one.wrong:
            _receipt(one, ReceiptLine.Outcome.WRONG, one.wrong, by, on)
    lines = list(found.lines.all())
    kept = received(lines)
    if all(kept[line.pk] >= line.packs for line in lines):
        found.state = _STATE.DONE
        found.save(update_fields=["state"])
    detail = {
        "number": found.number,
        "kept": sum(one.right for one in came),
        "sent_back": sum(one.wrong for one in came),
    }
    audit(by, "requisition.received", found, campus=found.campus, detail=detail)
    touched = {one.line.pk for one in came if one.right}
    return [line for line in lines if line.pk in touched and kept[line.pk] > line.packs]


def _price_paid(line: RequisitionLine) -> None:
    if line.pack.price_e4 != line.price_e4:
        line.pack.price_e4 = line.price_e4
        line.pack.save(update_fields=["price_e4"])


def _receipt(one: Came, outcome: str, packs: int, by: User, on: date) -> ReceiptLine:
    return ReceiptLine.objects.create(
        line=one.line, packs=packs, outcome=outcome, note=one.note, received_on=on, by=by
    )


@transaction.atomic
def reverse_receipt(*, receipt: ReceiptLine, by: User, reason: str) -> None:
    """Take a receipt back, with its stock; a requisition that was done is on order again.

    Raises
    ------
    ReceiptReversed
        The second time.
    """
    requisition = Requisition.objects.select_for_update().get(lines__receipts=receipt)
    done = ReceiptLine.objects.filter(pk=receipt.pk, reversed_at=None)
    if not done.update(reversed_at=timezone.now()):
        raise ReceiptReversed
    if receipt.movement is not None:
        key = f"receipt-back:{receipt.pk}"
        reverse(movement=receipt.movement, by=by, reason=reason, key=key)
    if requisition.state == _STATE.DONE:
        lines = list(requisition.lines.all())
        kept = received(lines)
        if any(kept[line.pk] < line.packs for line in lines):
            requisition.state = _STATE.APPROVED
            requisition.save(update_fields=["state"])
    detail = {"receipt": receipt.pk, "packs": receipt.packs}
    campus = requisition.campus
    audit(by, "requisition.receipt_reversed", requisition, campus=campus, detail=detail)


def packs_on_offer(campus: Campus) -> Q:
    """Return the condition for packs that can be ordered at a campus."""
    return Q(item__campus=campus, item__is_active=True, is_active=True)
