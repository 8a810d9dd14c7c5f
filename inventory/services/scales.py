"""The scale of a stock item: how its base-unit integers are read and shown to a person."""

from __future__ import annotations

import math
from fractions import Fraction

from inventory.core.base_units import PackSize, Scale
from inventory.models import Pack, StockItem

_BY_LENGTH = {StockItem.Kind.BAR, StockItem.Kind.BACKING, StockItem.Kind.PIPE}


def scale_of(item: StockItem, system: str) -> Scale:
    """Return how quantities of `item` are written in "us" or "metric" units.

    Sheets count in sheets, bars and pipe by length, rods and electrodes also by the piece. Reads
    `item.packs.all()`: prefetch "packs" for a list of items.
    """
    packs = sorted(
        (pack for pack in item.packs.all() if pack.is_active),
        key=lambda pack: (not pack.preferred, pack.name),
    )
    return Scale(
        item.base_unit,
        "metric" if system == "metric" else "us",
        packs=tuple(pack_size(pack) for pack in packs),
        by_pack=item.kind == StockItem.Kind.SHEET,
        strip=_strip(item, packs) if item.kind in _BY_LENGTH else None,
        piece_mg=item.piece_mg if item.base_unit == StockItem.BaseUnit.MG else None,
    )


def pack_size(pack: Pack) -> PackSize:
    """Return a pack as the pure code knows it."""
    return PackSize(pack.name, pack.size)


def _strip(item: StockItem, packs: list[Pack]) -> Fraction | None:
    """Return the mm² in a millimetre of bar or pipe: by its pack, else by its specification."""
    if item.base_unit != StockItem.BaseUnit.MM2:
        return None
    for pack in packs:
        if pack.length_um:
            return Fraction(pack.size * 1000, pack.length_um)
    return strip_of(item)


def strip_of(item: StockItem) -> Fraction | None:
    """Return the mm² in a millimetre of bar or pipe by its specification, to 0.1 mm of its width.

    None for what is no bar, backing or pipe kept by area.
    """
    if item.base_unit != StockItem.BaseUnit.MM2 or item.kind not in _BY_LENGTH:
        return None
    sizes = [Fraction(size) / 1000 for size in item.spec_key.split(":")[2:] if size.isdecimal()]
    if len(sizes) != 2:
        return None
    thickness, width = sizes
    if item.kind == StockItem.Kind.PIPE:  # its wall, rolled out
        return Fraction(math.pi) * (width - thickness)
    return width
