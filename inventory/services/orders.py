"""What to order, as a page shows it: a row for each item, the most urgent first."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from urllib.parse import urlencode

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from inventory.core.base_units import Scale
from inventory.core.forecast import Forecast, ItemForecast
from inventory.core.needs import PLATE, in_base_units
from inventory.models import Pack, Requisition, RequisitionLine, StockItem
from inventory.services.forecast import Basis, TaskName, reckon
from inventory.services.scales import scale_of

SOON = timedelta(days=7)
DIGITS = 3
LATE, WITHIN, LATER, ENOUGH = "late", "soon", "later", "enough"


@dataclass(frozen=True)
class OrderRow:
    """One item of the list: its forecast beside its shelf, in the reader's units."""

    item: StockItem
    pack: Pack | None
    found: ItemForecast
    as_of: date
    units: str
    drafts: tuple[Requisition, ...] = ()

    @cached_property
    def group(self) -> str:
        day = self.found.order.order_by
        if day is None:
            return ENOUGH
        if day < self.as_of:
            return LATE
        return WITHIN if day <= self.as_of + SOON else LATER

    @property
    def days(self) -> int:
        """Days to the last day to order, below 0 once it has passed; 0 where there is none."""
        day = self.found.order.order_by
        return (day - self.as_of).days if day else 0

    @property
    def state(self) -> str:
        """The name of its state, for `{% state %}`; empty for a day that is far."""
        if self.group == ENOUGH:
            return ENOUGH
        if not self.found.order.packs:
            return "short"
        return {LATE: "late", WITHIN: "soon"}.get(self.group, "")

    @property
    def state_words(self) -> str:
        if self.state == "short":
            return _("short before the order comes")
        if self.state == "late":
            return ngettext("%(n)d day late", "%(n)d days late", -self.days) % {"n": -self.days}
        if self.state == "soon":
            if not self.days:
                return _("today is the last day")
            return ngettext("%(n)d day left", "%(n)d days left", self.days) % {"n": self.days}
        return pgettext("state", "enough")

    @property
    def can_order(self) -> bool:
        return bool(self.found.order.packs and self.pack)

    @property
    def picked(self) -> bool:
        """Whether it is ticked at first: due now, and on no requisition that is being written."""
        return self.can_order and self.group in (LATE, WITHIN) and not self.drafts

    @cached_property
    def scale(self) -> Scale:
        return scale_of(self.item, self.units)

    @property
    def unit(self) -> str:
        return self.scale.unit or pgettext("unit", "piece")

    @property
    def names(self) -> dict[str, str]:
        """Names of the figures, by which a check finds them: "forecast.<item>.ample"."""
        kinds = ("likely", "ample", "on_hand", "on_order", "packs", "order_by", "cost_ample")
        return {kind: f"forecast.{self.found.item}.{kind}" for kind in kinds}

    def text(self, quantity: float) -> str:
        """Write a quantity of the case in the item's column unit, without it."""
        return str(self.scale.figure(in_base_units(quantity, self.item.base_unit), DIGITS))

    def with_unit(self, quantity: float) -> str:
        unit = self.scale.unit or pgettext("unit", "pieces")
        return f"{self.text(quantity)} {unit}"

    def in_column(self, quantity: float) -> float:
        """Return a quantity of the case as a number in the column unit."""
        return float(in_base_units(quantity, self.item.base_unit) / float(self.scale.per_unit))

    @property
    def likely(self) -> str:
        return self.text(self.found.total.likely)

    @property
    def ample(self) -> str:
        return self.text(self.found.total.ample)

    @property
    def likely_with_unit(self) -> str:
        return self.with_unit(self.found.total.likely)

    @property
    def ample_with_unit(self) -> str:
        return self.with_unit(self.found.total.ample)

    @property
    def shelf(self) -> str:
        return self.text(self.found.on_hand)

    @property
    def need(self) -> str:
        """What to order, with its unit."""
        return self.with_unit(self.found.order.need)

    @property
    def ordered(self) -> str:
        return self.text(self.found.on_order) if self.found.on_order else ""


@dataclass(frozen=True)
class Missing:
    """A need that matches no stock item, with what wants it."""

    name: str
    key: str
    mean: float
    text: str
    unit: str
    tasks: list[TaskName]

    @property
    def query(self) -> str:
        """What the form for a new item can be filled with, as a query string."""
        kind, word, *sizes = self.key.split(" (")[0].split(":")
        plate = kind in PLATE
        asked = {"kind": kind, "name": self.name, "metal" if plate else "thing": word}
        names = ("thickness", "width") if plate else ("diameter",)
        for name, size in zip(names, sizes, strict=False):
            asked[name] = f"{int(size) / 1000:g} mm"  # on the grid of the key, so it comes back
        return urlencode(asked)


@dataclass(frozen=True)
class OrderList:
    """All rows with what the head of the page says about them."""

    basis: Basis
    forecast: Forecast
    rows: list[OrderRow]
    missing: list[Missing]

    @cached_property
    def groups(self) -> list[tuple[str, str, str, list[OrderRow]]]:
        """Name, title, note and rows of each group that has rows, the most urgent first."""
        until = date_format(self.basis.as_of + SOON, "D j M")
        titles = {
            LATE: (_("Late"), _("the last day to order has passed")),
            WITHIN: (_("Within 7 days"), _("order by %(day)s") % {"day": until}),
            LATER: (_("Later"), ""),
            ENOUGH: (_("Enough for the term"), ""),
        }
        found = []
        for name, (title, note) in titles.items():
            rows = self.of(name)
            if rows:
                found.append((name, title, note, rows))
        return found

    def of(self, group: str) -> list[OrderRow]:
        return [row for row in self.rows if row.group == group]

    @property
    def total(self) -> Decimal:
        """Cost of all packs to order."""
        return sum((row.found.order.cost_ample or Decimal(0) for row in self.rows), Decimal(0))

    @property
    def picked(self) -> list[OrderRow]:
        return [row for row in self.rows if row.picked]

    @property
    def picked_total(self) -> Decimal:
        return sum((row.found.order.cost_ample or Decimal(0) for row in self.picked), Decimal(0))

    @property
    def title(self) -> str:
        """What the page finds, in one sentence."""
        late, soon, later = (len(self.of(name)) for name in (LATE, WITHIN, LATER))
        day = date_format(self.basis.as_of + SOON, "D j F")
        if not self.forecast.sessions:
            return _("Nothing to order: no session is left")
        if late and soon:
            return ngettext(
                "To order: %(late)d item is late, %(soon)d more by %(day)s",
                "To order: %(late)d items are late, %(soon)d more by %(day)s",
                late,
            ) % {"late": late, "soon": soon, "day": day}
        if late:
            return ngettext(
                "To order: %(late)d item is late", "To order: %(late)d items are late", late
            ) % {"late": late}
        if soon:
            return ngettext(
                "To order: %(soon)d item by %(day)s", "To order: %(soon)d items by %(day)s", soon
            ) % {"soon": soon, "day": day}
        if later:
            return ngettext(
                "To order: nothing by %(day)s, %(later)d item later",
                "To order: nothing by %(day)s, %(later)d items later",
                later,
            ) % {"later": later, "day": day}
        return _("Nothing to order: the shelf is enough for the term")


def order_list(basis: Basis, units: str) -> OrderList:
    """Return the items of a basis by the last day to order, then by name."""
    found = reckon(basis)
    drafts = _drafts(basis)
    rows = [
        OrderRow(
            item=basis.items[one.item],
            pack=basis.packs.get(one.item),
            found=one,
            as_of=basis.as_of,
            units=units,
            drafts=tuple(drafts.get(basis.items[one.item].pk, ())),
        )
        for one in found.items
    ]
    far = date.max
    rows.sort(key=lambda row: (row.found.order.order_by or far, row.item.kind, row.item.name))
    return OrderList(basis=basis, forecast=found, rows=rows, missing=_missing(basis, found, units))


def _drafts(basis: Basis) -> dict[int, list[Requisition]]:
    lines = RequisitionLine.objects.filter(
        requisition__campus=basis.campus, requisition__state=Requisition.State.DRAFT
    ).select_related("requisition")
    found: dict[int, list[Requisition]] = defaultdict(list)
    for line in lines:
        if line.requisition not in found[line.item_id]:
            found[line.item_id].append(line.requisition)
    return found


_BASE_OF = {"kg": "mg", "m2": "mm2", "m": "mm", "m3": "mL", "piece": "piece"}


def _missing(basis: Basis, found: Forecast, units: str) -> list[Missing]:
    system = "metric" if units == "metric" else "us"
    rows = []
    for one in found.unmatched:
        need = basis.needs[one.item]
        base = _BASE_OF[need.unit]
        scale = Scale(base, system)
        rows.append(
            Missing(
                name=need.name,
                key=one.item,
                mean=one.mean,
                text=scale.figure(in_base_units(one.mean, base), DIGITS),
                unit=scale.unit or pgettext("unit", "piece"),
                tasks=basis.task_names(one.tasks),
            )
        )
    return rows
