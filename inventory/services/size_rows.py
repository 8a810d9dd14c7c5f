"""The sizes an item has on its shelf: finding a row, making one that is not there yet."""

from __future__ import annotations

from inventory.core.needs import PLATE
from inventory.core.sizes import Size, agrees
from inventory.models import Pack, SizedStock, StockItem
from inventory.services.scales import strip_of

Form = SizedStock.Form


def is_cut(item: StockItem) -> bool:
    """Say whether blanks are cut from it: sheet, bar, pipe and backing, kept by area or length."""
    return item.kind in PLATE and item.base_unit in (
        StockItem.BaseUnit.MM2,
        StockItem.BaseUnit.MM,
    )


def is_flat(item: StockItem) -> bool:
    """Say whether its pieces have a width of their own: sheet; bar and pipe are told by length."""
    return item.kind == StockItem.Kind.SHEET


def base_units_of(item: StockItem, size: Size) -> int:
    """Return the base units in one piece; raise ValueError where `size` is none of this item."""
    if (size.width is not None) != is_flat(item):
        raise ValueError(f"{item} has {'two sides' if is_flat(item) else 'a length'}, got {size}")
    return size.base_units(item.base_unit, strip_of(item))


def size_row(
    item: StockItem, form: SizedStock.Form | str, size: Size, label: str = ""
) -> SizedStock:
    """Return the row of a size, made with a count of 0 where there is none.

    A blank lies with its long side first: no grain is told of it any more. Raises ValueError as
    `base_units_of`.
    """
    if form == Form.BLANK:
        size = size.long_side_first
    each = base_units_of(item, size)
    row, _created = SizedStock.objects.get_or_create(
        item=item,
        form=form,
        length_um=size.length,
        width_um=size.width,
        label=label,
        defaults={"each": each},
    )
    row.item = item
    return row


def size_of(row: SizedStock) -> Size:
    """Return the size of a row."""
    return Size(row.length_um, row.width_um)


def size_of_pack(pack: Pack) -> Size | None:
    """Return the size of the one sheet, bar or pipe a pack is; None where it is none of a size."""
    item = pack.item
    if not is_cut(item) or not pack.length_um:
        return None
    if is_flat(item):
        if not pack.width_um:
            return None
        size = Size(pack.length_um, pack.width_um)
    else:
        size = Size(pack.length_um)
    strip = strip_of(item)
    if size.width is None and item.base_unit == StockItem.BaseUnit.MM2 and strip is None:
        return None
    return size if agrees(size, pack.size, item.base_unit, strip) else None


def full_size(pack: Pack) -> SizedStock | None:
    """Return the row that whole packs go to, made where there is none; None without a size."""
    size = size_of_pack(pack)
    return None if size is None else size_row(pack.item, Form.FULL, size)
