"""A stored cutting plan in the words of its pages: answers, names of stock, what is wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.core.cutting import Plan, PlanError, Problem
from inventory.core.sizes import Size, size_text
from inventory.models import CutPart, CutPlan, CuttingMachine, Pack, SizedStock
from inventory.services.cut_machines import MachineSheets, by_machine
from inventory.services.cut_sheets import CutJob, JobSheets, job_sheets
from inventory.services.cutplans import plan_of, problem_of, stale_parts
from inventory.services.machines import metal_of
from inventory.services.size_rows import is_flat, size_of, size_of_pack
from shared.templatetags.quantities import money

Form = SizedStock.Form


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """How much stock a plan takes: full sizes and remnants of the shelf, and what is bought."""

    full: int
    remnants: int
    bought: int
    flat: bool

    @property
    def words(self) -> str:
        """Say it: "2 sheets and 1 remnant"."""
        return stock_words([self]) or _("nothing")


def stock_words(tallies: Sequence[Tally]) -> str:
    """Say what some parts take together: "2 sheets, 1 bar and 1 remnant"; empty for nothing."""
    sheets = sum(one.full + one.bought for one in tallies if one.flat)
    bars = sum(one.full + one.bought for one in tallies if not one.flat)
    remnants = sum(one.remnants for one in tallies)
    found = [
        text % {"n": n}
        for n, text in (
            (sheets, ngettext("%(n)d sheet", "%(n)d sheets", sheets)),
            (bars, ngettext("%(n)d bar", "%(n)d bars", bars)),
            (remnants, ngettext("%(n)d remnant", "%(n)d remnants", remnants)),
        )
        if n
    ]
    if len(found) < 2:
        return "".join(found)
    return _("%(several)s and %(last)s") % {"several": ", ".join(found[:-1]), "last": found[-1]}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartShown:
    """One material of a plan on its page."""

    part: CutPart
    problem: Problem
    plan: Plan | None
    tally: Tally
    stale: bool
    broken: bool  # the stored plan does not pass the check any more: it is not shown
    sheets: JobSheets | None
    not_planned: tuple[str, ...]

    @property
    def searching(self) -> bool:
        return self.part.searching(timezone.now())

    @property
    def answer(self) -> str:
        return "" if self.plan is None else answer_of(self.plan, self.tally)


def answer_of(plan: Plan, tally: Tally) -> str:
    """Say what a plan takes and how good it is, in one sentence; what cannot be had in another."""
    missing = sum(row.count for row in plan.unplaceable)
    lacking = ngettext("%(n)d blank cannot be had.", "%(n)d blanks cannot be had.", missing) % {
        "n": missing
    }
    if not plan.layouts:
        return lacking
    return f"{_how_good(plan, tally)} {lacking}" if missing else _how_good(plan, tally)


def _how_good(plan: Plan, tally: Tally) -> str:
    cost = money(plan.cost) if plan.cost else _("nothing to buy")
    words = {"stock": tally.words, "cost": cost}
    if plan.proven:
        return _("%(stock)s, %(cost)s; no plan is cheaper (proven).") % words
    words["gap"] = f"{plan.gap * 100:.1f}"
    return (
        _("%(stock)s, %(cost)s; a plan could be cheaper by %(gap)s %% at most, none is known.")
        % words
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineParts:
    """The parts of a plan that go to one machine; without one, those that cannot be cut at all."""

    machine: MachineSheets | None
    parts: Sequence[PartShown]


def parts_by_machine(parts: Sequence[PartShown]) -> list[MachineParts]:
    """Return the parts by machine, in their order, and then what no machine can cut."""
    drawn = [one for one in parts if one.sheets and one.sheets.sheets]
    groups = by_machine(one.sheets for one in drawn if one.sheets)
    of_job = {id(one.sheets): one for one in drawn}
    found = [
        MachineParts(machine=group, parts=[of_job[id(job)] for job in group.jobs])
        for group in groups
    ]
    rest = [one for one in parts if one not in drawn]
    return [*found, MachineParts(machine=None, parts=rest)] if rest else found


class StockNames:
    """What the stock of some parts is called, read in two queries."""

    def __init__(self, parts: Iterable[CutPart], units: str) -> None:
        ids = {row["id"] for part in parts for row in part.problem["stock"]}
        self.units = units
        self.rows = {
            f"row:{row.pk}": row
            for row in SizedStock.objects.filter(pk__in=_keys(ids, "row")).select_related("item")
        }
        self.packs = {
            f"pack:{pack.pk}": pack
            for pack in Pack.objects.filter(pk__in=_keys(ids, "pack")).select_related("item")
        }

    def size(self, stock: str) -> str:
        """Return the size of a row or pack; empty where neither is there any more."""
        if row := self.rows.get(stock):
            return size_text(size_of(row), self.units)
        if pack := self.packs.get(stock):
            found = size_of_pack(pack)
            return size_text(found, self.units) if found else pack.name
        return ""

    def where(self, stock: str) -> str:
        """Return "remnant (by the door)", "on the shelf", "to be bought (sheet 48 × 96 in)"."""
        if row := self.rows.get(stock):
            if row.form != Form.REMNANT:
                return _("on the shelf")
            return _("remnant (%(label)s)") % {"label": row.label} if row.label else _("remnant")
        if pack := self.packs.get(stock):
            if self.size(stock) in pack.name:  # it is said already
                return _("to be bought")
            return _("to be bought (%(pack)s)") % {"pack": pack.name}
        return _("not there any more")

    def places(self, part: CutPart) -> dict[str, str]:
        """Return where each stock of a part is, by its id."""
        return {row["id"]: self.where(row["id"]) for row in part.problem["stock"]}

    def names(self, part: CutPart) -> dict[str, str]:
        """Return size and place of each stock of a part, by its id."""
        return {
            row["id"]: ", ".join(filter(None, (self.size(row["id"]), self.where(row["id"]))))
            for row in part.problem["stock"]
        }

    def tally(self, part: CutPart, plan: Plan | None) -> Tally:
        """Count what a plan takes of each form."""
        found: Counter[str] = Counter()
        for layout in plan.layouts if plan else ():
            row = self.rows.get(layout.stock)
            remnant = row is not None and row.form == Form.REMNANT
            kind = "bought" if layout.stock in self.packs else "remnants" if remnant else "full"
            found[kind] += layout.count
        return Tally(
            full=found["full"],
            remnants=found["remnants"],
            bought=found["bought"],
            flat=is_flat(part.item),
        )


def _keys(ids: Iterable[str], kind: str) -> list[int]:
    return [int(one.partition(":")[2]) for one in ids if one.startswith(f"{kind}:")]


def job_of(part: CutPart, problem: Problem, plan: Plan, names: Mapping[str, str]) -> CutJob:
    """Return a part as the drawings and cut lists take it."""
    machine: CuttingMachine | None = part.machine
    return CutJob(
        item=part.item.name,
        problem=problem,
        plan=plan,
        machine=machine.name if machine else "",
        kind=machine.kind if machine else "",
        metal=metal_of(part.item),
        signoff=machine.signoff if machine else "",
        pieces={
            str(place): piece.wanted_for for place, piece in enumerate(part.pieces.all(), start=1)
        },
        stock=names,
    )


def shown_parts(
    plan: CutPlan, *, units: str, paper: bool = False, drawn: bool = True
) -> list[PartShown]:
    """Return the parts of a plan (`with_parts`) with their drawings; each is checked once more."""
    parts = list(plan.parts.all())
    stale = stale_parts(parts) if plan.state == CutPlan.State.OPEN else set()
    names = StockNames(parts, units)
    return [_shown(part, names, part.pk in stale, units, paper, drawn) for part in parts]


def _shown(
    part: CutPart, names: StockNames, stale: bool, units: str, paper: bool, drawn: bool
) -> PartShown:
    problem = problem_of(part)
    try:
        plan, broken = plan_of(part), False
    except PlanError:
        plan, broken = None, True
    sheets = None
    if plan is not None and drawn:
        job = job_of(part, problem, plan, names.places(part))
        sheets = job_sheets(job, units=units, ident=f"part-{part.pk}", paper=paper)
    return PartShown(
        part=part,
        problem=problem,
        plan=plan,
        tally=names.tally(part, plan),
        stale=stale,
        broken=broken,
        sheets=sheets,
        not_planned=_not_planned(part, units) if plan is None else (),
    )


def _not_planned(part: CutPart, units: str) -> tuple[str, ...]:
    """Name the blanks of a part that has no plan at all."""
    return tuple(
        _("%(count)d of %(size)s")
        % {"count": piece.count, "size": size_text(Size(piece.length_um, piece.width_um), units)}
        for piece in part.pieces.all()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """A plan in the list: what it cuts, whether its stock has changed since."""

    plan: CutPlan
    materials: Sequence[str]
    to_cut: Sequence[str]  # materials that still wait
    blanks: int
    cost: Decimal
    stale: bool
    unplaced: int


def plan_rows(plans: Sequence[CutPlan]) -> list[PlanRow]:
    """Return plans (`with_parts`) as rows; one query for all that have changed since."""
    open_parts = [
        part for plan in plans if plan.state == CutPlan.State.OPEN for part in plan.parts.all()
    ]
    stale = stale_parts(open_parts)
    return [_plan_row(plan, stale) for plan in plans]


def _plan_row(plan: CutPlan, stale: set[int]) -> PlanRow:
    parts = list(plan.parts.all())
    answers = [part.answer for part in parts if part.answer]
    return PlanRow(
        plan=plan,
        materials=[part.item.name for part in parts],
        to_cut=[part.item.name for part in parts if part.can_be_cut],
        blanks=sum(piece.count for part in parts for piece in part.pieces.all()),
        cost=sum((Decimal(answer["cost"]) for answer in answers), Decimal(0)),
        stale=any(part.pk in stale and part.can_be_cut for part in parts),
        unplaced=sum(row["count"] for answer in answers for row in answer["unplaceable"])
        + sum(piece.count for part in parts if part.lack for piece in part.pieces.all()),
    )
