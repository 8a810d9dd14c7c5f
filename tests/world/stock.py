"""The shelf, what was moved on it, a plan to cut a sheet, requisitions in each state."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

from curriculum.core.spec_key import spec_key
from inventory.core.sizes import of_metres
from inventory.models import (
    CutPart,
    CutPlan,
    CuttingMachine,
    Movement,
    Pack,
    ReceiptLine,
    Requisition,
    RequisitionLine,
    SizedStock,
    StockItem,
    Supplier,
)
from inventory.services import count_shelf, move, open_pack, receive_packs
from inventory.services.cutplans import Wanted, draft_plans, store_plan
from inventory.services.pieces import receive_pieces
from shared.units import Measure
from tests.world.rows import World

# kind, name, what its key is made of, base unit, moved by, mass of a piece, pack, size, price
SHELF: tuple[tuple[str, str, dict[str, Any], str, str, int | None, str, int, str], ...] = (
    ("bar", "Flat bar 1/4 × 4 in", {"metal": "steel", "thickness_m": 0.00635, "width_m": 0.1016},
     "mm2", "cut", None, "bar, 20 ft", 619_354, "58.00"),
    ("sheet", "Steel sheet 14 ga", {"metal": "steel", "thickness_m": 0.0018974},
     "mm2", "cut", None, "sheet 48 × 96 in", 2_972_897, "64.00"),
    ("electrode", "Electrode E7018 1/8 in", {"name": "E7018", "diameter_m": 0.003175},
     "mg", "open", 32_400, "can, 10 lb", 4_535_924, "42.00"),
    ("rod", "Rod ER70S-2 1/16 in", {"name": "ER70S-2", "diameter_m": 0.0015875},
     "mg", "open", 14_200, "tube, 10 lb", 4_535_924, "61.00"),
    ("gas", "Argon", {"name": "argon"}, "mL", "exchange", None, "cylinder, 330 ft³",
     9_344_559, "95.00"),
    ("tungsten", "Tungsten EWLa-2 3/32 in", {"name": "EWLa-2", "diameter_m": 0.00238125},
     "piece", "issue", None, "box of 10", 10, "28.50"),
    ("abrasive", "Grinding disc", {"name": "grinding disc"}, "piece", "issue", None, "box of 25",
     25, "61.25"),
    ("sundry", "Earplugs", {"name": "earplugs"}, "piece", "issue", None, "box of 200", 200,
     "24.00"),
)  # fmt: skip


def make_stock(world: World) -> None:
    """Everything the plan needs but the 10 ga sheet and its rod, so that something is unmatched."""
    supplier = Supplier.objects.create(campus=world.campus, name="Pretend Yard")
    world.supplier = supplier
    for kind, name, parts, base, moved_by, piece, pack_name, size, price in SHELF:
        item = StockItem.objects.create(
            campus=world.campus,
            kind=kind,
            name=name,
            spec_key=spec_key(kind, **parts),
            base_unit=base,
            moved_by=moved_by,
            piece_mg=piece,
            factor=1.0 if moved_by == "cut" else 1.8,
            use_cv=0 if moved_by == "cut" else 0.15,
            per_student_week=2 if kind == "sundry" else 0,
        )
        pack = Pack(item=item, supplier=supplier, name=pack_name, size=size, lead_days=5)
        if kind == "sheet":
            pack.length_um, pack.width_um = 2_438_400, 1_219_200
        pack.price = Decimal(price)
        pack.save()
        receive_packs(
            pack=pack,
            packs=1,
            key=f"world:first:{kind}",
            by=world.clerk,
            on=world.shop_class.starts,
        )
        world.items[kind] = item
    can = world.items["electrode"].packs.get()
    world.open_pack = open_pack(pack=can, key="world:open", by=world.instructor)
    argon = world.items["gas"].packs.get()
    world.open_cylinder = open_pack(pack=argon, key="world:gas", by=world.instructor)
    world.movement = move(
        item=world.items["sheet"],
        kind=Movement.Kind.CUT,
        quantity=-350_000,
        key="world:cut",
        by=world.instructor,
    )
    for form, length, width, pieces in (("blank", 0.1524, 0.0508, 30), ("remnant", 0.6, 0.3, 3)):
        line = receive_pieces(
            item=world.items["sheet"],
            form=form,
            size=of_metres(length, width),
            pieces=pieces,
            key=f"world:{form}",
            by=world.clerk,
        )
        world.remnant = SizedStock.objects.get(pk=line.sized_id)
    world.shear = CuttingMachine(campus=world.campus, kind="shear", name="Shear")
    for name, size in (("kerf", 0.0), ("trim", 0.0), ("narrowest", 0.0), ("steel", 0.0034)):
        setattr(world.shear, name, Measure.of(size, "m"))
    world.shear.save()
    count_shelf(
        item=world.items["abrasive"], counted=20, key="world:count", by=world.clerk, reason="weekly"
    )
    move(
        item=world.items["tungsten"],
        kind=Movement.Kind.ISSUE,
        quantity=-12,  # more than the book says there is
        key="world:issue",
        by=world.instructor,
    )


def make_cut_plan(world: World) -> CutPlan:
    """Sixty blanks of the sheet, as though the search had not come to its end."""
    blanks = Wanted(item=world.items["sheet"], size=of_metres(0.2032, 0.1524), count=60)
    drafts = draft_plans([blanks], campus=world.campus)
    day = world.today.date
    plan = store_plan(
        drafts, campus=world.campus, classes=[world.shop_class], first=day, last=day,
        by=world.clerk,
    )  # fmt: skip
    part = CutPart.objects.get(plan=plan)
    part.answer |= {"bound": "0", "gap": 1.0, "proven": False}
    part.save()
    return plan


def make_orders(world: World) -> None:
    """One requisition in each state; the approved one has received a part."""
    now, today = world.now, world.today.date
    for number, state in enumerate(Requisition.State.values, start=1):
        decided = state != Requisition.State.DRAFT
        order = Requisition.objects.create(
            campus=world.campus,
            number=number,
            state=state,
            shop_class=world.shop_class,
            created_by=world.clerk,
            approved_by=world.manager if decided else None,
            approved_at=now if decided else None,
        )
        for kind in ("gas", "rod"):
            pack = world.items[kind].packs.get()
            line = RequisitionLine.objects.create(
                requisition=order,
                item=world.items[kind],
                pack=pack,
                packs=3,
                price_e4=pack.price_e4,
                order_by=today,
                expected=today + timedelta(days=14),
            )
            if kind == "gas" and state in (Requisition.State.APPROVED, Requisition.State.DONE):
                world.receipt = _receipt(world, line, 1)
        world.requisitions[state] = order
    world.receipt = ReceiptLine.objects.get(
        line__requisition=world.requisitions[Requisition.State.APPROVED]
    )


def _receipt(world: World, line: RequisitionLine, packs: int) -> ReceiptLine:
    movement = receive_packs(
        pack=line.pack, packs=packs, key=f"world:receipt:{line.pk}", by=world.clerk
    )
    return ReceiptLine.objects.create(
        line=line, packs=packs, movement=movement, received_on=world.today.date, by=world.clerk
    )
