"""Keeping the machines that cut blanks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from curriculum.core.usage import cut_of
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
