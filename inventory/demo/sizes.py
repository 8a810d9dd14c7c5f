"""The shop's cutting machines, and its sheets and bars counted by size after the five weeks."""

from __future__ import annotations

from typing import Any

from inventory.core.sizes import Size, of_metres
from inventory.models import CuttingMachine, SizedStock, StockItem
from inventory.services.pieces import count_pieces
from inventory.services.scales import strip_of
from inventory.services.size_rows import Form, is_cut, is_flat, size_of, size_row
from shared.demo import Scene, demo_step
from shared.units import Measure, parse_measure

from .shelf import stock

_PLAIN = ("kind", "name", "stages", "signoff", "note", "is_down")
LEAST_UM = 100_000  # what is shorter is scrap


def _metres(text: str, material: str = "steel") -> Measure:
    return parse_measure(text, "length", material=material)


@demo_step("inventory.machines", "Cutting machines")
def machines(scene: Scene) -> None:
    """Put shear, saws and cutting table into the shop."""
    for row in stock()["machine"]:
        machine = CuttingMachine(
            campus=scene.campus, **{name: row[name] for name in _PLAIN if name in row}
        )
        for name in ("kerf", "trim", "narrowest", "longest", "steel", "stainless", "aluminium"):
            if name in row:
                setattr(machine, name, _metres(row[name], name))
        machine.save()


@demo_step("inventory.sizes", "Sheets and bars by size")
def sizes(scene: Scene) -> None:
    """Count what the weeks left: blanks, full sizes, and the rest of each item as one remnant."""
    items = StockItem.objects.filter(campus=scene.campus, quarantined=False).select_related(
        "campus"
    )
    for item in filter(is_cut, items):
        full = item.sizes.filter(form=Form.FULL).first()
        if full is not None and item.on_hand > 0:
            count_pieces(
                item=item,
                found=_found(item, full),
                all_told=True,
                key=f"demo:sizes:{item.pk}",
                by=scene.person("clerk"),
                reason="counted by size",
                on=scene.today,
            )


def _found(item: StockItem, full: SizedStock) -> dict[SizedStock, int]:
    found: dict[SizedStock, int] = {}
    left = item.on_hand
    for row in stock()["blanks"]:
        if row["item"] == item.name:
            width = _metres(row["width"]).value if "width" in row else None
            blank = size_row(item, Form.BLANK, of_metres(_metres(row["length"]).value, width))
            found[blank] = min(row["pieces"], left // blank.each)
            left -= found[blank] * blank.each
    found[full], left = divmod(left, full.each)
    remnant = _remnant(item, size_of(full), left)
    if remnant is not None:
        found[size_row(item, Form.REMNANT, remnant, "rack 2")] = 1
    return found


def _remnant(item: StockItem, full: Size, area: int) -> Size | None:
    """Return what is left of a full size when only `area` mm² of it is: a length of its width."""
    per_mm: Any = full.width / 1000 if is_flat(item) and full.width else strip_of(item)
    length = int(area / per_mm / 12.7) * 12_700  # to the half inch, as it was measured
    return Size(length, full.width) if length >= LEAST_UM else None
