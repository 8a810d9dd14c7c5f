"""A reading beside its limit on a ruler whose ticks are the gauge's step."""

from __future__ import annotations

import math
from html import escape

TICKS = 24  # more would run into each other on a tablet
ROOM = 2  # steps left and right of what must be seen


def ruler(
    *,
    step: float,
    low: float | None,
    high: float | None,
    value: float | None,
    own: float | None,
    label: str,
    top: float = math.inf,
) -> str:
    """Return a ruler as SVG text: limit as a heavy line, filled pointer mine, open pointer own.

    All figures in one unit, `step` above 0, the others at least 0; `top` is where the scale ends
    (100 for a share). Raises `ValueError` for a step that is not above 0.
    """
    if not 0 < step < math.inf:
        raise ValueError(f"step must be above 0, got {step}")
    shown = [one for one in (low, high, value, own) if one is not None]
    first = max(0, math.floor(min(shown, default=0.0) / step) - ROOM) if low is not None else 0
    if value is not None and value / step < first:
        first = max(0, math.floor(value / step) - ROOM)
    last = math.ceil(max(shown, default=0.0) / step) + ROOM
    last = max(last, first + 4)
    if top < math.inf:
        last = min(last, math.ceil(top / step))
        first = max(0, min(first, last - 4))
    count = last - first

    def place(at: float) -> str:
        share = (at / step - first) / count * 100
        return f"{min(max(share, 0.0), 100.0):.4g}%"

    every = math.ceil(count / TICKS)
    body = [
        _upright("thin", place(tick * step), 30 if tick % (2 * every) == 0 else 34, 42)
        for tick in range(first, last + 1, every)
    ]
    body.append('<line class="thin" x1="0" x2="100%" y1="42" y2="42"/>')
    left = "0%" if low is None else place(low)
    right = "100%" if high is None else place(high)
    if low is not None or high is not None:
        body.append(f'<line class="zone" x1="{left}" x2="{right}" y1="42" y2="42"/>')
    body += [_upright("zend", place(one), 26, 56) for one in (low, high) if one is not None]
    for at, look, shape in ((own, "own", "M0 58l-9 15h18z"), (value, "tip", "M0 26l-11-19h22z")):
        if at is not None:
            body.append(
                f'<svg x="{place(at)}" overflow="visible"><path class="{look}" d="{shape}"/></svg>'
            )
    return f'<svg class="ruler" role="img" aria-label="{escape(label)}">{"".join(body)}</svg>'


def _upright(look: str, x: str, y1: int, y2: int) -> str:
    return f'<line class="{look}" x1="{x}" x2="{x}" y1="{y1}" y2="{y2}"/>'
