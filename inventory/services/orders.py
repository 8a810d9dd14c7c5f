"""What to order, as a page shows it: rows by urgency, what would be if, and one item's chart."""

from __future__ import annotations

import copy
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from typing import Any
from urllib.parse import urlencode

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from inventory.core.base_units import Scale
from inventory.core.case import Receipt
from inventory.core.forecast import Forecast, ItemForecast
from inventory.core.needs import FILLER, PLATE, in_base_units
from inventory.core.shelf import ShelfPoint, shelf_against_demand
from inventory.models import Pack, Requisition, RequisitionLine, StockItem
from inventory.services.forecast import Basis, TaskName, reckon, with_data
from inventory.services.scales import scale_of
from shared.charts import ChartPoint, ChartWeek, shelf_chart

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
        return f"{self.text(quantity)} {self.scale.unit or pgettext('unit', 'pieces')}"

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


def order_row(basis: Basis, item: StockItem, units: str) -> OrderRow | None:
    """Return the row of one item, None where the forecast does not know it."""
    rows = order_list(basis, units).rows
    return next((row for row in rows if row.item.pk == item.pk), None)


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


# What would be if


@dataclass(frozen=True)
class Difference:
    """What a change makes of one item."""

    before: OrderRow
    after: OrderRow

    @property
    def shows(self) -> bool:
        """Whether it changes what is bought, by when, or for how much."""
        one, other = self.before.found.order, self.after.found.order
        return (one.packs, one.order_by, one.cost_ample) != (
            other.packs,
            other.order_by,
            other.cost_ample,
        )


def what_if(
    basis: Basis, *, students: int = 0, dearer: Decimal = Decimal(0), lost: int = 0
) -> Basis:
    """Return the basis as it would be; nothing is stored.

    Parameters
    ----------
    students : int
        More (or, below 0, fewer) students in each class. More start the plan from its first
        exercise; of fewer, those who have passed least are gone.
    dearer : Decimal
        Per cent that rods, electrodes and wire cost more, above -100.
    lost : int
        How many of each class's next sessions are lost.
    """
    data = copy.deepcopy(basis.data)
    for shop_class in basis.classes:
        group = "" if len(basis.classes) == 1 else str(shop_class.pk)
        data["students"] = _other_students(data["students"], group, students, shop_class.attendance)
        ahead = sorted(
            (row for row in data["sessions"] if row["group"] == group), key=lambda row: row["date"]
        )
        data["sessions"] = [row for row in data["sessions"] if row not in ahead[:lost]]
    for row in data["items"]:
        if basis.items[row["id"]].kind in FILLER and row.get("price") is not None:
            price = Decimal(row["price"]) * (100 + dearer) / 100
            row["price"] = str(price.quantize(Decimal("0.0001")))
    return with_data(basis, data)


def _other_students(
    rows: list[dict[str, Any]], group: str, more: int, attendance: float
) -> list[dict[str, Any]]:
    if more >= 0:
        new = [
            {"id": f"{group}+{n}", "group": group, "attendance": attendance}
            for n in range(1, more + 1)
        ]
        return rows + new
    own = sorted(
        (row for row in rows if row["group"] == group),
        key=lambda row: (len(row["passed"]), row["id"]),
    )
    gone = {row["id"] for row in own[:-more]}
    return [row for row in rows if row["id"] not in gone]


def differences(before: OrderList, after: OrderList) -> list[Difference]:
    """Return the items whose order changes, in the order of the list after."""
    old = {row.item.pk: row for row in before.rows}
    pairs = [Difference(old[row.item.pk], row) for row in after.rows]
    return [pair for pair in pairs if pair.shows]


# One item


@dataclass(frozen=True)
class WeekRow:
    """A week of the table beside the chart."""

    label: str
    day: date
    has_shop: bool
    likely_in_week: str
    likely: str
    ample: str
    left: str
    is_short: bool
    p_run_out: float


@dataclass(frozen=True)
class ItemOutlook:
    """Chart, table and sentence of one item."""

    row: OrderRow
    title: str
    svg: str
    weeks: list[WeekRow]


def item_outlook(basis: Basis, row: OrderRow) -> ItemOutlook:
    """Return shelf against demand of one item by week, drawn and as a table."""
    found = reckon(basis)
    points = shelf_against_demand(found, row.found.item)
    numbers = {monday: str(n) for n, monday in enumerate(basis.mondays, start=1)}
    stock = next(item for item in basis.case.items if item.id == row.found.item)
    weeks = [_week(row, point, numbers) for point in points]
    return ItemOutlook(
        row=row,
        title=_outlook_title(row),
        svg=_chart(row, points, weeks, stock.on_order) if points else "",
        weeks=weeks,
    )


def _outlook_title(row: OrderRow) -> str:
    names = {"item": row.item.name}
    day = row.found.order.runs_out
    if day is None:
        return _("%(item)s: the shelf is enough for the term") % names
    names["day"] = date_format(day, "D j F")
    return _("%(item)s: ample demand passes the shelf on %(day)s") % names


def _week(row: OrderRow, point: ShelfPoint, numbers: Mapping[date, str]) -> WeekRow:
    return WeekRow(
        label=numbers.get(point.monday) or pgettext("week", "off"),
        day=point.monday,
        has_shop=point.has_shop,
        likely_in_week=row.text(point.likely_in_week),
        likely=row.text(point.likely),
        ample=row.text(point.ample),
        left=row.text(point.left),
        is_short=point.is_short,
        p_run_out=point.p_run_out,
    )


def _chart(
    row: OrderRow,
    points: Sequence[ShelfPoint],
    weeks: Sequence[WeekRow],
    receipts: Sequence[Receipt],
) -> str:
    order, left = row.found.order, points[0].monday

    def at(day: date) -> float:
        return (day - left).days / 7

    runs_out = order_by = None
    if order.runs_out is not None and order.order_by is not None:
        day = date_format(order.runs_out, "D j M")
        runs_out = ChartPoint(at(order.runs_out), (_("short from"), day))
        words = _("order by %(day)s") % {"day": date_format(order.order_by, "D j M")}
        order_by = ChartPoint(at(order.order_by), (words, _lead_words(row)))
    to_order: tuple[str, ...] = ()
    if order.packs:
        packs = f"{order.packs} × {row.pack}" if row.pack else ""
        to_order = (row.need, packs)
    shelf = _("shelf %(shelf)s, on order %(order)s") % {
        "shelf": row.shelf,
        "order": row.ordered or "0",
    }
    return shelf_chart(
        weeks=[
            ChartWeek(week.label, date_format(week.day, "j M"), off=not week.has_shop)
            for week in weeks
        ],
        likely=[row.in_column(point.likely) for point in points],
        ample=[row.in_column(point.ample) for point in points],
        shelf=max(0.0, row.in_column(row.found.on_hand)),
        unit=row.unit,
        title=_("Demand to date against the shelf: %(item)s") % {"item": row.item.name},
        arrivals=[
            (max(0.0, at(receipt.day)), row.in_column(receipt.quantity)) for receipt in receipts
        ],
        runs_out=runs_out,
        order_by=order_by,
        to_order=to_order,
        shelf_words=shelf,
        likely_word=_("likely"),
        ample_word=_("ample"),
    )


def _lead_words(row: OrderRow) -> str:
    if row.pack is None:
        return ""
    return _("approval %(approval)d and supplier %(lead)d working days") % {
        "approval": row.pack.approval_days,
        "lead": row.pack.lead_days,
    }
