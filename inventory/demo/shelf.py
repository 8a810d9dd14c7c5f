"""Suppliers, stock items and packs, read from `stock.toml`."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from curriculum.core.spec_key import spec_key
from inventory.models import Pack, StockItem, Supplier
from shared.demo import Scene, demo_step
from shared.units import parse_measure

BASE_UNITS = {
    "sheet": StockItem.BaseUnit.MM2,
    "bar": StockItem.BaseUnit.MM2,
    "electrode": StockItem.BaseUnit.MG,
    "rod": StockItem.BaseUnit.MG,
    "wire": StockItem.BaseUnit.MG,
    "gas": StockItem.BaseUnit.ML,
}
MICRO = 1_000_000  # mg in a kg, mm² in a m², mL in a m³


@cache
def stock() -> dict[str, Any]:
    """Return the demo's stock as written."""
    return tomllib.loads(Path(__file__).with_name("stock.toml").read_text(encoding="utf-8"))


def _metres(row: dict[str, Any], name: str) -> float | None:
    if name not in row:
        return None
    return parse_measure(row[name], "length", material=row.get("metal", "steel")).value


def key_of(row: dict[str, Any]) -> str:
    """Return the key by which the needs of a setup find this item."""
    return spec_key(
        row["kind"],
        name=row.get("class") or row.get("thing", ""),
        metal=row.get("metal", ""),
        thickness_m=_metres(row, "thickness"),
        width_m=_metres(row, "width"),
        diameter_m=_metres(row, "diameter"),
    )


def _pack(row: dict[str, Any], item: StockItem, suppliers: dict[str, Supplier]) -> Pack:
    pack = Pack(
        item=item,
        name=row["name"],
        lead_days=row["lead"],
        supplier=suppliers.get(row.get("supplier", "")),
    )
    pack.price = Decimal(row["price"])
    if "filled" in row:
        pack.fill_pressure = parse_measure(row["filled"], "pressure")
    length, width = _metres(row, "length"), _metres(row, "width")
    if length and width:
        pack.length_um, pack.width_um = round(length * MICRO), round(width * MICRO)
        pack.size = round(length * width * MICRO)
    elif "pieces" in row:
        pack.size = row["pieces"]
    else:
        dimension = "volume" if item.base_unit == StockItem.BaseUnit.ML else "mass"
        pack.size = round(parse_measure(row["content"], dimension).value * MICRO)
    return pack


@demo_step("inventory.stock", "Suppliers, stock and packs")
def shelves(scene: Scene) -> None:
    """Make the shelves, empty."""
    suppliers = {
        row["name"]: Supplier.objects.create(campus=scene.campus, **row)
        for row in stock()["supplier"]
    }
    for row in stock()["item"]:
        piece = parse_measure(row["piece"], "mass").value * MICRO if "piece" in row else None
        item = StockItem.objects.create(
            campus=scene.campus,
            kind=row["kind"],
            name=row["name"],
            spec_key=key_of(row),
            base_unit=BASE_UNITS.get(row["kind"], StockItem.BaseUnit.PIECE),
            moved_by=row["moved_by"],
            piece_mg=None if piece is None else round(piece),
            quarantined=row.get("quarantined", False),
            manifold=row.get("manifold"),
            per_student_week=row.get("per_student_week", 0),
            every_weeks=row.get("every_weeks", 1),
            factor=row.get("factor", 1.8),
            use_cv=0 if row["moved_by"] == "cut" else 0.15,
        )
        _pack(row["pack"], item, suppliers).save()
