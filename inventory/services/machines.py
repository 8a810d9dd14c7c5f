"""The machines that cut blanks: keeping them, and as the planner knows them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from curriculum.core.usage import cut_of
from inventory.core.cutting import Machine
from inventory.models import CuttingMachine
from shared.people.audit import audit

if TYPE_CHECKING:
    from curriculum.core.defaults import Default
    from shared.people.models import User

_CUTS = {CuttingMachine.Kind.FLAME: "flame cut", CuttingMachine.Kind.PLASMA: "plasma cut"}


def usual_kerf(kind: str) -> tuple[Default, Default | None]:
    """Return what a cut of such a machine usually takes, and the dressing of its edge, m."""
    cut = cut_of("sheet", _CUTS.get(CuttingMachine.Kind(kind), kind))
    return cut.kerf, cut.dressing


def as_core(machine: CuttingMachine, metal: str) -> Machine:
    """Return the machine as the planner knows it, for one metal (steel, stainless, aluminium).

    A metal that it does not cut at all has a thickness of next to nothing as its limit.
    """
    thickest: float | None = getattr(machine, f"{metal}_m", None)
    return Machine(
        kerf=machine.kerf_m,
        trim=machine.trim_m,
        narrowest=machine.narrowest_m,
        longest=machine.longest_m,
        thickest=thickest or 1e-9,
        stages=machine.stages,
    )


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
