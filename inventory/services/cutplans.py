"""Cutting plans: made of what is wanted and what is there, kept, given up.

draft_plans(wanted, ...)  → drafts, planned and checked; nothing is stored
store_plan(drafts, ...)   → the CutPlan
`cut_booking` then puts on the shelf what really came off.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import Max

from inventory.core.cutting import (
    SECONDS,
    Machine,
    Piece,
    Plan,
    Problem,
    Stock,
    check_plan,
    plan_as_json,
    plan_of_json,
    solve,
)
from inventory.core.cutting.problem import MOST_ROWS
from inventory.core.sizes import INCH_64, UM, Size
from inventory.models import (
    CutPart,
    CutPiece,
    CutPlan,
    CuttingMachine,
    StockItem,
)
from inventory.services.machines import (
    USUAL_ONES,
    Machines,
    core_machine,
    machine_for,
    thickest,
    thickness_of,
)
from inventory.services.sized import Offer, newest_movement, stock_for
from shared.people.audit import audit
from shared.people.models import Campus

if TYPE_CHECKING:
    from curriculum.models import ShopClass
    from shared.people.models import User

LEAST_SECONDS = 0.3  # of the search for one material, when many share a request's time
Lack = CutPart.Lack
State = CutPlan.State


class NotOpen(Exception):
    """The plan, or this part of it, was booked or given up already."""


class NothingPlanned(ValueError):
    """There is nothing to cut in what is wanted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Blanks of one size to cut of an item; `rotate` False keeps their length along the grain."""

    item: StockItem
    size: Size
    count: int
    rotate: bool = True
    wanted_for: str = ""
    needed: int | None = None
    on_shelf: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """One material of a plan, before it is stored; without a plan `lack` says why."""

    item: StockItem
    machine: CuttingMachine | None
    lack: str
    problem: Problem
    plan: Plan | None
    seen: int
    wanted: tuple[Wanted, ...]


def exact_metres(um: int) -> float:
    """Return a side in metres: the sixty-fourth of an inch that micrometres were rounded from."""
    parts = round(um / INCH_64)
    return float(parts * INCH_64) / UM if abs(parts * INCH_64 - um) <= 0.5 else um / UM


def as_stock(offer: Offer) -> Stock:
    """Return a size on the shelf or on offer as the solver knows it."""
    width = offer.size.width
    return Stock(
        id=offer.id,
        length=exact_metres(offer.size.length),
        width=None if width is None else exact_metres(width),
        price=offer.price,
        count=offer.count,
        trimmed=offer.is_remnant,
    )


def draft_plans(
    wanted: Sequence[Wanted],
    *,
    campus: Campus,
    picked: Machines = USUAL_ONES,
    seconds: float = SECONDS,
) -> list[Draft]:
    """Plan how what is wanted is cut, material by material, in about `seconds`; store nothing.

    Call it outside a transaction: it computes for a while.

    Raises NothingPlanned where no count is above 0, ValueError for more pieces or rows than a
    plan takes (200 sizes, 20,000 pieces of a material).
    """
    by_item: dict[StockItem, list[Wanted]] = {}
    for row in wanted:
        if row.count:
            by_item.setdefault(row.item, []).append(row)
    if not by_item:
        raise NothingPlanned
    machines = list(CuttingMachine.objects.filter(campus=campus).working())
    seen = newest_movement(by_item)
    offers = stock_for(by_item)
    each = max(seconds / len(by_item), LEAST_SECONDS)
    return [
        _draft(
            item,
            tuple(rows),
            machine_for(item, machines, picked),
            offers.get(item.pk, []),
            seen[item.pk],
            each,
        )
        for item, rows in by_item.items()
    ]


def _draft(
    item: StockItem,
    rows: tuple[Wanted, ...],
    machine: CuttingMachine | None,
    offers: Sequence[Offer],
    seen: int,
    seconds: float,
) -> Draft:
    problem = Problem(
        pieces=tuple(_piece(place, row) for place, row in enumerate(rows, start=1)),
        stock=tuple(as_stock(offer) for offer in offers[:MOST_ROWS]),
        machine=core_machine(machine, item) if machine else Machine(),
        thickness=thickness_of(item),
    )
    lack = _lack(item, machine, offers)
    plan = None if lack else solve(problem, seconds=seconds)
    return Draft(
        item=item,
        machine=machine,
        lack=lack,
        problem=problem,
        plan=plan,
        seen=seen,
        wanted=rows,
    )


def _lack(item: StockItem, machine: CuttingMachine | None, offers: Sequence[Offer]) -> str:
    if item.quarantined:
        return Lack.QUARANTINE
    if machine is None:
        return Lack.MACHINE
    if thickest(machine, item) is None:
        return Lack.METAL
    return Lack.NONE if offers else Lack.STOCK


def _piece(place: int, row: Wanted) -> Piece:
    width = row.size.width
    return Piece(
        id=str(place),
        length=exact_metres(row.size.length),
        width=None if width is None else exact_metres(width),
        count=row.count,
        rotate=row.rotate,
    )


@transaction.atomic
def store_plan(
    drafts: Sequence[Draft],
    *,
    campus: Campus,
    classes: Iterable[ShopClass] = (),
    first: date,
    last: date,
    figure: str = CutPlan.Figure.AMPLE,
    left_out: Sequence[Mapping[str, Any]] = (),
    by: User,
    instead_of: CutPlan | None = None,
) -> CutPlan:
    """Keep a plan; the open one it is made `instead_of` is given up with that."""
    Campus.objects.select_for_update().get(pk=campus.pk)  # numbers are given out one by one
    newest = CutPlan.objects.filter(campus=campus).aggregate(number=Max("number"))["number"] or 0
    plan = CutPlan.objects.create(
        campus=campus,
        number=newest + 1,
        first=first,
        last=last,
        figure=figure,
        left_out=list(left_out),
        made_by=by,
    )
    plan.classes.set(classes)
    for draft in drafts:
        part = CutPart.objects.create(
            plan=plan,
            item=draft.item,
            machine=draft.machine,
            lack=draft.lack,
            problem=draft.problem.as_case(),
            answer=None if draft.plan is None else plan_as_json(draft.plan),
            seen=draft.seen,
        )
        CutPiece.objects.bulk_create(
            CutPiece(
                part=part,
                length_um=row.size.length,
                width_um=row.size.width,
                rotate=row.rotate,
                wanted_for=row.wanted_for[:120],
                needed=row.needed,
                on_shelf=row.on_shelf,
                count=row.count,
            )
            for row in draft.wanted
        )
    audit(by, "cutting.planned", plan, campus=campus, detail={"number": plan.number})
    if instead_of is not None and instead_of.state == State.OPEN:
        cancel_plan(plan=instead_of, by=by)
    return plan


def problem_of(part: CutPart) -> Problem:
    return Problem.from_case(part.problem)


def plan_of(part: CutPart) -> Plan | None:
    """Return the stored plan of a part, checked once more; raises PlanError if it does not hold."""
    if part.answer is None:
        return None
    plan = plan_of_json(part.answer)
    check_plan(problem_of(part), plan)
    return plan


def stale_parts(parts: Iterable[CutPart]) -> set[int]:
    """Return the pks of the parts whose stock has moved since they were planned; one query."""
    waiting = [part for part in parts if part.done_at is None]
    newest = newest_movement([part.item for part in waiting])
    return {part.pk for part in waiting if newest[part.item_id] != part.seen}


@transaction.atomic
def cancel_plan(*, plan: CutPlan, by: User) -> None:
    """Give an open plan up: what is not cut yet stays uncut. Raises NotOpen for another."""
    if not CutPlan.objects.filter(pk=plan.pk, state=State.OPEN).update(state=State.CANCELLED):
        raise NotOpen
    CutPart.objects.filter(plan=plan).update(search=None)
    audit(by, "cutting.cancelled", plan, campus=plan.campus, detail={"number": plan.number})
    plan.refresh_from_db(fields=["state"])
