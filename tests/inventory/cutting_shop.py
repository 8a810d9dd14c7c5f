"""A shelf to cut from: a sheet of 14 ga, a remnant of it, a shear; invented."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.sizes import Size
from inventory.models import CuttingMachine, Pack, SizedStock, StockItem
from inventory.services import receive_packs
from inventory.services.cutplans import Wanted, draft_plans, store_plan
from inventory.services.pieces import receive_pieces
from shared.people.models import Campus, User
from shared.units import parse_measure
from tests.factories import PackFactory

IN = 25_400  # µm
SHEET, REMNANT = Size(96 * IN, 48 * IN), Size(24 * IN, 12 * IN)
BLANK, LARGE = Size(6 * IN, 3 * IN), Size(120 * IN, 60 * IN)


@dataclass
class Shop:
    campus: Campus
    by: User
    item: StockItem
    pack: Pack
    shear: CuttingMachine
    remnant: SizedStock

    def plan(self, *wanted, **more):
        """Plan and store so many blanks by size: `(BLANK, 40)`."""
        rows = [Wanted(item=self.item, size=size, count=count) for size, count in wanted]
        drafts = draft_plans(rows, campus=self.campus)
        day = self.campus.today()
        return store_plan(
            drafts, campus=self.campus, first=day, last=day, by=self.by, **more
        )  # fmt: skip

    def sizes(self):
        """Pieces on the shelf by form and size."""
        return {
            (row.form, row.length_um, row.width_um): row.count
            for row in self.item.sizes.all()
            if row.count
        }


def machine(campus, name="Shear", kind="shear", **lengths):
    """A machine with these lengths, as typed; kerf, trim and narrowest are nothing if not said."""
    made = CuttingMachine(campus=campus, name=name, kind=kind)
    for field, typed in ({"kerf": "0 in", "trim": "0 in", "narrowest": "0 in"} | lengths).items():
        setattr(made, field, parse_measure(typed, "length"))
    made.save()
    return made


def cutting_shop(campus: Campus, by: User) -> Shop:
    """One sheet and two remnants on the shelf, sheets on offer at 64.00."""
    pack = PackFactory(
        item__campus=campus,
        item__kind="sheet",
        item__name="Steel sheet 14 ga",
        item__spec_key="sheet:steel:1900",
        item__base_unit="mm2",
        item__moved_by="cut",
        item__piece_mg=None,
        name="sheet 48 × 96 in",
        size=2_972_897,
        length_um=SHEET.length,
        width_um=SHEET.width,
        price_e4=640_000,
    )
    receive_packs(pack=pack, packs=1, key="shop:sheet", by=by)
    line = receive_pieces(
        item=pack.item, form="remnant", size=REMNANT, pieces=2, key="shop:remnant", by=by,
        label="by the door",
    )  # fmt: skip
    return Shop(
        campus, by, pack.item, pack, machine(campus, steel="1/8 in"), line.sized
    )  # fmt: skip
