"""Cutting plans: made of what is wanted and what is there, kept, booked, given up.

draft_plans(wanted, ...)  → drafts, planned and checked; nothing is stored
store_plan(drafts, ...)   → the CutPlan
book_part(part, ...)      → what really came off is on the shelf
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, NamedTuple

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from curriculum.core.spec_key import nearest_tenth_um
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
    MONEY_SCALE,
    CutPart,
    CutPiece,
    CutPlan,
    CuttingMachine,
    Pack,
    SizedStock,
    StockItem,
)
from inventory.services.size_rows import is_flat
from inventory.services.sized import Made, Offer, book_cut, newest_movement, stock_for
from shared.people.audit import audit
from shared.people.models import Campus

if TYPE_CHECKING:
    from curriculum.models import ShopClass
    from shared.people.models import User

LEAST_SECONDS = 0.3  # of the search for one material, when many share a request's time
Kind = CuttingMachine.Kind
USUAL = {  # what is usually cut on what, the usual first; common practice, no source
    True: (Kind.SHEAR, Kind.PLASMA, Kind.FLAME, Kind.BANDSAW),
    False: (Kind.COLD_SAW, Kind.BANDSAW, Kind.CHOP_SAW, Kind.PLASMA, Kind.FLAME),
}
_LENGTHS = ("kerf", "trim", "narrowest", "longest")
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


class Machines(NamedTuple):
    """What was picked to cut sheets, and bars and pipe; None: the usual one that can."""

    flat: CuttingMachine | None = None
    long: CuttingMachine | None = None


USUAL_ONES = Machines()


def exact_metres(um: int) -> float:
    """Return a side in metres: the sixty-fourth of an inch that micrometres were rounded from."""
    parts = round(um / INCH_64)
    return float(parts * INCH_64) / UM if abs(parts * INCH_64 - um) <= 0.5 else um / UM


def metal_of(item: StockItem) -> str:
    return item.spec_key.split(":")[1]


def thickness_of(item: StockItem) -> float:
    """Return the thickness of sheet or bar, the wall of pipe, m, to 0.1 mm as its key has it."""
    return int(item.spec_key.split(":")[2]) / UM


def can_cut(machine: CuttingMachine, item: StockItem) -> bool:
    limit = _thickest(machine, item)
    return limit is not None and thickness_of(item) <= limit + 1e-9


def _thickest(machine: CuttingMachine, item: StockItem) -> float | None:
    """Return what it cuts of the item's metal, rounded as the item's thickness is; m."""
    limit: float | None = getattr(machine, f"{metal_of(item)}_m", None)
    return None if not limit else nearest_tenth_um(limit) / UM


def machine_for(
    item: StockItem, machines: Iterable[CuttingMachine], picked: Machines = USUAL_ONES
) -> CuttingMachine | None:
    """Return the machine picked for such an item, else the usual one that is up and cuts it."""
    flat = is_flat(item)
    if chosen := picked.flat if flat else picked.long:
        return chosen
    fit = [one for one in machines if one.kind in USUAL[flat] and can_cut(one, item)]
    return min(fit, key=lambda one: (USUAL[flat].index(Kind(one.kind)), one.pk), default=None)


def core_machine(machine: CuttingMachine, item: StockItem) -> Machine:
    """Return a machine as the solver knows it, for the metal of `item`.

    A metal that it does not cut at all has a thickness of next to nothing as its limit.
    """
    metres = {name: getattr(machine, f"{name}_m") for name in _LENGTHS}
    return Machine(
        **metres,
        thickest=_thickest(machine, item) or 1e-9,
        stages=machine.stages,
    )


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
    if _thickest(machine, item) is None:
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
    if plan.state != State.OPEN:
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
        plan.state = State.DONE
        plan.save(update_fields=["state"])
    audit(by, "cutting.booked", plan, campus=plan.campus, detail={"part": locked.pk})
    return locked


def _row(stock: str) -> SizedStock:
    return SizedStock.objects.select_related("item").get(pk=int(stock.partition(":")[2]))


def _pack(stock: str) -> Pack:
    return Pack.objects.select_related("item").get(pk=int(stock.partition(":")[2]))


@transaction.atomic
def cancel_plan(*, plan: CutPlan, by: User) -> None:
    """Give an open plan up: what is not cut yet stays uncut. Raises NotOpen for another."""
    if not CutPlan.objects.filter(pk=plan.pk, state=State.OPEN).update(state=State.CANCELLED):
        raise NotOpen
    CutPart.objects.filter(plan=plan).update(search=None)
    audit(by, "cutting.cancelled", plan, campus=plan.campus, detail={"number": plan.number})
    plan.refresh_from_db(fields=["state"])
