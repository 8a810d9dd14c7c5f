"""One item: its shelf against demand by week, as a chart and as a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from inventory.core.case import Receipt
from inventory.core.shelf import ShelfPoint, shelf_against_demand
from inventory.services.forecast import Basis, reckon
from inventory.services.orders import OrderRow
from shared.charts import ChartPoint, ChartWeek, shelf_chart


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
