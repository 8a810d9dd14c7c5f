"""Ranges and loads as lines and level bars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from zlib import crc32

from shared.charts.svg import drawing, hatching, line, shape, text


def range_line(start: float | None = None) -> str:
    """Return the dimension line of a range, to stand between its two figures.

    `start` is where the start figure lies, 0 at the low end to 1 at the high end; None: no dot.
    """
    if start is not None and not 0 <= start <= 1:
        raise ValueError(f"start must lie in [0, 1], got {start}")
    dot = "" if start is None else shape("circle", "tip", cx=f"{start:.1%}", cy=12, r=6)
    stroke = 'stroke="#000" stroke-width="2"'
    solid = 'class="tip" fill="#000" stroke="none"'
    return (
        '<svg aria-hidden="true" focusable="false">'
        f'<line class="bar" {stroke} x1="0" y1="12" x2="100%" y2="12"/>'
        f'<path class="end" {stroke} d="M0 3v18"/><polygon {solid} points="0,12 13,16 13,8"/>'
        f'<svg x="100%" overflow="visible"><path class="end" {stroke} d="M0 3v18"/>'
        f'<polygon {solid} points="0,12 -13,8 -13,16"/></svg>{dot}</svg>'
    )


def level_bar(value: float, limit: float, top: float) -> str:
    """Return a level bar in a box `top` wide with a tick at `limit`; what is over is set apart.

    All three in one unit, `value` and `limit` >= 0, `top` > 0. The figure stands beside it.
    """
    if not (top > 0 and value >= 0 and limit >= 0):
        raise ValueError(
            f"value and limit must not be negative, top above 0, got {value}, {limit}, {top}"
        )

    def share(amount: float) -> str:
        return f"{min(amount / top, 1):.1%}"

    within, over = min(value, limit), max(value - limit, 0.0)
    parts = [shape("rect", "f-level", x="0", y=3, width=share(within), height=6)] if within else []
    if over:
        parts.append(shape("rect", "f-over", x=share(limit), y=3, width=share(over), height=6))
    parts.append(shape("line", "cap", x1=share(limit), x2=share(limit), y1=0, y2=12))
    body = "".join(parts)
    return f'<svg class="lvl" height="12" aria-hidden="true" focusable="false">{body}</svg>'


def progress_bar(done: float, total: float) -> str:
    """Return a level bar of `done` out of `total` (0 <= done <= total, total > 0)."""
    if not 0 <= done <= total or total == 0:
        raise ValueError(f"done must lie in [0, total] and total above 0, got {done} of {total}")
    return level_bar(done, total, total)


@dataclass(frozen=True, slots=True)
class Load:
    """One week: its label, what is needed and what there is, in one unit; no shop: limit None."""

    label: str
    needed: float
    limit: float | None


def load_strip(loads: Sequence[Load], *, title: str) -> str:
    """Return the load of all weeks as one drawing: figure first, level bar under it.

    Weeks without shop are hatched; a week that is over carries by how much. The same figures
    must stand in a table.
    """
    if not loads:
        raise ValueError("loads must hold at least one week")
    wide, key = 64.0, f"ls{crc32(title.encode()):08x}"
    top = max((max(load.needed, load.limit or 0.0) for load in loads), default=0.0) * 1.1 or 1.0
    body = [shape("defs", "", hatching(key, step=8))]
    for i, load in enumerate(loads):
        x = i * wide
        body.append(text(load.label, x + 4, 16, size=18, look="soft"))
        if load.limit is None:
            body.append(shape("rect", x=x, y=22, width=wide - 4, height=48, fill=f"url(#{key})"))
            continue
        over = load.needed - load.limit
        body.append(text(f"{load.needed:.1f}", x + 4, 40, look="strong" if over > 0 else ""))
        room = wide - 8
        level = min(load.needed, load.limit) / top * room
        at = x + 4 + load.limit / top * room
        body.append(shape("rect", "f-level", x=x + 4, y=48, width=level, height=6))
        if over > 0:
            body.append(shape("rect", "f-over", x=at, y=48, width=over / top * room, height=6))
            body.append(text(f"+{over:.1f}", x + 4, 70, size=16, look="strong"))
        body.append(line("cap", at, 45, at, 57))
    return drawing(wide * len(loads), 76, "".join(body), title=title, key=key, css="drawing loads")
