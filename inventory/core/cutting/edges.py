"""What stands along the edges of a sheet: numbers of cuts, what strips give, measures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from curriculum.core.drawing.canvas import Point, text_width

from .canvas import FIGURE, GAP, NOTE, RING, ring_width, spread
from .lie import Lie, around
from .plan import Cut, Part
from .problem import metres, whole
from .strips import Band
from .worklist import ranges

OFF = 18.0  # px between the sheet and what stands along its edge
DIMENSION = 36.0  # px from one row of measures to the next


class Edges(Lie):
    """Draws along the edges; `across` strips is beyond their end."""

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

    def ends(self, labels: Sequence[tuple[Band, str]]) -> None:
        """Write at the end of each strip what it gives, then the measures along both sides."""
        depth = self.end_labels([row for row in labels if row[1]])
        along, across = _sides(self.stock, self.upright)
        strips = [strip for band in self.bands for strip in band.strips]
        rows = [(_start(one, not self.upright), _sides(one, self.upright)[1]) for one in strips]
        aside = under = DIMENSION
        if self.across == 2:
            self.measures(self.cells(), under, end=False)
            under += DIMENSION
        if len(strips) > 1:
            self.measures(rows, depth + aside, end=True)
            aside += DIMENSION
        self.measures([(0.0, along)], under, end=False)
        if not self.bar:
            self.measures([(0.0, across)], depth + aside, end=True)

    def end_labels(self, labels: Sequence[tuple[Band, str]]) -> float:
        """Write the labels, spread so that none is over another; return how far they reach."""
        if not labels:
            return 0.0
        frames = [around([self.box(strip) for strip in band.strips]) for band, _ in labels]
        low, high = (0, 2) if self.upright else (1, 3)
        wanted = [(frame[low] + frame[high]) / 2 for frame in frames]
        widths = [text_width(text, NOTE) + 14 for _, text in labels]
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
