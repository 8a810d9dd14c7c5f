"""What is left in open packs; the figures are worked by hand."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.core.gas import GasError
from inventory.core.base_units import PackSize, Scale
from inventory.core.cylinders import Cylinder
from inventory.core.open_packs import Opened, Use, read_left, remainders
from shared.units import UnitError

START = datetime(2026, 2, 2, 18, tzinfo=UTC)


def day(n: float) -> datetime:
    return START + timedelta(days=n)


def test_a_can_holds_its_size_less_what_coupons_took_since_times_the_factor():
    uses = [Use(day(-1), 50), Use(day(1), 100), Use(day(2), 150)]
    assert remainders([Opened(day(0), 1000)], uses, factor=1.8) == [550]


def test_it_never_falls_below_nothing():
    assert remainders([Opened(day(0), 100)], [Use(day(1), 80), Use(day(2), 80)]) == [0]


def test_the_pack_opened_first_is_used_first_and_what_it_lacks_comes_from_the_next():
    packs = [Opened(day(1), 100), Opened(day(0), 100)]
    uses = [Use(day(0.5), 70), Use(day(2), 50)]
    assert remainders(packs, uses) == [80, 0]


def test_a_finished_pack_took_its_part_and_no_more_after_that():
    packs = [Opened(day(0), 100, finished_at=day(2)), Opened(day(0.5), 100)]
    assert remainders(packs, [Use(day(1), 60), Use(day(3), 30)]) == [40, 70]


def test_a_reading_stands_for_what_was_in_a_pack_then():
    packs = [Opened(day(0), 100, readings=((day(2), 40.0),)), Opened(day(0.5), 100)]
    uses = [Use(day(1), 30), Use(day(3), 10)]
    assert remainders(packs, uses) == [30, 100]
    assert remainders(packs, uses[:1]) == [40, 100]  # also where nothing was welded since


@given(
    st.lists(st.tuples(st.integers(0, 9), st.integers(1, 500), st.integers(0, 9)), max_size=5),
    st.lists(st.tuples(st.integers(0, 12), st.integers(0, 300)), max_size=12),
    st.sampled_from([0.5, 1.0, 1.75]),
)
def test_what_is_taken_is_never_more_than_was_used_or_held(packs, uses, factor):
    opened = [Opened(day(at), size, day(at + more)) for at, size, more in packs]
    used = [Use(day(at), quantity) for at, quantity in sorted(uses)]
    left = remainders(opened, used, factor=factor)
    assert all(0 <= rest <= pack.size for rest, pack in zip(left, opened, strict=True))
    taken = sum(pack.size for pack in opened) - sum(left)
    assert taken <= factor * sum(use.quantity for use in used) + 1e-6


@pytest.mark.parametrize("factor", [0, -1, float("nan"), float("inf")])
def test_a_factor_that_cannot_be_is_refused(factor):
    with pytest.raises(ValueError, match="factor"):
        remainders([], [], factor=factor)


@pytest.mark.parametrize("quantity", [-1, float("nan"), float("inf")])
def test_a_use_that_cannot_be_is_refused(quantity):
    with pytest.raises(ValueError, match="use"):
        remainders([Opened(day(0), 10)], [Use(day(1), quantity)])


ARGON = Scale("mL", packs=(PackSize("cylinder, 330 ft3", 9_344_559),))


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("", 0),
        ("25 %", 2_336_140),  # 2336139.75
        ("500 of 2200 psi", 2_123_763),  # 2123763.4
        ("500/2200 psi", 2_123_763),
        ("60 ft3", 1_699_011),  # 60 × 28316.846592
        ("1/2 cylinder", 4_672_280),
        ("100 %", 9_344_559),
    ],
)
def test_what_is_left_is_a_quantity_a_share_or_a_gauge_reading(text, left):
    assert read_left(text, ARGON, 9_344_559) == left


@pytest.mark.parametrize("text", ["331 ft3", "101 %", "2300 of 2200 psi", "2 cylinders"])
def test_no_more_is_left_than_there_was(text):
    with pytest.raises(UnitError, match="at most 330 ft³"):
        read_left(text, ARGON, 9_344_559)


@pytest.mark.parametrize("text", ["500 psi", "5 of 0 psi", "some"])
def test_what_cannot_be_read_says_what_can(text):
    with pytest.raises(UnitError, match="10 ft³"):
        read_left(text, ARGON, 9_344_559)


@pytest.mark.parametrize(
    ("text", "share"),
    [
        # Volumes of argon in one of water at 70 °F (CoolProp 8.0.0): 35.78 at 500 psig, 71.80 at
        # 1000, 159.95 at 2200.
        ("500 psi", 35.78 / 159.95),
        ("1000 of 2200 psi", 71.80 / 159.95),
    ],
)
def test_the_gauge_of_a_known_cylinder_is_read_as_that_of_a_real_gas(text, share):
    cylinder = Cylinder(gas="argon", size=9_344_559, fill_pa=2200 * 6894.757)
    left = read_left(text, ARGON, 9_344_559, cylinder)
    assert left == pytest.approx(9_344_559 * share, rel=1e-3)


def test_a_gauge_alone_needs_the_size_of_the_cylinder():
    with pytest.raises(GasError, match="size is not known"):
        read_left("500 psi", ARGON, 9_344_559, Cylinder(gas="argon", size=9_344_559))
