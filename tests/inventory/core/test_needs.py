"""What an attempt takes, matched to the shelf and in its units."""

import pytest

from curriculum.core.usage import Item, Time, Usage, Weld
from inventory.core.needs import (
    CASE_UNIT,
    Shelf,
    in_base_units,
    in_case_unit,
    needs_of,
    on_shelf,
    spread,
)

BAR = Shelf(key="bar:steel:6400:101600", base="mm2")
ROD = Shelf(key="rod:ER70S-2:1600", base="mg", piece_mg=14_200)


def used(*items):
    nothing = Weld(area=0, volume=0, deposit=0, steps=())
    return Usage(weld=nothing, time=Time(arc=0, gas=0, booth=0, steps=()), items=items)


def item(spec, quantity, unit, *, kind="rod", alternates=()):
    return Item(
        kind=kind,
        spec=spec,
        name=spec,
        quantity=quantity,
        unit=unit,
        pieces=None,
        steps=(),
        alternates=alternates,
    )


@pytest.mark.parametrize("base", CASE_UNIT)
def test_base_units_come_back_the_same(base):
    assert in_base_units(in_case_unit(4_535_924, base), base) == pytest.approx(4_535_924)


def test_a_need_in_the_shelfs_own_unit_stays():
    assert on_shelf(0.5, "m2", BAR) == 0.5
    assert on_shelf(0.0142, "kg", ROD) == 0.0142


def test_rods_may_be_kept_by_the_piece():
    # 28.4 g of rods of 14.2 g each are two
    assert on_shelf(0.0284, "kg", Shelf(key=ROD.key, base="piece", piece_mg=14_200)) == (
        pytest.approx(2)
    )
    assert on_shelf(2, "1", ROD) == pytest.approx(0.0284)


def test_bar_may_be_kept_by_its_length():
    # 0.0508 m2 of a bar 101.6 mm wide is half a metre
    assert on_shelf(0.0508, "m2", Shelf(key=BAR.key, base="mm")) == pytest.approx(0.5)


def test_what_cannot_be_converted_is_not_guessed():
    assert on_shelf(1, "kg", Shelf(key=ROD.key, base="piece")) is None
    assert on_shelf(1, "m2", Shelf(key="sheet:steel:9500", base="mm")) is None
    assert on_shelf(1, "m3", ROD) is None


def test_sizes_of_blank_of_one_specification_are_added_up():
    blanks = used(item(BAR.key, 0.02, "m2", kind="bar"), item(BAR.key, 0.03, "m2", kind="bar"))
    (need,) = needs_of(blanks, [BAR])
    assert (need.item, need.quantity, need.unit, need.matched) == (BAR.key, 0.05, "m2", True)


def test_an_alternate_serves_where_the_filler_itself_is_not_kept():
    wanted = item("rod:ER70S-6:1600", 0.1, "kg", alternates=("rod:ER70S-9:1600", ROD.key))
    assert needs_of(used(wanted), [ROD])[0].item == ROD.key
    own = Shelf(key="rod:ER70S-6:1600", base="mg")
    assert needs_of(used(wanted), [ROD, own])[0].item == own.key


def test_what_no_shelf_holds_keeps_its_name_and_unit():
    (need,) = needs_of(used(item("gas:argon", 0.2, "m3", kind="gas")), [ROD])
    assert (need.item, need.unit, need.matched) == ("gas:argon", "m3", False)


def test_a_shelf_in_a_foreign_unit_does_not_match():
    (need,) = needs_of(used(item(ROD.key, 0.2, "kg")), [Shelf(key=ROD.key, base="piece")])
    assert not need.matched
    assert need.item != ROD.key


def test_plate_is_cut_to_size_and_does_not_scatter():
    assert spread("sheet", 0.15) == 0
    assert spread("rod", 0.15) == 0.15
