"""The sheet a joint is drawn on: where measures stand round the part, and how."""

from __future__ import annotations

from dataclasses import dataclass

from ..spec import Setup
from .canvas import ARROW, FIGURE, Canvas, Point, text_width
from .words import Quantity, amount, figure, thickness_figure

EDGE = 64.0  # from the side of the sheet to where plates break off; dimension lines stand in it
LANE = 22.0  # dimension line of a vertical measure, from the side of the sheet
THICK = 92.0  # thickness of a plate on the sheet, where nothing else is larger
THICKEST = 150.0  # with many passes to tell apart
INDENT = 14.0  # figure from the edge of the plate
BASE = 16.0  # baseline of a figure over a plate or line
ROW = 52.0  # from one line of figures to the next


@dataclass(slots=True)
class Sheet:
    """One drawing in the making: y of the plate's top and what every kind needs."""

    canvas: Canvas
    setup: Setup
    system: str
    width: float
    top: float
    pass_no: int | None
    scale: float = 0.0

    @property
    def left(self) -> float:
        return EDGE

    @property
    def right(self) -> float:
        return self.width - EDGE

    def px(self, value: Quantity | None, default: float = 0.0) -> float:
        """A length on the sheet; `default` in metres where none is stated."""
        return (default if value is None else amount(value)) * self.scale

    def figure(
        self, value: Quantity, at: Point, anchor: str = "start", *, clear: bool = False
    ) -> None:
        """Write a figure in the reader's units."""
        text, unit = figure(value, self.system)
        self.canvas.text(at, text, unit=unit, anchor=anchor, clear=clear)

    def wide(self, value: Quantity | None) -> float:
        """Width of a figure with its indent, none where none is stated."""
        if value is None:
            return 0.0
        return text_width(" ".join(figure(value, self.system)), FIGURE) + INDENT + BASE

    def thickness_wide(self) -> float:
        """Width of the thickness with its indent."""
        text = " ".join(thickness_figure(self.setup, self.system))
        return INDENT + text_width(text, FIGURE) + BASE

    def width_for_figures(self) -> float:
        """What the two figures over the plate take beside each other."""
        joint = self.setup.joint
        over = joint.bead_height if joint.kind in ("bead", "padding") else joint.face_reinforcement
        return 2 * EDGE + self.thickness_wide() + self.wide(over)

    def thickness(self, top: float, bottom: float) -> float:
        """Measure the thickness at the left side; return where the figure ends."""
        text, unit = thickness_figure(self.setup, self.system)
        for y in (top, bottom):
            self.canvas.line("fine", [(self.left - 6, y), (LANE - 8, y)])
        self.canvas.dimension("thickness", self.setup.thickness.value, (LANE, top), (LANE, bottom))
        at = (self.left + INDENT, top - BASE)
        self.canvas.text(at, text, unit=unit)
        return at[0] + text_width(f"{text} {unit}", FIGURE)

    def across(
        self, name: str, value: Quantity, span: tuple[float, float], y: float, rise: float
    ) -> None:
        """Measure over the part from x to x at height `y`, extension lines up from `rise`."""
        for x in span:
            self.canvas.line("fine", [(x, rise), (x, y - 8)])
        self.canvas.dimension(name, amount(value), (span[0], y), (span[1], y))
        self.figure(value, ((span[0] + span[1]) / 2, y - BASE), "middle")

    def below(
        self, name: str, value: Quantity, span: tuple[float, float], y: float, fall: float
    ) -> None:
        """Measure under the part from x to x at height `y`, extension lines down from `fall`.

        A figure wider than the span stands beside the extension lines, over a longer line.
        """
        for x in span:
            self.canvas.line("fine", [(x, fall), (x, y + 8)])
        self.canvas.dimension(name, amount(value), (span[0], y), (span[1], y))
        width = text_width(" ".join(figure(value, self.system)), FIGURE)
        if width + 16 <= span[1] - span[0]:
            self.figure(value, ((span[0] + span[1]) / 2, y - BASE), "middle")
            return
        after, before = span[1] + ARROW + 4, span[0] - ARROW - 4 - width
        at = before if after + width > self.width - 4 and before > 4 else after
        ends = (span[1], at + width) if at == after else (at, span[0])
        self.canvas.line("thin", [(x, y) for x in ends])
        self.figure(value, (at, y - BASE))

    def standing(self, name: str, value: Quantity, y: float, height: float, from_x: float) -> None:
        """Measure at the right side how far a weld stands out of the plate at `y`.

        `height` is negative upward, `from_x` where the weld's extension line begins.
        """
        x, far = self.width - LANE, y + height
        self.canvas.line("fine", [(self.right + 6, y), (x + 8, y)])
        self.canvas.line("fine", [(from_x, far), (x + 8, far)])
        self.canvas.dimension(name, amount(value), (x, min(y, far)), (x, max(y, far)))
        baseline = far - BASE if height < 0 else far + FIGURE
        self.figure(value, (self.right - INDENT, baseline), "end", clear=True)


def broken_sides(sheet: Sheet, top: float, bottom: float) -> None:
    sheet.canvas.break_line((sheet.left, top), (sheet.left, bottom))
    sheet.canvas.break_line((sheet.right, top), (sheet.right, bottom))
