"""The machines that cut blanks: keeping them, and which one cuts what."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from django.db import transaction

from curriculum.core.spec_key import nearest_tenth_um
from curriculum.core.usage import cut_of
from inventory.core.cutting import Machine
from inventory.core.sizes import UM
from inventory.models import CuttingMachine, StockItem
from inventory.services.size_rows import is_flat
from shared.people.audit import audit

if TYPE_CHECKING:
    from curriculum.core.defaults import Default
    from shared.people.models import User

Kind = CuttingMachine.Kind
USUAL = {  # what is usually cut on what, the usual first; common practice, no source
    True: (Kind.SHEAR, Kind.PLASMA, Kind.FLAME, Kind.BANDSAW),
    False: (Kind.COLD_SAW, Kind.BANDSAW, Kind.CHOP_SAW, Kind.PLASMA, Kind.FLAME),
}
_LENGTHS = ("kerf", "trim", "narrowest", "longest")
_CUTS = {Kind.FLAME: "flame cut", Kind.PLASMA: "plasma cut"}


def usual_kerf(kind: str) -> tuple[Default, Default | None]:
    """Return what a cut of such a machine usually takes, and the dressing of its edge, m."""
    cut = cut_of("sheet", _CUTS.get(Kind(kind), kind))
    return cut.kerf, cut.dressing


@transaction.atomic
def save_machine(*, machine: CuttingMachine, by: User) -> CuttingMachine:
    """Store a new or changed machine."""
    made = machine.pk is None
    machine.save()
    audit(by, "machine.added" if made else "machine.changed", machine, campus=machine.campus)
    return machine


@transaction.atomic
def remove_machine(*, machine: CuttingMachine, by: User) -> None:
    """Remove a machine; raises ProtectedError where a plan was made for it."""
    detail = {"machine": machine.pk, "name": machine.name}
    machine.delete()
    audit(by, "machine.removed", campus=machine.campus, detail=detail)


@transaction.atomic
def set_machine_down(*, machine: CuttingMachine, down: bool, by: User) -> bool:
    """Say that a machine is down or up again; tell whether that was news."""
    rows = CuttingMachine.objects.filter(pk=machine.pk, is_down=not down)
    if not rows.update(is_down=down):
        return False
    machine.is_down = down
    action = "machine.down" if down else "machine.up"
    audit(by, action, machine, campus=machine.campus)
    return True


class Machines(NamedTuple):
    """What was picked to cut sheets, and bars and pipe; None: the usual one that can."""

    flat: CuttingMachine | None = None
    long: CuttingMachine | None = None


USUAL_ONES = Machines()


def metal_of(item: StockItem) -> str:
    return item.spec_key.split(":")[1]


def thickness_of(item: StockItem) -> float:
    """Return the thickness of sheet or bar, the wall of pipe, m, to 0.1 mm as its key has it."""
    return int(item.spec_key.split(":")[2]) / UM


def can_cut(machine: CuttingMachine, item: StockItem) -> bool:
    limit = thickest(machine, item)
    return limit is not None and thickness_of(item) <= limit + 1e-9


def thickest(machine: CuttingMachine, item: StockItem) -> float | None:
    """Return what it cuts of the item's metal, rounded as the item's thickness is; m."""
    limit: float | None = getattr(machine, f"{metal_of(item)}_m", None)
    return None if not limit else nearest_tenth_um(limit) / UM


def machine_for(
    item: StockItem, machines: Iterable[CuttingMachine], picked: Machines = USUAL_ONES
) -> CuttingMachine | None:
    """Return the machine picked for such an item, else the usual one that is up and cuts it."""
    flat = is_flat(item)
    if chosen := picked.flat if flat else picked.long:
        return chosen
    fit = [one for one in machines if one.kind in USUAL[flat] and can_cut(one, item)]
    return min(fit, key=lambda one: (USUAL[flat].index(Kind(one.kind)), one.pk), default=None)


def core_machine(machine: CuttingMachine, item: StockItem) -> Machine:
    """Return a machine as the solver knows it, for the metal of `item`.

    A metal that it does not cut at all has a thickness of next to nothing as its limit.
    """
    metres = {name: getattr(machine, f"{name}_m") for name in _LENGTHS}
    return Machine(
        **metres,
        thickest=thickest(machine, item) or 1e-9,
        stages=machine.stages,
    )
