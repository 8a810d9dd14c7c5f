"""The machines that cut blanks: kept by the manager, down and up by a tap, known to the planner."""

import pytest

from curriculum.core.spec_key import spec_key
from inventory.core.cutting import Piece, Problem, Stock, solve
from inventory.models import CuttingMachine, StockItem
from inventory.services.machines import core_machine
from shared.people.models import AuditEntry
from tests.inventory.pages import page, post, text

INCH = 0.0254  # m, exactly
SHEAR = {
    "kind": "shear",
    "name": "Shear",
    "kerf": "0 in",
    "trim": "0 in",
    "narrowest": "1 in",
    "longest": "52 in",
    "steel": "10 ga",
    "aluminium": "1/8 in",
    "stages": "2",
}


def test_a_machine_is_kept_as_it_is_written(as_manager, campus):
    post(as_manager, "machine_new", **SHEAR)
    made = CuttingMachine.objects.get()
    # 10 ga steel is 0.1345 in (Manufacturers' Standard Gauge)
    assert made.steel.value == pytest.approx(0.1345 * INCH)
    assert (made.steel.typed, made.longest.value) == ("10 ga", pytest.approx(52 * INCH))
    assert made.stainless is None
    shown = page(as_manager, "machine", made.pk).content.decode()
    assert 'value="10 ga"' in shown
    assert AuditEntry.objects.filter(action="machine.added").exists()
    assert "Cutting machines: 1, and it works" in text(page(as_manager, "machines"))


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"kerf": ""}, "required"),
        ({"kerf": "10 in"}, "2 in"),  # the most a kerf may be, 50 mm
        ({"trim": "-1 in"}, "trim"),
        ({"steel": "", "aluminium": ""}, "Write how thick a metal it cuts"),
        ({"steel": "thick"}, "thick"),
    ],
)
def test_a_machine_that_cannot_be_is_refused_at_its_place(as_manager, wrong, said):
    answer = post(as_manager, "machine_new", **(SHEAR | wrong))
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert 'value="Shear"' in answer.content.decode()
    assert not CuttingMachine.objects.exists()


def test_two_machines_have_two_names(as_manager):
    for status in (302, 422):
        assert post(as_manager, "machine_new", **SHEAR).status_code == status
    assert CuttingMachine.objects.count() == 1


def test_a_tap_says_that_a_machine_is_down(as_manager):
    post(as_manager, "machine_new", **SHEAR)
    pk = CuttingMachine.objects.get().pk
    for _ in range(2):
        post(as_manager, "machine_down", pk, down="yes")
    assert "Cutting machines: 1 of 1 is down" in text(page(as_manager, "machines"))
    assert AuditEntry.objects.filter(action="machine.down").count() == 1
    assert post(as_manager, "machine_down", pk, down="perhaps").status_code == 422


def test_a_machine_is_removed(as_manager):
    post(as_manager, "machine_new", **SHEAR)
    post(as_manager, "machine", CuttingMachine.objects.get().pk, remove="yes")
    assert not CuttingMachine.objects.exists()


def test_the_planner_keeps_to_what_the_machine_cuts(as_manager):
    post(as_manager, "machine_new", **SHEAR)
    shear = CuttingMachine.objects.get()
    assert shear.cuts("steel", 0.1345 * INCH)
    assert not shear.cuts("steel", 0.25 * INCH)
    assert not shear.cuts("stainless", 0.001)
    sheet = Stock(id="s", length=96 * INCH, width=48 * INCH)
    blanks = Piece(id="b", length=6 * INCH, width=2 * INCH, count=4)
    for metal, placed in (("steel", 4), ("stainless", 0)):
        key = spec_key("sheet", metal=metal, thickness_m=0.003)
        machine = core_machine(shear, StockItem(kind="sheet", spec_key=key))
        problem = Problem(pieces=(blanks,), stock=(sheet,), machine=machine, thickness=0.003)
        plan = solve(problem, seconds=1)
        left = sum(one.count for one in plan.unplaceable)
        assert 4 - left == placed
