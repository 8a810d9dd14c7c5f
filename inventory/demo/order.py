"""A requisition that is approved and has come in parts."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime, time, timedelta

from curriculum.demo.classes import evening_class
from inventory.models import Pack, Requisition, RequisitionLine
from inventory.services.requisitions import (
    Came,
    Wanted,
    approve,
    change_draft,
    make_requisition,
    receive,
)
from shared.demo import Scene, demo_step

from .shelf import stock

WORKING = range(5)


def _nearest(day: date, step: int, weekdays: Collection[int] = ()) -> date:
    """Return `day`, or the first day after it (`step` 1) or before it (-1) that is one of these."""
    while day.weekday() not in (weekdays or WORKING):
        day += timedelta(days=step)
    return day


@demo_step("inventory.order", "An order on its way")
def order(scene: Scene) -> None:
    """Order four items a fortnight ago; two have come in part, one came wrong."""
    clerk, manager = scene.person("clerk"), scene.person("manager")
    written, approved, came_on = (
        _nearest(scene.today - timedelta(days=days), -1) for days in (16, 9, 2)
    )
    zone = scene.campus.zone
    rows = stock()["order"]
    packs = {
        pack.item.name: pack
        for pack in Pack.objects.filter(item__campus=scene.campus).select_related("item")
    }
    requisition = make_requisition(
        campus=scene.campus,
        wanted=[Wanted(packs[row["item"]], row["packs"], approved) for row in rows],
        by=clerk,
        shop_class=evening_class(scene),
    )
    change_draft(
        requisition=requisition,
        account="Lab fees, evening classes",
        note="Deliver to the shop's back door after 4 pm.",
        lines=(),
        gone=(),
        extra=None,
        by=clerk,
    )
    now = datetime.combine(approved, time(16, 10), tzinfo=zone)
    approve(requisition=requisition, by=manager, now=now)
    # the services reckon from the real day, the demo's term may lie around another
    Requisition.objects.filter(pk=requisition.pk).update(
        created_at=datetime.combine(written, time(10, 30), tzinfo=zone)
    )
    lines = list(requisition.lines.select_related("pack__supplier").order_by("pk"))
    for n, line in enumerate(lines):
        supplier = line.pack.supplier
        days = supplier.delivery_weekdays if supplier else ()
        line.expected = _nearest(scene.today + timedelta(days=2 + n), 1, days)
    RequisitionLine.objects.bulk_update(lines, ["expected"])
    receive(
        requisition=requisition,
        came=[
            Came(
                line=line,
                right=row["received"],
                wrong=row.get("wrong", 0),
                note=row.get("note", ""),
            )
            for line, row in zip(lines, rows, strict=True)
        ],
        by=clerk,
        on=came_on,
    )
