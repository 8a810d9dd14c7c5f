"""A sheet or bar of a cutting plan drawn to scale, its cuts numbered in the order of work.

Plain or toned with a letter is a blank, wide hatching is kept, fine hatching is scrap. Rings on
the edge number the cuts from edge to edge, rings inside those of a strip; what has no room inside
stands at the end of the strip, with what the strip gives. A bar is to scale along its length only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby, pairwise

from curriculum.core.drawing.canvas import Box, Point, text_width
from curriculum.core.drawing.canvas import number as coordinate
from curriculum.core.sentence import Sentence as _

from .canvas import (
    FIGURE,
    GAP,
    KEPT,
    LETTER,
    NOTE,
    RING,
    SCRAP,
    SheetCanvas,
    apart,
    inside,
    ring_box,
    ring_width,
    spread,
)
from .plan import Cut, Layout, Part
from .problem import metres, whole
from .strips import Band, bands_of, is_upright
from .worklist import Marks, contents, described, gauge, in_order, ranges, size_text

WIDE, HIGH, BAR = 900.0, 680.0, 56.0  # px at most; a bar is so high
LARGEST = 1800.0  # px a metre: a small remnant is not blown up
NARROWEST = 1000.0  # px of the whole drawing: text keeps its size on the page
OFF = 18.0  # px between the sheet and what stands along its edge
DIMENSION = 36.0  # px from one row of measures to the next
THIN = 1.0  # px; no kerf is drawn finer


@dataclass(frozen=True, slots=True)
class Drawing:
    """The drawing with what a check asks of it: px a metre, the sheet's corner, its frame, px."""

    svg: str
    scale: float
    corner: Point
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


class _Sheet:
    """One drawing in the making. `u` runs along the strips, `v` across them."""

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
        single = len(self.bands) == 1 and len(self.bands[0].strips) == 1
        self.across = 2 if single else 1  # the last stage whose cuts go from edge to edge

    def drawing(self, ident: str) -> Drawing:
        self.parts()
        self.cuts()
        self.canvas.line("o-line", _corners(self.whole), close=True)
        self.edge_rings()
        labels = []
        for band in self.bands:
            numbered = self.rings(band)
            self.letters(band)
            remnants = [leaf for row in band.leaves for leaf in row if leaf.kind == "remnant"]
            kept = [self.keep(leaf) for leaf in remnants].count(False) == 0
            labels.append((band, self.said(band, numbered, kept)))
        self.ends(labels)
        x1, y1, x2, y2 = self.canvas.bounds()
        frame = (x1, y1, max(x2, x1 + NARROWEST), y2)
        return Drawing(self.svg(ident, frame), self.scale, (0.0, 0.0), frame, self.canvas)

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

    def box(self, part: Part) -> Box:
        x, y = part.x * self.scale, part.y * self.scale
        high = BAR if part.width is None else part.width * self.scale
        return (x, y, x + part.length * self.scale, y + high)

    def figure(self, metres: float) -> str:
        return str(gauge(metres, self.system))

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

    def cut_box(self, cut: Cut) -> Box:
        """Return the strip of metal that a cut takes, at least so wide that it is seen."""
        x1, y1, x2, y2 = self.box(self.layout.parts[cut.part])
        least = 2 * THIN if cut.stage < 2 else THIN
        wide, at = max(self.kerf * self.scale, least), cut.at * self.scale
        if cut.runs == "width":
            return (at, y1, min(at + wide, x2), y2)
        return (x1, at, x2, min(at + wide, y2))

    # numbers of the cuts

    def edge_rings(self) -> None:
        """Number what is cut from edge to edge, above the sheet and to its left."""
        cuts = [cut for cut in self.layout.cuts if cut.stage <= self.across]
        for runs in ("width", "length"):
            rows = [list(run) for run in _edge_runs([cut for cut in cuts if cut.runs == runs])]
            rows = [part for row in rows for part in self.with_room(row)]
            texts = [ranges([cut.number for cut in row]) for row in rows]
            wanted = [(self.at(row[0]) + self.at(row[-1])) / 2 for row in rows]
            upward = runs == "width"
            sizes = [ring_width(text) if upward else RING for text in texts]
            for row, text, middle in zip(rows, texts, spread(wanted, sizes), strict=True):
                self.edge_ring(row, text, middle, upward)

    def with_room(self, row: list[Cut]) -> Iterator[list[Cut]]:
        """Yield each cut of a run alone where rings have room between them."""
        places = [self.at(cut) for cut in row]
        gaps = [b - a for a, b in pairwise(places)]
        if min(gaps, default=0.0) >= RING + GAP:
            yield from ([cut] for cut in row)
        else:
            yield row

    def edge_ring(self, row: Sequence[Cut], text: str, middle: float, upward: bool) -> None:
        """Draw a ring with lines to its cuts; `upward` above the sheet, else to the left."""

        def point(along: float, off: float) -> Point:
            return (along, -off) if upward else (-off, along)

        first, last = self.at(row[0]), self.at(row[-1])
        if len(row) == 1:
            self.canvas.line("o-edge", [point(first, 0), point(first, 6), point(middle, OFF)])
        else:
            bracket = [point(first, 0), point(first, 8), point(last, 8), point(last, 0)]
            self.canvas.line("o-edge", bracket)
            self.canvas.line("o-edge", [point((first + last) / 2, 8), point(middle, OFF)])
        reach = OFF + (RING if upward else ring_width(text)) / 2
        self.canvas.ring(text, point(middle, reach))

    def at(self, cut: Cut) -> float:
        """Return the middle of a cut's line across itself, px."""
        x1, y1, x2, y2 = self.cut_box(cut)
        return (x1 + x2) / 2 if cut.runs == "width" else (y1 + y2) / 2

    def inner(self, band: Band) -> list[Cut]:
        """Return the cuts of a band that do not go from edge to edge of the sheet."""
        return [cut for cut in band.all_cuts() if cut.stage > self.across]

    def rings(self, band: Band) -> bool:
        """Number the cuts of a band inside it; say whether there was room for all."""
        frame = _around([self.box(strip) for strip in band.strips])
        taken: list[tuple[str, Point]] = []
        for run in band.runs():
            if run[0].stage <= self.across:
                continue
            text = ranges([cut.number for cut in run])
            others = [ring_box(*one) for one in taken]
            for middle in self.ring_places(run, frame):
                box = ring_box(text, middle)
                if inside(box, frame) and all(apart(box, other) for other in others):
                    taken.append((text, middle))
                    break
            else:
                return False
        for text, middle in taken:
            self.canvas.ring(text, middle)
        return True

    def ring_places(self, run: Sequence[Cut], frame: Box) -> Iterator[Point]:
        """Yield where a ring may stand on the lines of a run: near the edge of the strip, else
        in the middle of the line, else of the band."""
        x1, y1, x2, y2 = self.cut_box(run[0])
        reach = ring_width(ranges([cut.number for cut in run])) / 2
        if run[0].runs == "width":
            x, y = (x1 + x2) / 2, (y1 + y2) / 2
            if y2 - y1 > 3 * RING:
                yield x, y1 + RING / 2 + 3
            yield x, y
            yield x, (frame[1] + frame[3]) / 2
        else:
            x, y = (x1 + x2) / 2, (y1 + y2) / 2
            if x2 - x1 > 2 * reach + 2 * RING:
                yield x1 + reach + 3, y
            yield x, y
            yield (frame[0] + frame[2]) / 2, y

    # letters and what is kept

    def letters(self, band: Band) -> None:
        """Put its letter on each blank that has room, else once on all that lie together."""
        blanks: dict[str, list[Box]] = {}
        for leaves in band.leaves:
            for leaf in leaves:
                if leaf.kind == "blank":
                    blanks.setdefault(self.marks.of(leaf), []).append(self.box(leaf))
        for mark, boxes in blanks.items():
            written = [self.fit([mark], box) for box in boxes]
            if not any(written) and _filled(boxes):
                self.fit([mark], _around(boxes), clear=True)

    def keep(self, part: Part) -> bool:
        """Label a remnant with mark and size, with its mark alone where there is less room."""
        box, mark = self.box(part), self.marks.of(part)
        kept = self.say(_("%(mark)s keep")) % {"mark": mark}
        size = size_text(part.length, part.width, self.system)
        tries = ([kept, size], [f"{kept}, {size}"], [kept], [mark])
        return any(self.fit(lines, box, clear=True) for lines in tries)

    def fit(self, lines: Sequence[str], box: Box, *, clear: bool = False) -> bool:
        """Write lines amid a box, or a little aside of it; say whether there was room."""
        wide = max(text_width(line, LETTER) for line in lines) + 8
        high = 1.2 * LETTER * len(lines)
        for along, across in ((0.5, 0.5), (0.25, 0.5), (0.75, 0.5), (0.5, 0.25), (0.5, 0.75)):
            x, y = box[0] + along * (box[2] - box[0]), box[1] + across * (box[3] - box[1])
            room = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
            if inside(room, box) and all(apart(room, ring) for _, ring in self.canvas.rings):
                break
        else:
            return False
        if clear:
            self.canvas.box("f-ground", room)
        for place, line in enumerate(lines):
            base = room[1] + 1.2 * LETTER * place + 0.92 * LETTER
            look = "" if place else "strong"
            self.canvas.text((x, base), line, size=LETTER, anchor="middle", cls=look)
        return True

    # what stands along the edges

    def ends(self, labels: Sequence[tuple[Band, str]]) -> None:
        """Write at the end of each strip what it gives, then the measures along both sides."""
        depth = self.end_labels([row for row in labels if row[1]])
        along, across = _sides(self.stock, self.upright)
        if self.across == 2:
            self.measures(self.cells(), DIMENSION, end=False)
            self.measures([(0.0, along)], 2 * DIMENSION, end=False)
            off = DIMENSION
        else:
            strips = [strip for band in self.bands for strip in band.strips]
            rows = [(_start(one, not self.upright), _sides(one, self.upright)[1]) for one in strips]
            self.measures(rows, depth + DIMENSION, end=True)
            self.measures([(0.0, along)], DIMENSION, end=False)
            off = 2 * DIMENSION
        if not self.bar:
            self.measures([(0.0, across)], depth + off, end=True)

    def end_labels(self, labels: Sequence[tuple[Band, str]]) -> float:
        """Write the labels, spread so that none is over another; return how far they reach."""
        if not labels:
            return 0.0
        frames = [_around([self.box(strip) for strip in band.strips]) for band, _ in labels]
        low, high = (0, 2) if self.upright else (1, 3)
        wanted = [(frame[low] + frame[high]) / 2 for frame in frames]
        widths = [text_width(text, NOTE) + 8 for _, text in labels]
        level = not self.upright or sum(widths) <= self.whole[2]
        sizes = widths if self.upright and level else [1.2 * NOTE] * len(labels)
        rows = zip(labels, frames, wanted, spread(wanted, sizes), strict=True)
        for (__, text), frame, middle, place in rows:
            self.canvas.line("fine", [self.end(frame[low] + 3, 5), self.end(frame[high] - 3, 5)])
            if abs(middle - place) > 2:
                self.canvas.line("fine", [self.end(middle, 5), self.end(place, OFF - 2)])
            x, y = self.end(place, OFF)
            if not level:
                at = (x + 0.3 * NOTE, y)
                self.canvas.upright_text(at, text, size=NOTE, anchor="end")
            elif self.upright:
                self.canvas.text((x, y + 0.8 * NOTE), text, size=NOTE, anchor="middle")
            else:
                self.canvas.text((x, y + 0.3 * NOTE), text, size=NOTE)
        return OFF + (1.2 * NOTE if self.upright and level else max(widths))

    def end(self, along: float, off: float) -> Point:
        """Return a point `off` beyond the end of the strips, at `along` across them."""
        return (along, self.whole[3] + off) if self.upright else (self.whole[2] + off, along)

    def said(self, band: Band, numbered: bool, kept: bool) -> str:
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
        numbers = "" if numbered else ranges([cut.number for cut in self.inner(band)])
        return f"{numbers}: {text}" if numbers and text else numbers or text

    def cells(self) -> list[tuple[float, float]]:
        """Return start and length of what the single strip is cut to, m."""
        parts = self.layout.parts
        cuts = [cut for cut in self.layout.cuts if cut.stage == 2]
        cells = [parts[cut.off] for cut in cuts if cut.off is not None]
        cells += [parts[cut.rest] for cut in cuts[-1:] if cut.rest is not None]
        return [(_start(one, self.upright), _sides(one, self.upright)[0]) for one in cells]

    def measures(self, rows: Sequence[tuple[float, float]], off: float, *, end: bool) -> None:
        """Draw dimension lines of starts and lengths, equal ones together; `end`: across the
        strips, beyond their end, else along them."""
        level = end == self.upright
        edge = self.whole[3] if level else self.whole[2]

        def point(along: float, aside: float) -> Point:
            return (along, edge + aside) if level else (edge + aside, along)

        for size, group in groupby(rows, key=lambda row: whole(row[1])):
            alike = list(group)
            start, stop = alike[0][0], alike[-1][0] + alike[-1][1]
            figure = self.figure(metres(size))
            text = f"{len(alike)} × {figure}" if len(alike) > 1 else figure
            first, last = start * self.scale, stop * self.scale
            if last - first < max(text_width(text, FIGURE) + 8, 2 * RING):
                continue
            for at in (first, last):
                self.canvas.line("fine", [point(at, off - 8), point(at, off + 6)])
            self.canvas.dimension("side", stop - start, point(first, off), point(last, off))
            middle = (first + last) / 2
            if level:
                at_text = (middle, edge + off - 7)
                self.canvas.text(at_text, text, size=FIGURE, anchor="middle")
            else:
                self.canvas.upright_text((edge + off - 7, middle), text, size=FIGURE)


def _edge_runs(cuts: Sequence[Cut]) -> Iterator[list[Cut]]:
    """Yield the cuts from the edge on, those of one setting that follow one another together."""
    run: list[Cut] = []
    for cut in sorted(cuts, key=lambda one: one.at):
        if run and (run[-1].stage, run[-1].setting, run[-1].number + 1) != (
            cut.stage,
            cut.setting,
            cut.number,
        ):
            yield run
            run = []
        run.append(cut)
    if run:
        yield run


def _start(part: Part, on_y: bool) -> float:
    return part.y if on_y else part.x


def _sides(part: Part, upright: bool) -> tuple[float, float]:
    """Return the side along the strips and the one across them, m."""
    width = part.width or 0.0
    return (width, part.length) if upright else (part.length, width)


def _around(boxes: Sequence[Box]) -> Box:
    lows, highs = zip(*((box[:2], box[2:]) for box in boxes), strict=True)
    (x1, y1), (x2, y2) = map(min, zip(*lows, strict=True)), map(max, zip(*highs, strict=True))
    return (x1, y1, x2, y2)


def _filled(boxes: Sequence[Box]) -> bool:
    """Say whether boxes lie together, but for what is lost between them."""
    frame = _around(boxes)
    areas = sum((box[2] - box[0]) * (box[3] - box[1]) for box in boxes)
    return areas >= 0.8 * (frame[2] - frame[0]) * (frame[3] - frame[1])


def _corners(box: Box) -> list[Point]:
    x1, y1, x2, y2 = box
    return [(x1, y1), (x2, y1), (x2, y2), (x1, y2)]
