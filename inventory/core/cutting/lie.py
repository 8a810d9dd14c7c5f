"""How a sheet or bar lies on the drawing: its scale, its strips, and where parts and cuts are."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from curriculum.core.drawing.canvas import Box

from .canvas import SheetCanvas
from .plan import Cut, Layout, Part
from .strips import bands_of, is_upright
from .worklist import Marks, gauge

WIDE, HIGH, BAR = 900.0, 680.0, 56.0  # px at most; a bar is so high
LARGEST = 1800.0  # px a metre: a small remnant is not blown up
THIN = 1.0  # px; no kerf is drawn finer


class Lie:
    """A layout in the order of work on its canvas, in pixels from the corner of the stock."""

    def __init__(
        self,
        layout: Layout,
        marks: Marks,
        kerf: float,
        system: str,
        paper: bool,
        say: Callable[[str], str],
    ) -> None:
        self.layout, self.marks, self.kerf = layout, marks, kerf
        self.system, self.say = system, say
        self.canvas = SheetCanvas(paper=paper, say=say)
        self.bands = bands_of(layout)
        self.upright = is_upright(layout)
        self.stock = layout.parts[0]
        self.bar = self.stock.width is None
        self.scale = min(WIDE / self.stock.length, LARGEST)
        if self.stock.width is not None:
            self.scale = min(self.scale, HIGH / self.stock.width)
        self.whole = self.box(self.stock)
        # The last stage whose cuts go from edge to edge: 2 where the first strip alone is cut on.
        self.across = 1 if any(any(band.cuts) for band in self.bands[1:]) else 2
        if len(self.bands[0].strips) > 1:
            self.across = 1

    def box(self, part: Part) -> Box:
        x, y = part.x * self.scale, part.y * self.scale
        high = BAR if part.width is None else part.width * self.scale
        return (x, y, x + part.length * self.scale, y + high)

    def figure(self, metres: float) -> str:
        return str(gauge(metres, self.system))

    def cut_box(self, cut: Cut) -> Box:
        """Return the strip of metal that a cut takes, at least so wide that it is seen."""
        x1, y1, x2, y2 = self.box(self.layout.parts[cut.part])
        least = 2 * THIN if cut.stage < 2 else THIN
        wide, at = max(self.kerf * self.scale, least), cut.at * self.scale
        if cut.runs == "width":
            return (at, y1, min(at + wide, x2), y2)
        return (x1, at, x2, min(at + wide, y2))

    def at(self, cut: Cut) -> float:
        """Return the middle of a cut's line across itself, px."""
        x1, y1, x2, y2 = self.cut_box(cut)
        return (x1 + x2) / 2 if cut.runs == "width" else (y1 + y2) / 2


def around(boxes: Sequence[Box]) -> Box:
    lows, highs = zip(*((box[:2], box[2:]) for box in boxes), strict=True)
    (x1, y1), (x2, y2) = map(min, zip(*lows, strict=True)), map(max, zip(*highs, strict=True))
    return (x1, y1, x2, y2)
