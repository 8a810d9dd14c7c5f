"""Tacks along a weld, in a strip seen from above."""

from __future__ import annotations

from .canvas import FIGURE, text_width
from .sheet import Sheet
from .words import tacks_said

STRIP, LEAST_STRIP = 300.0, 120.0  # length of the strip on the sheet
GAP = 24.0  # round the strip and its words
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
    # Beside its words where they leave room, else over them.
    beside = sheet.width - 2 * GAP - GAP - wide
    long_strip = min(STRIP, beside) if beside >= LEAST_STRIP else STRIP
    whole = long_strip + GAP + wide if beside >= LEAST_STRIP else long_strip
    left = max(GAP, (sheet.width - whole) / 2)
    right = left + long_strip
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
    long = min(max(LEAST, share * long_strip), long_strip / count)
    step = (long_strip - long) / (count - 1) if count > 1 else 0.0
    first = left if count > 1 else (left + right - long) / 2
    for k in range(count):
        x = first + k * step
        box = [(x, low - 6), (x + long, low - 6), (x + long, low + 6), (x, low + 6)]
        canvas.line("f-weld", box, close=True)
    spot = (right + GAP, low + 0.36 * FIGURE)
    if beside < LEAST_STRIP:
        spot = ((sheet.width - wide) / 2, low + HALF + FIGURE)
    sheet.write(said, "", [spot])
