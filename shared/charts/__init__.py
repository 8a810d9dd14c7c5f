"""Marks, lines and charts as SVG text, made on the server without Django.

Every drawn element carries its ink-on-white look as attributes, because the PDF writer reads no
page CSS inside an SVG; on screen the style sheet overrides them.
"""

from shared.charts.marks import MARKS, mark_svg

__all__ = ["MARKS", "mark_svg"]
