"""What reversing a line of the ledger takes back with it, told before it is done."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.base_units import MINUS
from inventory.core.sizes import size_text
from inventory.models import CutPlan, Movement
from inventory.services.scales import scale_of
from inventory.services.size_rows import size_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """One line of an act, the other way round: what moves, and what the book holds afterwards."""

    item: str
    what: str
    mark: str
    moves: str
    then: str
    short: bool


def undone(line: Movement, units: str) -> list[Undone]:
    """Return what is reversed together with a line and by it: what comes back first.

    Nothing for a line that was reversed, is a reversal itself, or was no act of several lines.
    """
    if not line.batch or line.kind == Movement.Kind.REVERSE:
        return []
    lines = (
        Movement.objects.filter(batch=line.batch, reversed_by=None)
        .exclude(kind=Movement.Kind.REVERSE)
        .select_related("item__campus", "sized")
        .prefetch_related("item__packs")
    )
    return [_undone(one, units) for one in sorted(lines, key=lambda one: one.quantity)]


def _undone(line: Movement, units: str) -> Undone:
    if line.sized is None or line.pieces is None:
        scale, then = scale_of(line.item, units), line.item.on_hand - line.quantity
        moves, left = str(scale.show(-line.quantity)), str(scale.show(then))
        what = mark = ""
    else:
        then = line.sized.count - line.pieces
        moves, left = (str(n).replace("-", MINUS) for n in (-line.pieces, then))
        what = f"{size_text(size_of(line.sized), units)}, {line.sized.get_form_display()}"
        mark = line.sized.label
    return Undone(
        item=line.item.name,
        what=what,
        mark=mark,
        moves=moves if line.quantity > 0 else f"+{moves}",
        then=left,
        short=then < 0,
    )


def plan_booked_by(line: Movement) -> CutPlan | None:
    """Return the cutting plan a line belongs to: with it a part of that is to be cut again."""
    if not line.batch or getattr(line, "reversed_by", None) is not None:
        return None
    return CutPlan.objects.filter(parts__batch=line.batch).first()
