"""A sheet or bar of a cutting plan drawn to scale, its cuts numbered in the order of work.

Plain or toned with a letter is a blank, wide hatching is kept, fine hatching is scrap. Rings on
the edge number the cuts from edge to edge, rings inside those of a strip; what has no room inside
stands at the end of the strip, with what the strip gives. A bar is to scale along its length only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

from curriculum.core.drawing.canvas import Box, Point, text_width
from curriculum.core.drawing.canvas import number as coordinate
from curriculum.core.sentence import Sentence as _

from .canvas import (
    KEPT,
    LETTER,
    RING,
    SCRAP,
    SheetCanvas,
    apart,
    inside,
    ring_box,
    ring_width,
)
from .edges import Edges
from .lie import around
from .plan import Cut, Layout, Part
from .strips import Band
from .worklist import Marks, contents, described, in_order, ranges, size_text

NARROWEST = 1000.0  # px of the whole drawing: text keeps its size on the page
PLACES = ((0.5, 0.5), (0.25, 0.5), (0.75, 0.5), (0.5, 0.25), (0.5, 0.75))  # in a box


@dataclass(frozen=True, slots=True)
class Drawing:
    """The drawing, its px a metre from the corner of the stock, and its frame in px."""

    svg: str
    scale: float
    frame: Box
    canvas: SheetCanvas


def draw(
    layout: Layout,
    marks: Marks,
    *,
    kerf: float,
    ident: str,
    system: str = "us",
    paper: bool = False,
    say: Callable[[str], str] = str,
) -> Drawing:
    """Return the drawing of a layout.

    Parameters
    ----------
    layout : Layout
        Of a plan that passed `check_plan`. Its cuts are numbered as `in_order` numbers them.
    marks : Marks
        Of that plan.
    kerf : float
        What a cut takes away, m; at least 0. Drawn to scale, never finer than a pixel.
    ident : str
        What the ids inside begin with; once on a page.
    system : str
        "us" or "metric".
    paper : bool
        Leave the classes of the style sheet out: ink on white.
    say : callable
        Puts the templates of words into the reader's language.
    """
    return _Sheet(in_order(layout), marks, kerf, system, paper, say).drawing(ident)


class _Sheet(Edges):
    """One drawing in the making."""

    def drawing(self, ident: str) -> Drawing:
        self.parts()
        self.cuts()
        self.canvas.line("o-line", _corners(self.whole), close=True)
        self.edge_rings()
        labels = []
        for band in self.bands:
            lettered = self.first_letters(band)
            unnumbered = self.rings(band)
            self.letters(band, lettered)
            remnants = [leaf for row in band.leaves for leaf in row if leaf.kind == "remnant"]
            kept = [self.keep(leaf) for leaf in remnants].count(False) == 0
            labels.append((band, self.said(band, unnumbered, kept)))
        self.ends(labels)
        x1, y1, x2, y2 = self.canvas.bounds()
        frame = (x1, y1, max(x2, x1 + NARROWEST), y2)
        return Drawing(self.svg(ident, frame), self.scale, frame, self.canvas)

    def svg(self, ident: str, frame: Box) -> str:
        x1, y1, x2, y2 = frame
        view = " ".join(coordinate(one) for one in (x1, y1, x2 - x1, y2 - y1))
        cls = "" if self.canvas.paper else 'class="drawing wide" '
        words = described(self.layout, self.marks, self.system).in_words(self.say)
        name = escape(f"{ident}-t")
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {cls}viewBox="{view}" '
            f'font-family="Atkinson Next" role="img" aria-labelledby="{name}">'
            f'<title id="{name}">{escape(words)}</title>{"".join(self.canvas.elements)}</svg>'
        )

    # the sheet itself

    def parts(self) -> None:
        tones = {mark: place % 2 for place, mark in enumerate(self.marks.pieces.values())}
        self.canvas.box("f-ground", self.whole)
        for place, part in enumerate(self.layout.parts):
            if part.kind not in ("blank", "remnant", "scrap"):
                continue
            box = self.box(part)
            data = f' data-part="{place}" data-kind="{part.kind}"'
            toned = part.kind == "blank" and tones[self.marks.of(part)]
            self.canvas.box("c-tone" if toned else "c-blank", box, data)
            if part.kind == "remnant":
                self.canvas.hatch(box, KEPT, 1)
            elif part.kind == "scrap":
                self.canvas.hatch(box, SCRAP, -1)

    def cuts(self) -> None:
        for cut in self.layout.cuts:
            self.canvas.box("c-cut", self.cut_box(cut), f' data-cut="{cut.number}"')

    # numbers of the cuts

    def rings(self, band: Band) -> list[Cut]:
        """Number the cuts of a band inside it; return those whose numbers have no room."""
        frame = around([self.box(strip) for strip in band.strips])
        taken = [text.box for text in self.canvas.texts if inside(text.box, frame)]
        left: list[Cut] = []
        for run in band.runs():
            if run[0].stage <= self.across:
                continue
            text = ranges([cut.number for cut in run])
            for middle in self.ring_places(run, text):
                box = ring_box(text, middle)
                if inside(box, frame) and all(apart(box, other) for other in taken):
                    taken.append(box)
                    self.canvas.ring(text, middle)
                    break
            else:
                left += run
        return left

    def ring_places(self, run: Sequence[Cut], text: str) -> Iterator[Point]:
        """Yield where a ring may stand on some lines of a run: near the end of a line, else in
        its middle, else amid all lines of the run that go on in it."""
        reach = ring_width(text) / 2
        for cut in run[:: max(1, len(run) // 7)]:
            x1, y1, x2, y2 = self.cut_box(cut)
            x, y = _middle((x1, y1, x2, y2))
            lines = [self.cut_box(one) for one in run if one.at == cut.at]
            all_x, all_y = _middle(around(lines))
            if cut.runs == "width":
                if y2 - y1 > 3 * RING:
                    yield x, y1 + RING / 2 + 3
                yield x, y
                if any(line[1] <= all_y <= line[3] for line in lines):
                    yield x, all_y
            else:
                if x2 - x1 > 2 * reach + 2 * RING:
                    yield x1 + reach + 3, y
                yield x, y
                if any(line[0] <= all_x <= line[2] for line in lines):
                    yield all_x, y

    # letters and what is kept

    def first_letters(self, band: Band) -> list[Box]:
        """Put each letter once into a band, before rings take the room; return its blanks."""
        done = []
        for mark, boxes in self.blanks(band).items():
            for box in reversed(boxes):
                if self.fit([mark], box):
                    done.append(box)
                    break
            else:
                if _filled(boxes):
                    self.fit([mark], around(boxes), aside=True)
        return done

    def letters(self, band: Band, done: Sequence[Box]) -> None:
        """Put its letter on every other blank that has room."""
        for mark, boxes in self.blanks(band).items():
            for box in boxes:
                if box not in done:
                    self.fit([mark], box)

    def blanks(self, band: Band) -> dict[str, list[Box]]:
        """Return the blanks of a band by their marks."""
        found: dict[str, list[Box]] = {}
        for leaves in band.leaves:
            for leaf in leaves:
                if leaf.kind == "blank":
                    found.setdefault(self.marks.of(leaf), []).append(self.box(leaf))
        return found

    def keep(self, part: Part) -> bool:
        """Label a remnant with mark and size, with its mark alone where there is less room."""
        box, mark = self.box(part), self.marks.of(part)
        kept = self.say(_("%(mark)s keep")) % {"mark": mark}
        size = size_text(part.length, part.width, self.system)
        full = f"{kept}, {size}"
        if self.fit([kept, size], box, aside=True) or self.fit([full], box, aside=True):
            return True
        wide, high = text_width(full, LETTER) + 8, 1.2 * LETTER
        x, y = _middle(box)
        room = (x - high / 2, y - wide / 2, x + high / 2, y + wide / 2)
        if self.free(room, box):
            self.canvas.box("f-ground", room)
            self.canvas.upright_text((x + 0.3 * LETTER, y), full, size=LETTER, cls="strong")
            return True
        return self.fit([kept], box, aside=True) or self.fit([mark], box, aside=True)

    def free(self, room: Box, box: Box) -> bool:
        """Say whether `room` lies in a box and is clear of the rings."""
        return inside(room, box) and all(apart(room, ring) for __, ring in self.canvas.rings)

    def fit(self, lines: Sequence[str], box: Box, *, aside: bool = False) -> bool:
        """Write lines amid a box, or aside of that on a ground of its own, clear of the rings.

        Returns whether there was room.
        """
        wide = max(text_width(line, LETTER) for line in lines) + 8
        high = 1.2 * LETTER * len(lines)
        for along, across in PLACES if aside else PLACES[:1]:
            x, y = box[0] + along * (box[2] - box[0]), box[1] + across * (box[3] - box[1])
            room = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
            if self.free(room, box):
                break
        else:
            return False
        if aside:
            self.canvas.box("f-ground", room)
        for place, line in enumerate(lines):
            base = room[1] + 1.2 * LETTER * place + 0.92 * LETTER
            look = "" if place else "strong"
            self.canvas.text((x, base), line, size=LETTER, anchor="middle", cls=look)
        return True

    # what stands along the edges

    def said(self, band: Band, unnumbered: Sequence[Cut], kept: bool) -> str:
        """Return what a band gives, after the numbers of its cuts where these have no room."""
        parts = [leaf for leaf in band.leaves[0] if leaf.kind == "blank" or not kept]
        given = contents(parts, self.marks)
        text = " + ".join(
            mark if mark in self.marks.remnants.values() and count == 1 else f"{count} {mark}"
            for mark, count in given.items()
        )
        if len(band.strips) > 1 and text:
            text = (
                f"{len(band.strips)} × ({text})"
                if len(given) > 1
                else f"{len(band.strips)} × {text}"
            )
        numbers = ranges(sorted(cut.number for cut in unnumbered))
        return f"{numbers}: {text}" if numbers and text else numbers or text


def _middle(box: Box) -> Point:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def _filled(boxes: Sequence[Box]) -> bool:
    """Say whether boxes lie together, but for what is lost between them."""
    frame = around(boxes)
    areas = sum((box[2] - box[0]) * (box[3] - box[1]) for box in boxes)
    return areas >= 0.8 * (frame[2] - frame[0]) * (frame[3] - frame[1])


def _corners(box: Box) -> list[Point]:
    x1, y1, x2, y2 = box
    return [(x1, y1), (x2, y1), (x2, y2), (x1, y2)]
