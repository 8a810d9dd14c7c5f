"""The cells of the term plan, tight: a plan has hundreds, and htmx gets them all at each move."""

from __future__ import annotations

from django import template
from django.utils.formats import number_format
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from curriculum.services.plan_page import LoadCell, LoadRow, Row
from shared.charts import level_bar, mark_svg

register = template.Library()


def _cell(css: str, body: str = "", span: int = 1) -> str:
    named = f' class="{css}"' if css else ""
    wide = f' colspan="{span}"' if span > 1 else ""
    return f"<td{named}{wide}>{body}</td>"


@register.simple_tag
def plan_cells(row: Row, movable: bool) -> SafeString:
    """Return the weeks of an entry: its bar, which can be dragged where `movable`, or nothing."""
    grip = f' draggable="true" data-bar="{row.row.pk}"' if movable else ""
    cells = (
        _cell(
            cell.css,
            f'<span class="bar {row.priority}"{grip}>{"&nbsp;" if cell.more else cell.bar}</span>'
            if cell.bar
            else "",
            cell.span,
        )
        for cell in row.cells
    )
    return mark_safe("".join(cells))  # noqa: S308 - class words, numbers and keys of our own


@register.simple_tag
def load_cells(line: LoadRow) -> SafeString:
    """Return needed booth-hours week by week with their level bars; over by how much."""
    over, sign = _("over"), mark_svg("over")
    cells = (_cell(*_load(cell, over, sign)) for cell in line.cells)
    return mark_safe("".join(cells))  # noqa: S308 - class words and figures of our own


def _load(cell: LoadCell, over: str, sign: str) -> tuple[str, str]:
    if not cell.shop:
        return "brk", ""
    if cell.needed < 0.05:
        return cell.css, '<span class="soft">0</span>'
    body = f"<b>{_figure(cell.needed)}</b>{level_bar(cell.needed, cell.available, cell.top)}"
    if cell.over:
        body += format_html(
            '<span class="sign is-stop">{}{}<span class="vh"> {}</span></span>',
            mark_safe(sign),  # noqa: S308 - a mark of our own
            _figure(cell.over),
            over,
        )
    return cell.css, body


def _figure(hours: float) -> str:
    return number_format(round(hours, 1), decimal_pos=1)
