"""Marks, lines and charts as SVG text, made on the server without Django.

Every drawn element carries its ink-on-white look as attributes, because the PDF writer reads no
page CSS inside an SVG; on screen the style sheet overrides them.
"""

from shared.charts.bars import Load, level_bar, load_strip, progress_bar, range_line
from shared.charts.marks import MARKS, mark_svg
from shared.charts.shelf import ChartPoint, ChartWeek, shelf_chart

__all__ = [
    "MARKS",
    "ChartPoint",
    "ChartWeek",
    "Load",
    "level_bar",
    "load_strip",
    "mark_svg",
    "progress_bar",
    "range_line",
    "shelf_chart",
]
