"""Demand to date against the shelf, by week."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from zlib import crc32

from shared.charts.svg import (
    dimension,
    drawing,
    hatching,
    line,
    number,
    path,
    shape,
    text,
    width_of,
)

WIDTH = 920.0
TOP, BOTTOM = 100.0, 390.0
HEIGHT = 448.0
MEASURE_Y = 56.0  # the lead time runs above the plot, where no curve can cross it


@dataclass(frozen=True, slots=True)
class ChartWeek:
    """One column: its number or word, its first day as text, and whether there is no shop."""

    label: str
    day: str = ""
    off: bool = False


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """A moment in weeks from the left edge (2.5 is the middle of the third), and what to write."""

    at: float
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where weeks and amounts lie on the drawing."""

    left: float
    right: float
    weeks: int
    most: float

    def x(self, at: float) -> float:
        return self.left + (self.right - self.left) * at / self.weeks

    def y(self, amount: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * amount / self.most


Box = tuple[float, float, float, float]  # left, top, right, bottom


class _Labels:
    """Put each label where it crosses no curve and no other label, else at its first place."""

    def __init__(self, curves: Sequence[Sequence[tuple[float, float]]]) -> None:
        self._taken: list[Box] = [
            (x - 3, y - 5, x + 3, y + 5) for curve in curves for x, y in _walk(curve)
        ]

    def put(
        self,
        words: Sequence[str],
        places: Sequence[tuple[float, float, str]],
        *,
        size: int = 22,
        look: str = "",
        ground: bool = False,
    ) -> str:
        """Return the lines of a label; a place is x, the first baseline, and the anchor."""
        boxes = [self._box(words, place, size) for place in places]
        free = [i for i, box in enumerate(boxes) if not any(_meet(box, t) for t in self._taken)]
        chosen = free[0] if free else 0
        x, base, anchor = places[chosen]
        left, top, right, bottom = boxes[chosen]
        self._taken.append(boxes[chosen])
        lines = [
            text(each, x, base + (size + 4) * row, size=size, anchor=anchor, look=look)
            for row, each in enumerate(words)
        ]
        if ground and free:
            lines.insert(
                0, shape("rect", "f-ground", x=left, y=top, width=right - left, height=bottom - top)
            )
        return "".join(lines)

    @staticmethod
    def _box(words: Sequence[str], place: tuple[float, float, str], size: int) -> Box:
        x, base, anchor = place
        wide = max((width_of(each, size) for each in words), default=0.0)
        left = x - wide if anchor == "end" else x
        return (left - 4, base - size, left + wide + 4, base + (size + 4) * (len(words) - 1) + 8)


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _walk(curve: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return points along a line through `curve`, about 6 apart."""
    points = []
    for (x1, y1), (x2, y2) in pairwise(curve):
        steps = max(1, round(math.hypot(x2 - x1, y2 - y1) / 6))
        points += [
            (x1 + (x2 - x1) * i / steps, y1 + (y2 - y1) * i / steps) for i in range(steps + 1)
        ]
    return points


def shelf_chart(
    *,
    weeks: Sequence[ChartWeek],
    likely: Sequence[float],
    ample: Sequence[float],
    shelf: float,
    unit: str,
    title: str,
    arrivals: Sequence[tuple[float, float]] = (),
    runs_out: ChartPoint | None = None,
    order_by: ChartPoint | None = None,
    to_order: Sequence[str] = (),
    shelf_words: str = "shelf",
    likely_word: str = "likely",
    ample_word: str = "ample",
    paper: bool = False,
) -> str:
    """Return the chart as SVG text; every word comes in translated, the units are the caller's.

    Parameters
    ----------
    weeks : sequence of ChartWeek
        The columns; at least one.
    likely, ample : sequence of float
        Demand from the left edge to the END of each week, >= 0 and not falling, as long as weeks.
    shelf : float
        What is there at the left edge; >= 0.
    arrivals : sequence of (position, amount)
        What is on order: position in weeks as in ChartPoint, amount > 0.
    runs_out, order_by : ChartPoint, optional
        When ample demand passes the shelf, and the last day to order; the lead time between them
        is a dimension line, which leaves the plot where the day to order lies before it.
    to_order : sequence of str
        What stands beside the dimension line from the shelf to ample demand, the figure first.
    paper : bool
        Fixed width and height in millimetres, for a PDF.

    Raises
    ------
    ValueError
        If the lengths differ, there is no week, or a figure is negative or not finite.
    """
    if not weeks or len(likely) != len(weeks) or len(ample) != len(weeks):
        raise ValueError(
            f"likely and ample must have one figure a week, got {len(likely)} and {len(ample)} "
            f"for {len(weeks)} weeks"
        )
    figures = [*likely, *ample, shelf, *(amount for _, amount in arrivals)]
    if not all(0 <= figure < math.inf for figure in figures):
        raise ValueError("likely, ample, shelf and arrivals must be finite and not negative")
    key = f"sc{crc32(title.encode()):08x}"
    steps = sorted((at, amount) for at, amount in arrivals if at <= len(weeks))
    end = shelf + sum(amount for _, amount in steps)
    ticks = _ticks(max(end, ample[-1], likely[-1]))
    left = max(56.0, 16 + width_of(_tick_text(ticks[-1]), 18))
    short = ample[-1] > end
    right = WIDTH - (60 + _block_width(to_order) if short and to_order else 24)

    plot = _Plot(left, right, len(weeks), ticks[-1])
    x, y = plot.x, plot.y
    supply = _supply_line(shelf, steps, len(weeks))
    body = [shape("defs", "", hatching(key))]
    body += _frame(plot, weeks, ticks, unit)
    area = [(x(at), y(amount)) for at, amount in supply] + [(right, BOTTOM), (left, BOTTOM)]
    points = " ".join(f"{number(a)},{number(b)}" for a, b in area)
    body.append(shape("polygon", points=points, fill=f"url(#{key})"))
    body.append(line("o-edge", left, BOTTOM, right, BOTTOM))
    body.append(path("o-line", [(x(at), y(amount)) for at, amount in supply]))
    curves = {
        look: [(x(at), y(amount)) for at, amount in enumerate([0.0, *series])]
        for series, look in ((likely, "thin"), (ample, "o-line"))
    }
    for look, curve in curves.items():
        body.append(path(look, curve))
        dot = "tip" if look == "o-line" else "o-edge f-dot"
        body += [shape("circle", dot, cx=cx, cy=cy, r=4) for cx, cy in curve[1:]]
    lines = [*curves.values(), [(x(at), y(amount)) for at, amount in supply]]
    level = 0.0
    if runs_out is not None:
        level = y(_level_at(supply, runs_out.at))
        lines.append([(x(runs_out.at), TOP), (x(runs_out.at), level)])
    labels = _Labels(lines)
    if runs_out is not None:
        body += _lead_time(plot, labels, runs_out, order_by, level)
    body.append(_shelf_label(plot, labels, shelf_words, y(shelf), y(end)))
    body += _curve_labels(labels, curves["thin"], curves["o-line"], likely_word, ample_word)
    if short and to_order:
        body += _shortage(to_order, right, y(ample[-1]), y(end))
    svg = drawing(WIDTH, HEIGHT, "".join(body), title=title, key=key, css="drawing wide chart")
    return svg.replace("<svg ", '<svg width="180mm" height="87.7mm" ', 1) if paper else svg


def _ticks(largest: float) -> list[float]:
    """Return 0 and three to six even steps of 1, 2, 3 or 5 times a power of ten up to `largest`."""
    largest = largest if largest > 1e-9 else 1.0
    power = 10.0 ** math.floor(math.log10(largest / 4))
    step = next(f * power for f in (1, 2, 3, 5, 10) if f * power * 5 >= largest)
    return [step * i for i in range(math.ceil(largest / step - 1e-9) + 1)]


def _tick_text(value: float) -> str:
    return f"{value:,.10g}"


def _block_width(lines: Sequence[str]) -> float:
    return max(
        (width_of(words, 28 if row == 0 else 20) for row, words in enumerate(lines)), default=0.0
    )


def _supply_line(
    shelf: float, steps: Sequence[tuple[float, float]], last: float
) -> list[tuple[float, float]]:
    level, points = shelf, [(0.0, shelf)]
    for at, amount in steps:
        at = max(at, 0.0)
        points += [(at, level), (at, level + amount)]
        level += amount
    return [*points, (last, level)]


def _level_at(supply: Sequence[tuple[float, float]], at: float) -> float:
    return next((level for start, level in reversed(supply) if start <= at), supply[0][1])


def _frame(plot: _Plot, weeks: Sequence[ChartWeek], ticks: Sequence[float], unit: str) -> list[str]:
    left, right, x, y = plot.left, plot.right, plot.x, plot.y
    band = [
        shape("rect", "f-band", x=x(i), y=TOP, width=x(i + 1) - x(i), height=BOTTOM - TOP)
        for i, week in enumerate(weeks)
        if week.off
    ]
    lines = [line("grid", left, y(tick), right, y(tick)) for tick in ticks[1:]]
    scale = [
        text(_tick_text(tick), left - 10, y(tick) + 6, size=18, anchor="end", look="soft")
        for tick in ticks
    ]
    scale.append(text(unit, left - 10, TOP - 14, size=18, anchor="end", look="soft"))
    wide = (right - left) / len(weeks)
    every = max(1, math.ceil(max(width_of(week.label, 20) for week in weeks) / wide))
    every_day = max(1, math.ceil(max(width_of(week.day, 18) for week in weeks) / wide))
    below = [line("thin", x(i), BOTTOM, x(i), BOTTOM + 8) for i in range(len(weeks) + 1)]
    for i, week in enumerate(weeks):
        if i % every == 0 or week.off:
            below.append(text(week.label, x(i) + 6, BOTTOM + 26, look="strong"))
        if i % every_day == 0 and week.day:
            below.append(text(week.day, x(i) + 6, BOTTOM + 48, size=18, look="soft"))
    return band + lines + scale + below


def _shelf_label(plot: _Plot, labels: _Labels, words: str, first: float, last: float) -> str:
    """Return the label of the shelf line: under it at either end, else over it."""
    left, right = plot.left + 14, plot.right - 14
    places = [(right, last + 28, "end"), (left, first + 28, "start")]
    places = [place for place in places if place[1] + 8 < BOTTOM]
    places += [(left, first - 14, "start"), (right, last - 14, "end"), (right, BOTTOM - 12, "end")]
    return labels.put([words], places, size=20, look="strong", ground=True)


def _curve_labels(
    labels: _Labels,
    likely: Sequence[tuple[float, float]],
    ample: Sequence[tuple[float, float]],
    likely_word: str,
    ample_word: str,
) -> list[str]:
    """Return the words on the curves: ample above its line, likely below its own."""
    order = sorted(range(1, len(ample)), key=lambda i: abs(i - 0.75 * len(ample)))
    above = [(ample[i][0] - 12, ample[i][1] - gap, "end") for gap in (12, 24) for i in order]
    below = [
        (likely[i][0] + 12, likely[i][1] + gap, "start")
        for gap in (26, 40)
        for i in order
        if likely[i][1] + gap + 8 < BOTTOM and i < len(likely) - 1
    ]
    below = below or [(likely[-1][0] - 12, BOTTOM - 12, "end")]
    return [
        labels.put([ample_word], above, look="strong", ground=True),
        labels.put([likely_word], below, ground=True),
    ]


def _lead_time(
    plot: _Plot,
    labels: _Labels,
    runs_out: ChartPoint,
    order_by: ChartPoint | None,
    level: float,
) -> list[str]:
    at = plot.x(min(max(runs_out.at, 0.0), plot.weeks))
    body = [line("thin", at, level - 12, at, MEASURE_Y - 12)]
    body.append(shape("circle", "f-ground", cx=at, cy=level, r=10))
    body.append(shape("circle", "o-line", cx=at, cy=level, r=10))
    base = max(TOP + 26, (TOP + level) / 2 - 13 * len(runs_out.words))
    wide = max((width_of(words, 22) for words in runs_out.words), default=0.0)
    sides = [(at - 12, base, "end"), (at + 12, base, "start")]
    sides = sides if at - wide - 12 > plot.left else sides[1:]
    body.append(labels.put(runs_out.words, sides, look="strong", ground=True))
    if order_by is None:
        return body
    start = max(plot.x(order_by.at), plot.left - 14)
    body.append(line("thin", start, MEASURE_Y - 12, start, MEASURE_Y + 12))
    body.append(dimension(start, MEASURE_Y, at, MEASURE_Y))
    for row, words in enumerate(order_by.words):
        if at < (plot.left + plot.right) / 2:
            body.append(text(words, at + 14, MEASURE_Y - 2 + 24 * row))
        else:
            lift = 24 * (len(order_by.words) - 1 - row)
            body.append(text(words, at, MEASURE_Y - 16 - lift, anchor="end"))
    return body


def _shortage(to_order: Sequence[str], right: float, top: float, bottom: float) -> list[str]:
    at = right + 28
    body = [line("fine", right + 8, y, at + 8, y) for y in (top, bottom)]
    body.append(dimension(at, top, at, bottom))
    middle = (top + bottom) / 2 - 12 * (len(to_order) - 1)
    for row, words in enumerate(to_order):
        first = row == 0
        body.append(
            text(
                words,
                at + 14,
                middle + 6 + 26 * row,
                size=28 if first else 20,
                look="strong" if first else "",
            )
        )
    return body
