"""A requisition that is approved and has come in parts."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from curriculum.demo.classes import EVENING
from curriculum.models import ShopClass
from inventory.models import Pack, ReceiptLine, Requisition, RequisitionLine
from inventory.services import receive_packs
from shared.demo import Scene, demo_step

from .shelf import stock


@demo_step("inventory.order", "An order on its way")
def order(scene: Scene) -> None:
    """Order four items a fortnight ago; two have come in part, one came wrong."""
    clerk, manager = scene.person("clerk"), scene.person("manager")
    written, approved = scene.today - timedelta(days=16), scene.today - timedelta(days=9)
    zone = scene.campus.zone
    requisition = Requisition.objects.create(
        campus=scene.campus,
        number=1,
        state=Requisition.State.APPROVED,
        shop_class=ShopClass.objects.get(campus=scene.campus, name=EVENING),
        account="Lab fees, evening classes",
        note="Deliver to the shop's back door after 4 pm.",
        created_by=clerk,
        approved_by=manager,
        approved_at=datetime.combine(approved, time(16, 10), tzinfo=zone),
    )
    Requisition.objects.filter(pk=requisition.pk).update(
        created_at=datetime.combine(written, time(10, 30), tzinfo=zone)
    )
    came = scene.today - timedelta(days=3)
    for n, row in enumerate(stock()["order"]):
        pack = Pack.objects.select_related("item").get(
            item__campus=scene.campus, item__name=row["item"]
        )
        line = RequisitionLine.objects.create(
            requisition=requisition,
            item=pack.item,
            pack=pack,
            packs=row["packs"],
            price_e4=pack.price_e4,
            order_by=approved,
            expected=scene.today + timedelta(days=4 + 2 * n),
        )
        if row["received"]:
            ReceiptLine.objects.create(
                line=line,
                packs=row["received"],
                movement=receive_packs(
                    pack=pack,
                    packs=row["received"],
                    key=f"demo:order:{line.pk}",
                    by=clerk,
                    on=came,
                    reason=f"{requisition}",
                ),
                received_on=came,
                by=clerk,
            )
        if wrong := row.get("wrong"):
            ReceiptLine.objects.create(
                line=line,
                packs=wrong,
                outcome=ReceiptLine.Outcome.WRONG,
                note="0.045 in came; goes back with the next delivery",
                received_on=came,
                by=clerk,
            )
