"""Tacks along a weld, in a strip seen from above."""

from __future__ import annotations

from .canvas import FIGURE, text_width
from .sheet import Sheet
from .words import tacks_said

STRIP = 300.0  # length of the strip on the sheet
HALF = 11.0  # its height on each side of the weld
LEAST = 8.0  # a shorter tack on the sheet is no mark
MOST = 60  # more marks run into one another


def strip(sheet: Sheet) -> None:
    """Draw the weld from above with its tacks, below the section; nothing where none are stated."""
    setup = sheet.setup
    if not setup.tacks:
        return
    said = sheet.said(tacks_said(setup, sheet.system))
    wide = text_width(said, FIGURE)
    left = max(sheet.left, (sheet.width - wide - STRIP - 24) / 2)
    right = left + STRIP
    low = sheet.canvas.bounds()[3]
    low = max([low, *(box[3] for box in sheet.taken)]) + 34
    canvas = sheet.canvas
    for y in (low - HALF, low, low + HALF):
        canvas.line("o-edge" if y != low else "thin", [(left, y), (right, y)])
    for x in (left, right):
        canvas.break_line((x, low - HALF), (x, low + HALF))
    count = min(setup.tacks, MOST)
    share = 0.0
    if setup.tack_length and setup.weld_length:
        share = setup.tack_length.value / setup.weld_length.value
    long = min(max(LEAST, share * STRIP), STRIP / count)
    step = (STRIP - long) / (count - 1) if count > 1 else 0.0
    first = left if count > 1 else (left + right - long) / 2
    for k in range(count):
        x = first + k * step
        box = [(x, low - 6), (x + long, low - 6), (x + long, low + 6), (x, low + 6)]
        canvas.line("f-weld", box, close=True)
    sheet.write(said, "", [(right + 24, low + 0.36 * FIGURE), (left, low + HALF + FIGURE)])
