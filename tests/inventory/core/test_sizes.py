import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.base_units import read_size
from inventory.core.sizes import SIDE_MAX_UM, Size, agrees, of_metres, read_piece, size_text
from inventory.services.scales import strip_of
from shared.units import UnitError
from tests.factories import StockItemFactory

INCH = 25_400  # µm, exactly (international yard and pound agreement, 1959)


@pytest.mark.parametrize(
    ("size", "area"),
    [
        # 1 in² is 645.16 mm² exactly (NIST SP 811, appendix B.8)
        (Size(INCH, INCH), 645),
        (Size(96 * INCH, 48 * INCH), 2_972_897),  # 4608 × 645.16 = 2 972 897.28
        (Size(2_500_000, 1_250_000), 3_125_000),
        (Size(1, 1), 1),  # never nothing
    ],
)
def test_the_area_of_a_sheet_is_its_sides(size, area):
    assert size.base_units("mm2") == area


def test_a_bar_has_the_area_of_its_specified_width():
    bar = StockItemFactory.build(kind="bar", base_unit="mm2", spec_key="bar:steel:6400:101600")
    # 4 in × 20 ft = 101.6 × 6096 = 619 353.6 mm²
    assert Size(240 * INCH).base_units("mm2", strip_of(bar)) == 619_354
    assert Size(240 * INCH).base_units("mm") == 6096


@pytest.mark.parametrize(
    ("size", "base"), [(Size(5), "mm2"), (Size(5, 5), "mm"), (Size(5, 5), "mg"), (Size(5), "piece")]
)
def test_a_size_goes_with_what_is_kept_by_area_or_length(size, base):
    with pytest.raises(ValueError, match="kept in"):
        size.base_units(base)


@pytest.mark.parametrize("side", [0, -1, SIDE_MAX_UM + 1])
def test_no_side_is_nothing_or_longer_than_a_hundred_metres(side):
    for sides in ((side,), (5, side)):
        with pytest.raises(ValueError, match="sides must be"):
            Size(*sides)


@pytest.mark.parametrize(
    ("size", "us", "metric"),
    [
        (Size(96 * INCH, 48 * INCH), "48 × 96 in", "1219.2 × 2438.4 mm"),
        (Size(6 * INCH, 2 * INCH), "2 × 6 in", "50.8 × 152.4 mm"),
        (of_metres(2.0625 * 0.0254 * 3, 2.0625 * 0.0254), "2-1/16 × 6-3/16 in", None),
        (Size(240 * INCH), "20 ft", "6096 mm"),
        (Size(150_000, 100_000), "3.937 × 5.906 in", "100 × 150 mm"),
    ],
)
def test_sizes_are_written_as_the_trade_does(size, us, metric):
    assert size_text(size, "us") == us
    assert metric is None or size_text(size, "metric") == metric


@given(st.integers(1, 2000), st.integers(1, 2000))
def test_sizes_in_sixteenths_read_back_as_they_are_written(first, second):
    long, short = max(first, second), min(first, second)
    size = of_metres(long * 0.0254 / 16, short * 0.0254 / 16)
    assert read_piece(size_text(size, "us"), flat=True) == size


@given(st.integers(1, 10_000), st.integers(1, 10_000))
def test_sizes_in_whole_millimetres_read_back_as_they_are_written(first, second):
    size = Size(first * 1000, second * 1000).long_side_first
    assert read_piece(size_text(size, "metric"), flat=True) == size


def test_the_content_of_a_pack_is_one_piece_of_its_size():
    sheet = read_size("48 × 96 in")
    size = Size(sheet.length_um, sheet.width_um)
    assert agrees(size, sheet.mm2, "mm2")
    assert not agrees(size, 5 * sheet.mm2, "mm2")  # a bundle of five


@pytest.mark.parametrize("text", ["", "6", "6 lb", "-6 in", "200 m", "6 × 8 in"])
def test_no_length_says_how_to_write_one(text):
    with pytest.raises(UnitError, match="6 in, 20 ft"):
        read_piece(text, flat=False)
