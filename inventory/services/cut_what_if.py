"""A part of a cutting plan as it would be with other stock, cut blanks to buy, or another cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from time import monotonic
from typing import Any

from django.utils.translation import gettext as _

from inventory.core.cutting import SECONDS, Plan, Problem, Stock, solve
from inventory.core.sizes import Size, of_metres, size_text
from inventory.models import CutPart
from inventory.services.cutplans import exact_metres
from inventory.services.machines import can_cut, core_machine
from shared.templatetags.quantities import money
from shared.units import show

NEW_SHEET = "what-if:sheet"
LEAST_SECONDS = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One change with the plan it gives; `bought_cut` blanks are bought for `extra` in all."""

    words: str
    plan: Plan | None
    bought_cut: int = 0
    extra: Decimal = Decimal(0)
    why_not: str = ""

    @property
    def cost(self) -> Decimal:
        return self.extra + (self.plan.cost if self.plan else 0)

    @property
    def stock(self) -> int:
        """Sheets, bars and remnants that are cut up."""
        return sum(one.count for one in self.plan.layouts) if self.plan else 0

    @property
    def of_new(self) -> int:
        """Of the sheets, those of the size that is asked about."""
        layouts = self.plan.layouts if self.plan else ()
        return sum(one.count for one in layouts if one.stock == NEW_SHEET)

    @property
    def unplaced(self) -> int:
        return sum(row.count for row in self.plan.unplaceable) if self.plan else 0

    @property
    def gap_shown(self) -> str:
        """What it could be cheaper by at most, in per cent."""
        return f"{self.plan.gap * 100:.1f}" if self.plan else ""


def variants(
    part: CutPart,
    problem: Problem,
    plan: Plan,
    asked: Mapping[str, Any],
    *,
    units: str,
    seconds: float = SECONDS,
) -> list[Variant]:
    """Return the part as planned and, beside it, each change that is asked; nothing is stored.

    `asked` is the cleaned `CutWhatIfForm`. All of it takes about `seconds`, and as long again
    where blanks are bought cut: how many of them save stock is tried out.
    """
    found = [Variant(words=_("as planned"), plan=plan)]
    changes: list[tuple[Variant, Problem]] = []
    if sheet := asked.get("sheet"):
        words = _("%(size)s for %(price)s too") % {
            "size": size_text(sheet, units),
            "price": money(asked["sheet_price"]),
        }
        changed = _with_sheet(problem, sheet, asked["sheet_price"])
        changes.append((Variant(words=words, plan=None), changed))
    if blank := asked.get("blank"):
        piece = next(row for row in problem.pieces if row.id == blank)
        price: Decimal = asked["blank_price"]
        words = _("all %(size)s bought cut, %(price)s each") % {
            "size": size_text(of_metres(piece.length, piece.width), units),
            "price": money(price),
        }
        bought = Variant(words=words, plan=None, bought_cut=piece.count, extra=price * piece.count)
        rest = [0 if row is piece else row.count for row in problem.pieces]
        changes.append((bought, problem.with_counts(rest)))
    if (kerf := asked.get("kerf")) is not None:
        words = _("a cut takes %(kerf)s") % {"kerf": show(kerf, units)}
        machine = replace(problem.machine, kerf=kerf.value)
        changes.append((Variant(words=words, plan=None), replace(problem, machine=machine)))
    other = asked.get("machine")
    if other and can_cut(other, part.item):
        machine = core_machine(other, part.item)
        changes.append((Variant(words=other.name, plan=None), replace(problem, machine=machine)))
    each = max(seconds / max(len(changes), 1), LEAST_SECONDS)
    found += [replace(one, plan=solve(changed, seconds=each)) for one, changed in changes]
    if blank := asked.get("blank"):
        every = next(one for one in found if one.bought_cut)
        fewer = _fewest(problem, plan, blank, every, units=units, seconds=seconds)
        found[found.index(every) : found.index(every) + 1] = [*fewer, every]
    if other and not can_cut(other, part.item):
        why_not = _("It does not cut this metal in this thickness.")
        found.append(Variant(words=other.name, plan=None, why_not=why_not))
    return found


def _fewest(
    problem: Problem, plan: Plan, blank: str, every: Variant, *, units: str, seconds: float
) -> list[Variant]:
    """Return the fewest blanks of a size that, bought cut, save buying stock; none if all do not.

    The more are bought the less there is to cut, so the number is halved towards, as far as
    `seconds` reach: more may be told than are needed, never fewer.
    """
    if every.plan is None or every.plan.cost >= plan.cost:
        return []
    piece = next(row for row in problem.pieces if row.id == blank)
    price = every.extra / piece.count
    clock = monotonic() + seconds
    saves, too_few, best = piece.count, 0, every.plan
    while saves - too_few > 1 and (left := clock - monotonic()) > 0:
        middle = (saves + too_few) // 2
        counts = [row.count - middle if row is piece else row.count for row in problem.pieces]
        tried = solve(problem.with_counts(counts), seconds=max(left / 4, LEAST_SECONDS))
        if tried.cost < plan.cost:
            saves, best = middle, tried
        else:
            too_few = middle
    if saves == piece.count:
        return []
    words = _("%(n)d of %(size)s bought cut, %(price)s each: the fewest found to save stock") % {
        "n": saves,
        "size": size_text(of_metres(piece.length, piece.width), units),
        "price": money(price),
    }
    return [Variant(words=words, plan=best, bought_cut=saves, extra=price * saves)]


def _with_sheet(problem: Problem, size: Size, price: Decimal) -> Problem:
    stock = Stock(
        id=NEW_SHEET,
        length=exact_metres(size.length),
        width=None if size.width is None else exact_metres(size.width),
        price=price,
    )
    return replace(problem, stock=(*problem.stock, stock))
