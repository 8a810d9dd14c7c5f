"""Cylinders in use: what each is, what was read off it, and what its gauge should show."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils import timezone

from curriculum.core.gas import REFERENCE_K, Contents, by_gauge, by_weight, told_by
from inventory.core.cylinders import Cylinder
from inventory.models import CylinderReading, OpenPack, Pack, StockItem
from shared.people.audit import audit
from shared.units import Measure

if TYPE_CHECKING:
    from shared.people.models import User


def gas_of(item: StockItem) -> str:
    """Return the name of a gas item's gas, as its specification has it."""
    return item.spec_key.partition(":")[2]


def known_cylinder(item: StockItem, pack: Pack, size: int) -> Cylinder | None:
    """Return a pack of a gas that is told by a gauge or a scale, booked with `size` mL."""
    if item.kind != StockItem.Kind.GAS or told_by(gas_of(item)) is None:
        return None
    water, pressure, warm = pack.water, pack.fill_pressure, pack.fill_temperature
    return Cylinder(
        gas=gas_of(item),
        size=size,
        water_m3=water.value if water else None,
        fill_pa=pressure.value if pressure else None,
        fill_k=warm.value if warm else REFERENCE_K,
    )


def open_cylinder(opened: OpenPack) -> Cylinder | None:
    """Return the cylinder in use, None for what is none or tells nothing."""
    return known_cylinder(opened.item, opened.pack, opened.size)


def filling(pack: Pack) -> Contents | None:
    """Return what a pack of gas holds by what is stated of its filling, None where too little is.

    Raises GasError at the figure that is at fault.
    """
    gas, weight = gas_of(pack.item), pack.net_weight
    if weight:
        return by_weight(gas, net_kg=weight.value)
    if not (pack.water and pack.fill_pressure):
        return None
    return by_gauge(
        gas,
        water_m3=pack.water.value,
        gauge_pa=pack.fill_pressure.value,
        temperature_k=pack.fill_temperature.value if pack.fill_temperature else REFERENCE_K,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What was read off an open cylinder, and the mL left in it by that."""

    open_pack: OpenPack
    left: int
    temperature: Measure
    pressure: Measure | None = None
    weight: Measure | None = None
    tare: Measure | None = None


@transaction.atomic
def keep_readings(*, found: Iterable[Found], key: str, by: User) -> list[CylinderReading]:
    """Write what was read, all or none; one that was put away meanwhile is left out.

    The same `key` again returns the first readings and writes nothing.
    """
    kept = []
    for one in sorted(found, key=lambda one: one.open_pack.pk):  # one order for all who lock
        opened = OpenPack.objects.select_for_update().get(pk=one.open_pack.pk)
        own = f"{key}:{opened.pk}"
        earlier = CylinderReading.objects.filter(key=own).first()
        if earlier is not None:
            kept.append(earlier)
            continue
        if opened.finished_at is not None:
            continue
        row = CylinderReading(open_pack=opened, key=own, left=one.left, at=timezone.now(), by=by)
        row.temperature, row.pressure = one.temperature, one.pressure
        row.weight, row.tare = one.weight, one.tare
        row.save()
        audit(
            by,
            "stock.cylinder_read",
            one.open_pack.item,
            campus=one.open_pack.item.campus,
            detail={"open_pack": opened.pk, "left": one.left},
        )
        kept.append(row)
    return kept
