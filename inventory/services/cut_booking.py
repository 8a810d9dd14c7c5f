"""Booking a cut: what really came off a part of a plan, moved on the shelf."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils import timezone

from inventory.models import MONEY_SCALE, CutPart, CutPiece, CutPlan, Pack, SizedStock
from inventory.services.cutplans import NotOpen, problem_of
from inventory.services.sized import Made, book_cut, newest_movement
from shared.people.audit import audit

if TYPE_CHECKING:
    from shared.people.models import User


@dataclass(frozen=True, slots=True, kw_only=True)
class CameOff:
    """What was really cut up and what came of it: pieces by the id of the stock, blanks by the
    pk of their line, remnants kept."""

    used: Mapping[str, int]
    blanks: Mapping[int, int]
    remnants: Sequence[Made] = ()


@transaction.atomic
def book_part(*, part: CutPart, came: CameOff, by: User, on: date | None = None) -> CutPart:
    """Book a part as cut: stock out, blanks and remnants in. The second time nothing happens.

    Where its movements were reversed since, it is booked anew.

    Raises
    ------
    NotOpen
        If the plan was given up.
    MoreThanWentIn, FitsInNone, InQuarantine, ValueError
        As `book_cut`; ValueError also for stock that is none of the plan's, or nothing cut up.
    """
    plan = CutPlan.objects.select_for_update().get(pk=part.plan_id)
    locked = CutPart.objects.select_related("item__campus").get(pk=part.pk)
    if locked.done_at is not None:
        return locked
    if plan.state != CutPlan.State.OPEN:
        raise NotOpen
    prices = {row.id: row.price for row in problem_of(locked).stock}
    out = {stock: pieces for stock, pieces in came.used.items() if pieces}
    if unknown := out.keys() - prices.keys():
        raise ValueError(f"no such stock in this plan: {', '.join(sorted(unknown))}")
    rows = {row.pk: row for row in locked.pieces.all()}
    newest = newest_movement([locked.item])[locked.item_id]  # after a reversal it is another
    locked.batch = f"cut-part:{locked.pk}:{newest}"
    book_cut(
        item=locked.item,
        used=[(_row(stock), n) for stock, n in out.items() if stock.startswith("row:")],
        bought=[(_pack(stock), n) for stock, n in out.items() if stock.startswith("pack:")],
        blanks=[
            Made(rows[pk].length_um, rows[pk].width_um, "", pieces)
            for pk, pieces in came.blanks.items()
            if pieces
        ],
        remnants=came.remnants,
        key=locked.batch,
        by=by,
        on=on,
        reason=str(plan),
    )
    for pk, pieces in came.blanks.items():
        rows[pk].made = pieces
    CutPiece.objects.bulk_update(rows.values(), ["made"])
    spent = sum((prices[stock] * pieces for stock, pieces in out.items()), Decimal(0))
    locked.spent_e4 = int(spent * MONEY_SCALE)
    locked.done_at, locked.done_by = timezone.now(), by
    locked.search = None
    locked.save(update_fields=["batch", "spent_e4", "done_at", "done_by", "search"])
    if not any(other.can_be_cut for other in plan.parts.all()):
        plan.state = CutPlan.State.DONE
        plan.save(update_fields=["state"])
    audit(by, "cutting.booked", plan, campus=plan.campus, detail={"part": locked.pk})
    return locked


def _row(stock: str) -> SizedStock:
    return SizedStock.objects.select_related("item").get(pk=int(stock.partition(":")[2]))


def _pack(stock: str) -> Pack:
    return Pack.objects.select_related("item").get(pk=int(stock.partition(":")[2]))
