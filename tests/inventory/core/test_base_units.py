"""Texts and base integers, checked against defined conversion factors.

Sources: international pound 0.45359237 kg and inch 25.4 mm, exact (national standards laboratories'
agreement of 1 July 1959); cubic foot 28.316846592 L follows from the inch.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.base_units import PackSize, Scale, read_size
from shared.units import Shown, UnitError

CAN = PackSize("can, 10 lb", 4_535_924)
ELECTRODES = Scale("mg", packs=(CAN, PackSize("carton, 50 lb", 22_679_619)), piece_mg=34_000)
SHEET = PackSize("sheet 48 × 96 in", 2_972_897)
SHEETS = Scale("mm2", packs=(SHEET,), by_pack=True)
BAR = Scale("mm2", packs=(PackSize("bar, 20 ft", 619_354),), strip=Fraction(619_354, 6096))
ARGON = Scale("mL", packs=(PackSize("cylinder, 330 ft3", 9_344_559),))
TIPS = Scale("piece", packs=(PackSize("bag of 10", 10),))


@pytest.mark.parametrize(
    ("scale", "text", "quantity"),
    [
        (ELECTRODES, "10 lb", 4_535_924),  # 4535923.7
        (ELECTRODES, "50 lb", 22_679_619),  # 22679618.5, halves upwards
        (ELECTRODES, "10", 4_535_924),
        (ELECTRODES, "5 kg", 5_000_000),
        (ELECTRODES, "2 lb 8 oz", 1_133_981),  # 1133980.925
        (ELECTRODES, "2 cans", 9_071_848),
        (ELECTRODES, "2 × can, 10 lb", 9_071_848),
        (ELECTRODES, "1/2 can", 2_267_962),
        (ELECTRODES, "1 carton", 22_679_619),
        (ELECTRODES, "3 packs", 13_607_772),
        (ELECTRODES, "40 rods", 1_360_000),
        (ELECTRODES, "40 electrodes", 1_360_000),
        (ELECTRODES, "2 cans + 3 lb", 10_432_625),
        (SHEETS, "2 sheets", 5_945_794),
        (SHEETS, "3", 8_918_691),
        (SHEETS, "32 ft2", 2_972_897),  # 2972896.7
        (SHEETS, "48 x 96 in", 2_972_897),
        (SHEETS, "4x8 ft", 2_972_897),
        (SHEETS, "1000 mm × 2 m", 2_000_000),
        (BAR, "20 ft", 619_354),
        (BAR, "2 bars", 1_238_708),
        (BAR, "20 ft + 1 bar", 1_238_708),
        (BAR, "0.5 m2", 500_000),
        (ARGON, "330 ft3", 9_344_559),  # 9344559.375
        (ARGON, "50 L", 50_000),
        (TIPS, "3", 3),
        (TIPS, "3 pieces", 3),
        (TIPS, "2 bags", 20),
        (TIPS, "2 bags + 3", 23),
        (TIPS, "0", 0),
    ],
)
def test_what_people_write_is_read_exactly(scale, text, quantity):
    assert scale.read(text) == quantity


@pytest.mark.parametrize(
    ("scale", "text", "accepted"),
    [
        (ELECTRODES, "10 ft", "10 lb"),
        (ELECTRODES, "a few", "2 × can"),
        (ELECTRODES, "", "10 lb"),
        (ELECTRODES, "-3 lb", "10 lb"),
        (ELECTRODES, "3 cans +", "10 lb"),
        (SHEETS, "2 boxes", "2 × sheet"),
        (SHEETS, "4 x 8", "10 ft²"),
        (ARGON, "2200 psi", "10 ft³"),
        (TIPS, "2.5", "12"),
        (TIPS, "1/3 bag", "12"),
        (TIPS, "9" * 17, "12"),
        (TIPS, "1e99999999", "12"),
        (ELECTRODES, "1e999 lb", "10 lb"),
        (Scale("mg"), "40 rods", "10 lb"),
        (ELECTRODES, "1" * 90, "10 lb"),
    ],
)
def test_what_cannot_be_read_says_what_can(scale, text, accepted):
    with pytest.raises(UnitError) as refused:
        scale.read(text)
    assert accepted in refused.value.accepts
    assert accepted in str(refused.value)


def test_a_word_of_two_packs_asks_which():
    twice = Scale("mg", packs=(CAN, PackSize("can, 50 lb", 22_679_619)))
    with pytest.raises(UnitError, match="several packs"):
        twice.read("2 cans")
    assert twice.read("2 × can, 50 lb") == 45_359_238
    assert twice.read("2 packs") == 9_071_848


@pytest.mark.parametrize(
    ("scale", "quantity", "shown"),
    [
        (ELECTRODES, 4_535_924, Shown("10", "lb")),
        (ELECTRODES, 22_679_619 * 3, Shown("150", "lb")),
        (ELECTRODES, -1_000_000, Shown("−2.205", "lb")),
        (ELECTRODES, 0, Shown("0", "lb")),
        (Scale("mg", "metric"), 4_535_924, Shown("4.536", "kg")),
        (SHEETS, 2_972_897 * 5 // 2, Shown("2.5", "sheet")),
        (Scale("mm2", "metric"), 2_972_897, Shown("2.973", "m²")),
        (BAR, 619_354, Shown("20", "ft")),
        (ARGON, 9_344_559, Shown("330", "ft³")),
        (Scale("mL", "metric"), 9_344_559, Shown("9345", "L")),
        (TIPS, 12, Shown("12", "")),
        (TIPS, 12.4, Shown("12.4", "")),
    ],
)
def test_quantities_are_shown_in_the_units_of_the_reader(scale, quantity, shown):
    assert scale.show(quantity) == shown


SCALES = [ELECTRODES, SHEETS, BAR, ARGON, TIPS] + [
    Scale(base, system)
    for base in ("mg", "mm2", "mm", "mL", "piece")
    for system in ("us", "metric")
]


@given(st.sampled_from(SCALES), st.integers(0, 10**15))
def test_what_is_offered_for_editing_reads_back_exactly(scale, quantity):
    assert scale.read(scale.typed(quantity)) == quantity


@pytest.mark.parametrize(
    ("scale", "text"),
    [(ELECTRODES, "10 lb"), (BAR, "20 ft"), (ARGON, "330 ft³"), (SHEETS, "1 sheet"), (TIPS, "7")],
)
def test_a_pack_is_offered_for_editing_as_it_was_written(scale, text):
    assert scale.typed(scale.read(text)) == text


@given(st.sampled_from(SCALES), st.integers(0, 10**15))
def test_a_figure_shown_is_within_half_a_unit_of_its_last_digit(scale, quantity):
    number = Fraction(scale.figure(quantity))
    exact = Fraction(quantity) / scale.per_unit
    assert abs(number - exact) <= max(abs(exact) / 2000, Fraction(1, 10**12))


def test_rods_and_packs_are_counted():
    assert ELECTRODES.pieces(1_360_000) == 40
    assert Scale("mg").pieces(1_360_000) is None
    assert TIPS.pieces(12) == 12
    assert ELECTRODES.in_packs(11_000_000, CAN) == "2.43"


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("48 × 96 in", (1_219_200, 2_438_400, 2_972_897)),
        ("8 ft x 4 ft", (1_219_200, 2_438_400, 2_972_897)),
        ("4 by 8 ft", (1_219_200, 2_438_400, 2_972_897)),
        ("2 in x 20 ft", (50_800, 6_096_000, 309_677)),  # 50.8 × 6096 = 309676.8
        ("1250 × 2500 mm", (1_250_000, 2_500_000, 3_125_000)),
    ],
)
def test_a_sheet_is_read_by_its_sides(text, sides):
    size = read_size(text)
    assert (size.width_um, size.length_um, size.mm2) == sides


@pytest.mark.parametrize(
    "text", ["", "48", "48 in", "48 x 96", "0 x 96 in", "4 x 8 x 2 ft", "4 x 8 lb", "4 x 900 ft"]
)
def test_no_size_says_how_to_write_one(text):
    with pytest.raises(UnitError, match="48 × 96 in"):
        read_size(text)


def test_wrong_scales_are_refused():
    for wrong in (
        {"base": "t"},
        {"base": "mg", "system": "old"},
        {"base": "mg", "strip": Fraction(1)},
        {"base": "mm2", "strip": Fraction(0)},
        {"base": "mg", "piece_mg": 0},
        {"base": "mg", "packs": (PackSize("can", 0),)},
    ):
        with pytest.raises(ValueError, match=r"must be|holds"):
            Scale(**wrong)
