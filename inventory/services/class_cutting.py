"""The cutting plan of a class as one JSON object, for the command; nothing is stored."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from inventory.core.cutting import SECONDS, Plan, plan_as_json
from inventory.models import CutPart
from inventory.services.blanks_needed import blanks_needed
from inventory.services.cutplans import Wanted, draft_plans

if TYPE_CHECKING:
    from curriculum.models import ShopClass


def class_cut_plan(
    shop_class: ShopClass,
    first: date,
    last: date,
    *,
    figure: str,
    seconds: float = SECONDS,
) -> dict[str, Any]:
    """Return the plan for the blanks that a class needs from `first` to `last`, both included.

    The `cutplan` object over all materials, each stock with its `item`; pieces are named by item
    and size. `missing` are blanks that no item or machine gives, with why.
    """
    needed = blanks_needed([shop_class], first, last, figure=figure)
    wanted = [
        Wanted(item=line.item, size=line.size, count=line.to_cut, wanted_for=line.wanted_for)
        for line in needed.lines
        if line.to_cut
    ]
    drafts = draft_plans(wanted, campus=shop_class.campus, seconds=seconds) if wanted else []
    plans = [draft.plan for draft in drafts if draft.plan is not None]
    answer = plan_as_json(
        Plan(
            layouts=tuple(layout for plan in plans for layout in plan.layouts),
            unplaceable=(),
            cost=sum((plan.cost for plan in plans), Decimal(0)),
            bound=sum((plan.bound for plan in plans), Decimal(0)),
        )
    )
    names = [
        {str(n): _piece_name(row) for n, row in enumerate(draft.wanted, start=1)}
        for draft in drafts
    ]
    answer["setups"] = sum(plan.setups for plan in plans)
    used = iter(answer["stock_used"])
    for draft, pieces in zip(drafts, names, strict=True):
        for _layout in draft.plan.layouts if draft.plan else ():
            row = next(used)
            row["item"] = draft.item.spec_key
            for piece in row["pieces"]:
                piece["id"] = pieces[piece["id"]]
            for part in row["parts"]:
                part["piece"] = pieces.get(part["piece"] or "")
        if draft.plan:
            answer["unplaceable"] += [
                {"piece": pieces[row.piece], "count": row.count, "reason": row.reason}
                for row in draft.plan.unplaceable
            ]
    missing = [{"piece": one.name, "count": one.needed, "why": one.why} for one in needed.missing]
    missing += [
        {"piece": pieces[str(n)], "count": row.count, "why": _lack_word(draft.lack)}
        for draft, pieces in zip(drafts, names, strict=True)
        if draft.lack
        for n, row in enumerate(draft.wanted, start=1)
    ]
    return {
        **answer,
        "class": shop_class.name,
        "from": first.isoformat(),
        "to": last.isoformat(),
        "missing": missing,
        "problems": [{"where": one.where, "message": one.message} for one in needed.problems],
    }


def _lack_word(lack: str) -> str:
    return str(CutPart.Lack(lack).label)


def _piece_name(row: Wanted) -> str:
    sides = [row.size.length, row.size.width]
    return f"{row.item.spec_key} " + "x".join(f"{side / 1000:g}" for side in sides if side) + " mm"
