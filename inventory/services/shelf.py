"""Reading the shelf: what lies there, what is left in open packs, what each item is used for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING

from django.db.models import OuterRef, QuerySet, Subquery, Sum, Window
from django.db.models.functions import Coalesce

from curriculum.core.usage import Usage
from curriculum.models import ExerciseVersion, Setup
from inventory.core.base_units import MINUS, Scale
from inventory.core.cylinders import Cylinder
from inventory.core.needs import in_base_units, needs_of
from inventory.core.sizes import size_text
from inventory.models import (
    MONEY_SCALE,
    CylinderReading,
    Movement,
    OpenPack,
    Pack,
    ReceiptLine,
    Requisition,
    StockItem,
)
from inventory.services.cylinders import open_cylinder
from inventory.services.forecast import default_pack, on_order
from inventory.services.open_packs import left_open, shelves_of
from inventory.services.scales import pack_size, scale_of
from inventory.services.size_rows import size_of
from inventory.services.usages import usages_of
from shared.units import Measure, Shown

if TYPE_CHECKING:
    from shared.people.models import Campus

DIGITS = 3  # significant, of what lies on a shelf: it is not better known
DEAR = 10  # items of the weekly count: five minutes


@dataclass(frozen=True, slots=True)
class InUse:
    """An open pack with what is computed to be left in it, base units."""

    pack: OpenPack
    left: float
    scale: Scale

    @property
    def shown(self) -> Shown:
        return self.scale.show(self.left, DIGITS)

    @property
    def cylinder(self) -> Cylinder | None:
        """What it is to its gauge or a scale; None for what is no cylinder."""
        return open_cylinder(self.pack)

    @property
    def name(self) -> str:
        """The pack with the mark on it: "cylinder, 125 ft3 · A-17"."""
        return " · ".join(filter(None, (self.pack.pack.name, self.pack.mark)))

    @property
    def gauge(self) -> Measure | None:
        """What its gauge should show at 70 °F with that left in it."""
        cylinder = self.cylinder
        pressure = cylinder.gauge_at(self.left) if cylinder else None
        return None if pressure is None else Measure.of(pressure, "Pa")

    @property
    def last_reading(self) -> CylinderReading | None:
        return max(self.pack.readings.all(), key=lambda one: (one.at, one.pk), default=None)

    @property
    def share(self) -> float:
        return self.left / self.pack.size if self.pack.size else 0.0


@dataclass(frozen=True)
class ShelfRow:
    """One item as a list, a page or a table out shows it."""

    item: StockItem
    scale: Scale
    coming: int = 0  # on order, base units
    in_use: Sequence[InUse] = field(default_factory=tuple)

    @cached_property
    def pack(self) -> Pack | None:
        return default_pack(self.item)

    @property
    def on_hand(self) -> str:
        return self.scale.figure(self.item.on_hand, DIGITS)

    @property
    def in_packs(self) -> str:
        """The shelf in packs bought by default, where its unit is not that pack already."""
        if self.pack is None or self.scale.by_pack or self.pack.size == 1 or self.item.on_hand <= 0:
            return ""
        return self.scale.in_packs(self.item.on_hand, pack_size(self.pack))

    @property
    def pieces(self) -> int | None:
        return self.scale.pieces(self.item.on_hand) if self.item.piece_mg else None

    @property
    def left_open(self) -> str:
        left = sum(one.left for one in self.in_use)
        return self.scale.figure(left, DIGITS) if self.in_use else ""

    @property
    def on_order(self) -> str:
        return self.scale.figure(self.coming, DIGITS) if self.coming else ""

    @property
    def value(self) -> Decimal | None:
        """What lies on the shelf is worth; nothing below zero and nothing in quarantine."""
        if self.pack is None:
            return None
        if self.item.quarantined or self.item.on_hand <= 0:
            return Decimal(0)
        return Decimal(self.item.on_hand * self.pack.price_e4) / self.pack.size / MONEY_SCALE


def shelf_rows(items: QuerySet[StockItem], campus: Campus, units: str) -> list[ShelfRow]:
    """Return a row for each of `items` (of `campus`) in a constant number of queries."""
    found = list(items.prefetch_related("packs__supplier"))
    coming = {
        item: sum(quantity for _day, quantity in due)
        for item, due in on_order(campus, campus.today()).items()
    }
    in_use = packs_in_use(found, campus, units)
    return [
        ShelfRow(item, scale_of(item, units), coming.get(item.pk, 0), in_use.get(item.pk, ()))
        for item in found
    ]


def packs_in_use(
    items: Iterable[StockItem], campus: Campus, units: str
) -> dict[int, tuple[InUse, ...]]:
    """Return the open packs of `items` (with prefetched packs) as a page shows them, by item."""
    known = {item.pk: item for item in items}
    return {
        pk: tuple(InUse(row, left, scale_of(known[pk], units)) for row, left in packs)
        for pk, packs in left_open(known.values(), campus).items()
    }


def cylinders_in_use(campus: Campus, units: str) -> list[InUse]:
    """Return the open cylinders of a campus, by item and age, in a constant number of queries."""
    items = StockItem.objects.filter(campus=campus, kind=StockItem.Kind.GAS)
    found = packs_in_use(items.prefetch_related("packs"), campus, units)
    return sorted(
        (one for packs in found.values() for one in packs),
        key=lambda one: (one.pack.item.name, one.pack.opened_at, one.pack.pk),
    )


@dataclass(frozen=True, slots=True)
class WhereUsed:
    """A setup that takes an item, and how much one attempt takes."""

    version: ExerciseVersion
    setup_key: str
    shown: Shown
    instead: bool  # it states another, for which this one serves


@dataclass(frozen=True, slots=True)
class Uses:
    """Where an item is used, and the items of the shelf that serve in its place."""

    where: tuple[WhereUsed, ...]
    alternates: tuple[StockItem, ...]


def uses_of(item: StockItem, scale: Scale) -> Uses:
    """Return what takes `item`, over the newest published versions, and its alternates."""
    setups = list(
        Setup.objects.filter(
            version__in=ExerciseVersion.objects.newest_published().filter(
                exercise__campus=item.campus_id, exercise__retired_at=None
            )
        )
        .select_related("version__exercise")
        .only("key", "version", "version__exercise", "version__title", "version__exercise__number")
        .order_by("version__exercise__number", "position")
    )
    usages = usages_of({setup.pk for setup in setups})
    shelves = shelves_of(item.campus)
    where, others = [], set()
    for setup in setups:
        one = usages.get(setup.pk)
        if one is None:
            continue
        others |= _serving_as_well(one, item.spec_key)
        for need in needs_of(one, shelves):
            if need.matched and need.item == item.spec_key:
                where.append(
                    WhereUsed(
                        setup.version,
                        setup.key,
                        scale.show(in_base_units(need.quantity, item.base_unit), DIGITS),
                        all(stated.spec != item.spec_key for stated in one.items),
                    )
                )
    found = StockItem.objects.filter(campus=item.campus_id, spec_key__in=others).active()
    return Uses(tuple(where), tuple(found.order_by("name")) if others else ())


def _serving_as_well(one: Usage, key: str) -> set[str]:
    """Return the keys that may stand for `key` in a setup, or for which it may stand."""
    found = set()
    for stated in one.items:
        together = {stated.spec, *stated.alternates}
        if key in together:
            found |= together - {key}
    return found


def movements_of(item: StockItem) -> QuerySet[Movement]:
    """Return the ledger of an item, newest first, each line with the `balance` after it."""
    return (
        item.movements.annotate(balance=Window(Sum("quantity"), order_by="pk"))
        .select_related(
            "by", "pack", "sized", "reverses", "reversed_by", "receipt_line__line__requisition"
        )
        .order_by("-pk")
    )


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """A movement of `movements_of` as a page shows it."""

    movement: Movement
    scale: Scale

    @property
    def quantity(self) -> str:
        sign = "+" if self.movement.quantity > 0 else ""
        return f"{sign}{self.scale.figure(self.movement.quantity, DIGITS)}"

    @property
    def pieces(self) -> str:
        """The pieces and their size: "−2 of 48 × 96 in, full size"; empty without a size."""
        row, count = self.movement.sized, self.movement.pieces
        if row is None or count is None:
            return ""
        size = size_text(size_of(row), self.scale.system)
        signed = f"+{count}" if count > 0 else f"{MINUS}{-count}"
        what = ", ".join(filter(None, (row.get_form_display(), row.label)))
        return f"{signed} × {size}, {what}"

    @property
    def balance(self) -> str:
        return self.scale.figure(getattr(self.movement, "balance", 0), DIGITS)

    @property
    def requisition(self) -> Requisition | None:
        """The requisition it was received with."""
        receipt: ReceiptLine | None = getattr(self.movement, "receipt_line", None)
        return receipt.line.requisition if receipt else None

    @property
    def note(self) -> str:
        """The reason; of a receipt without the requisition's number, which stands before it."""
        reason = self.movement.reason
        return "" if reason == str(self.requisition) else reason

    @property
    def reversible(self) -> bool:
        """Whether it may be reversed here; a receipt is reversed at its requisition."""
        reversed_by = getattr(self.movement, "reversed_by", None)
        return (
            self.movement.kind != Movement.Kind.REVERSE
            and reversed_by is None
            and self.requisition is None
        )

    @property
    def is_reversed(self) -> bool:
        return getattr(self.movement, "reversed_by", None) is not None


def dear_rows(
    campus: Campus, units: str, count: int = DEAR, items: QuerySet[StockItem] | None = None
) -> list[ShelfRow]:
    """Return the `count` items to count this week: those asked for, then the dearest shelves.

    Of `items`, else of all in use at the campus.
    """
    if items is None:
        items = StockItem.objects.filter(campus=campus).active()
    rows = shelf_rows(items, campus, units)
    never = date.max
    rows.sort(
        key=lambda row: (
            row.item.count_due or never,
            -(row.value or 0),
            -(row.pack.price_e4 if row.pack else 0),
            row.item.name,
        )
    )
    return rows[:count]


@dataclass(frozen=True, slots=True)
class Counted:
    """A count that was keyed: what the book said, what was found."""

    movement: Movement
    scale: Scale
    found: int

    @property
    def book(self) -> int:
        return self.found - self.movement.quantity

    @property
    def book_shown(self) -> str:
        return self.scale.figure(self.book, DIGITS)

    @property
    def found_shown(self) -> str:
        return self.scale.figure(self.found, DIGITS)

    @property
    def variance(self) -> str:
        sign = "+" if self.movement.quantity > 0 else ""
        return f"{sign}{self.scale.figure(self.movement.quantity, DIGITS)}"

    @property
    def share(self) -> float | None:
        """The variance over what the book said."""
        return self.movement.quantity / self.book if self.book > 0 else None


def last_counts(campus: Campus, units: str, count: int = DEAR) -> list[Counted]:
    """Return the last counts of a campus, newest first."""
    upto = (
        Movement.objects.filter(item=OuterRef("item"), pk__lte=OuterRef("pk"))
        .order_by()
        .values("item")
        .annotate(total=Sum("quantity"))
        .values("total")
    )
    rows = (
        Movement.objects.filter(item__campus=campus, kind=Movement.Kind.COUNT)
        .select_related("item", "by")
        .prefetch_related("item__packs")
        .annotate(found=Coalesce(Subquery(upto), 0))
        .order_by("-pk")[:count]
    )
    return [Counted(row, scale_of(row.item, units), row.found) for row in rows]
