"""What one attempt costs: plate as it was last cut, the rest at the price of its pack."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from curriculum.core.spec import Exercise as Spec
from curriculum.core.spec import Setup
from curriculum.core.usage import blanks, usage
from inventory.core.blank_cost import cost_of_blank
from inventory.core.needs import PLATE, Need, Shelf, in_base_units, needs_of
from inventory.core.sizes import Size
from inventory.models import CutPart, Pack, StockItem
from inventory.services.blanks_needed import size_of_blank
from inventory.services.forecast import default_pack

if TYPE_CHECKING:
    from shared.people.models import Campus

LOOKED_BACK = 200  # parts of plans
TEN_THOUSANDTH = Decimal("0.0001")


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """One thing an attempt takes, with what it costs; `cost` None where no price is known.

    Plate that was cut by a plan has that `part`, the price of one blank and the blanks an attempt
    uses up; all else is the share of a `pack`.
    """

    name: str
    cost: Decimal | None
    part: CutPart | None = None
    each: Decimal | None = None
    pieces: float | None = None
    made: int = 0
    pack: Pack | None = None
    share: float | None = None  # of that pack

    @property
    def share_shown(self) -> str:
        return "" if self.share is None else f"{self.share * 100:.3g}"


def attempt_cost(campus: Campus, spec: Spec, setup: Setup) -> list[CostLine]:
    """Return what one attempt of a setup costs, thing by thing. Queries: a constant number.

    Raises UsageError where the setup does not say enough.
    """
    rows = StockItem.objects.filter(campus=campus).active().prefetch_related("packs__supplier")
    items = {row.spec_key: row for row in rows}
    shelves = [
        Shelf(key=row.spec_key, base=row.base_unit, piece_mg=row.piece_mg) for row in items.values()
    ]
    cuts = last_cuts([row for row in items.values() if row.kind in PLATE])
    lines: list[CostLine] = []
    for need in needs_of(usage(spec, setup), shelves):
        item = items.get(need.item)
        cut = _as_cut(item, setup, cuts) if item else []
        lines += cut or [_as_bought(need, item)]
    return lines


def last_cuts(items: Sequence[StockItem]) -> dict[tuple[int, Size], CutPart]:
    """Return the part by which blanks of each item and size were last cut; two queries."""
    parts = (
        CutPart.objects.filter(item__in=items, done_at__isnull=False)
        .select_related("plan", "item")
        .prefetch_related("pieces")
        .order_by("-done_at", "-pk")[:LOOKED_BACK]
    )
    return {
        (part.item_id, Size(piece.length_um, piece.width_um).long_side_first): part
        for part in reversed(parts)
        for piece in part.pieces.all()
        if piece.made
    }


def _as_cut(
    item: StockItem, setup: Setup, cuts: Mapping[tuple[int, Size], CutPart]
) -> list[CostLine]:
    """Return a line for each size of blank of an item; none unless a plan has cut them all."""
    lines = []
    for blank in blanks(setup):
        if blank.spec != item.spec_key:
            continue
        size = size_of_blank(blank, item)
        part = cuts.get((item.pk, size))
        if part is None:
            return []
        made = [
            (Size(one.length_um, one.width_um).long_side_first, one.made or 0)
            for one in part.pieces.all()
        ]
        each = cost_of_blank(part.spent, made, size)
        pieces = blank.count / blank.serves
        lines.append(
            CostLine(
                name=f"{blank.name} {' × '.join(blank.typed)}".strip(),
                cost=(each * Decimal(repr(pieces))).quantize(TEN_THOUSANDTH),
                part=part,
                each=each,
                pieces=pieces,
                made=sum(count for _size, count in made),
            )
        )
    return lines


def _as_bought(need: Need, item: StockItem | None) -> CostLine:
    pack = default_pack(item) if item else None
    if item is None or pack is None:
        return CostLine(name=need.name, cost=None)
    share = in_base_units(need.quantity, item.base_unit) / pack.size
    cost = (pack.price * Decimal(repr(share))).quantize(TEN_THOUSANDTH)
    return CostLine(name=item.name, cost=cost, pack=pack, share=share)
