"""A shelf of sheet and bar with its sizes, for tests."""

from inventory.core.sizes import Size
from inventory.models import Pack, StockItem
from tests.factories import PackFactory, StockItemFactory

INCH = 25_400  # µm, exactly (international yard and pound agreement, 1959)
SHEET = 2_972_897  # mm² in 48 × 96 in: 1219.2 × 2438.4 = 2 972 897.28
BAR_20_FT = 619_354  # mm² of a 4 in bar, 20 ft long: 101.6 × 6096 = 619 353.6


def inches(length: float, width: float | None = None) -> Size:
    return Size(round(length * INCH), None if width is None else round(width * INCH))


def sheet_item(campus, **more) -> StockItem:
    named = {"name": "Steel sheet 1/8 in", "spec_key": "sheet:steel:3200"} | more
    return StockItemFactory(
        campus=campus, kind="sheet", base_unit="mm2", moved_by="cut", piece_mg=None, **named
    )


def bar_item(campus, **more) -> StockItem:
    named = {"name": "Flat bar 1/4 × 4 in", "spec_key": "bar:steel:6400:101600"} | more
    return StockItemFactory(
        campus=campus, kind="bar", base_unit="mm2", moved_by="cut", piece_mg=None, **named
    )


def sheet_pack(item, length=96, width=48, **more) -> Pack:
    size = inches(length, width)
    return PackFactory(
        **{
            "item": item,
            "name": f"sheet {width} × {length} in",
            "size": size.base_units("mm2"),
            "length_um": size.length,
            "width_um": size.width,
            "price_e4": 1_090_000,
        }
        | more
    )


def bar_pack(item, **more) -> Pack:
    size = inches(240)
    return PackFactory(
        **{"item": item, "name": "bar, 20 ft", "size": BAR_20_FT, "length_um": size.length}
        | {"price_e4": 580_000}
        | more
    )
