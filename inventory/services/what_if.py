"""What to order if the class, its sessions or prices were different; nothing is stored."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.core.needs import FILLER
from inventory.services.forecast import Basis, with_data
from inventory.services.orders import OrderList, OrderRow


@dataclass(frozen=True)
class Difference:
    """What a change makes of one item."""

    before: OrderRow
    after: OrderRow

    @property
    def shows(self) -> bool:
        """Whether it changes what is bought, by when, or for how much."""
        one, other = self.before.found.order, self.after.found.order
        return (one.packs, one.order_by, one.cost_ample) != (
            other.packs,
            other.order_by,
            other.cost_ample,
        )


def what_if(
    basis: Basis, *, students: int = 0, dearer: Decimal = Decimal(0), lost: int = 0
) -> Basis:
    """Return the basis as it would be; nothing is stored.

    Parameters
    ----------
    students : int
        More (or, below 0, fewer) students in each class. More start the plan from its first
        exercise; of fewer, those who have passed least are gone.
    dearer : Decimal
        Per cent that rods, electrodes and wire cost more, above -100.
    lost : int
        How many of each class's next sessions are lost.
    """
    data = copy.deepcopy(basis.data)
    for shop_class in basis.classes:
        group = "" if len(basis.classes) == 1 else str(shop_class.pk)
        data["students"] = _other_students(data["students"], group, students, shop_class.attendance)
        ahead = sorted(
            (row for row in data["sessions"] if row["group"] == group), key=lambda row: row["date"]
        )
        data["sessions"] = [row for row in data["sessions"] if row not in ahead[:lost]]
    for row in data["items"]:
        if basis.items[row["id"]].kind in FILLER and row.get("price") is not None:
            price = Decimal(row["price"]) * (100 + dearer) / 100
            row["price"] = str(price.quantize(Decimal("0.0001")))
    return with_data(basis, data)


def _other_students(
    rows: list[dict[str, Any]], group: str, more: int, attendance: float
) -> list[dict[str, Any]]:
    if more >= 0:
        new = [
            {"id": f"{group}+{n}", "group": group, "attendance": attendance}
            for n in range(1, more + 1)
        ]
        return rows + new
    own = sorted(
        (row for row in rows if row["group"] == group),
        key=lambda row: (len(row["passed"]), row["id"]),
    )
    gone = {row["id"] for row in own[:-more]}
    return [row for row in rows if row["id"] not in gone]


def differences(before: OrderList, after: OrderList) -> list[Difference]:
    """Return the items whose order changes, in the order of the list after."""
    old = {row.item.pk: row for row in before.rows}
    pairs = [Difference(old[row.item.pk], row) for row in after.rows]
    return [pair for pair in pairs if pair.shows]
