"""Welding symbols after AWS A2.4: reference line, arrow, weld symbol, measures, tail.

Arrow side stands under the line, the other side over it; the upright of a fillet or bevel is at
the left; a size stands left of its symbol, a length right of it, the root opening inside a groove
symbol and its angle beyond; melt-through is a filled half circle and backing a box on the other
side. (Published training texts on AWS A2.4; the arrangement of measures from memory.)
"""

from __future__ import annotations

import math
from collections.abc import Callable

from ..sentence import Sentence
from ..spec import Exercise, Setup
from .canvas import Canvas, Point, bulge, text_width
from .symbol_words import describe_symbol
from .words import Quantity, figure

SIZE = 32.0  # figures of a symbol
LINE_FROM, ELBOW_DROP = 84.0, 122.0
LEAST_WIDTH = 400.0  # so that symbols beside one another come out in one scale


def symbol_svg(
    exercise: Exercise,
    setup: Setup,
    *,
    system: str = "us",
    standard: str = "AWS",
    paper: bool = False,
    ident: str = "symbol",
    say: Callable[[str], str] = str,
) -> str:
    """Return the welding symbol as an SVG element; empty where nothing is welded.

    `say` puts the templates of its words into the reader's language.

    Raises ValueError for another `standard` than "AWS" and for a kind without a symbol here.
    """
    if standard != "AWS":
        raise ValueError(f"standard must be AWS, got {standard!r}")
    kind = setup.joint.kind
    if kind == "none":
        return ""
    if kind not in _SYMBOLS:
        raise ValueError(f"joint must be one of {sorted(_SYMBOLS)}, got {kind!r}")

    def draw(line: float) -> tuple[Canvas, float]:
        canvas = Canvas(paper=paper, say=say)
        return canvas, _draw(canvas, exercise, setup, system, line)

    _, above, _, _ = draw(0.0)[0].bounds()
    canvas, width = draw(-above)
    height = canvas.bounds()[3]
    title = describe_symbol(exercise, setup, system).in_words(say)
    return canvas.svg(width, height, title=title, ident=ident)


def _figure(value: Quantity | None, system: str) -> str:
    """A figure without its unit, as symbols carry it: the drawing's unit holds for all."""
    return "" if value is None else figure(value, system)[0]


def _draw(canvas: Canvas, exercise: Exercise, setup: Setup, system: str, y: float) -> float:
    joint = setup.joint
    size = _size_text(setup, system)
    x = LINE_FROM + 24 + (text_width(size, SIZE) + 12 if size else 0)
    draw = _SYMBOLS[joint.kind]
    foot, width = draw(canvas, setup, system, (x, y))
    if size:
        canvas.text((x - 10, y + 44), size, size=SIZE, anchor="end")
    end = x + width
    if length := _length_text(setup, system):
        canvas.text((end + 12, y + 44), length, size=SIZE)
        end += 12 + text_width(length, SIZE)
    middle = x + width / 2
    if joint.backing:
        canvas.line(
            "o-edge",
            [(middle - 40, y), (middle - 40, y - 28), (middle + 40, y - 28), (middle + 40, y)],
        )
    elif joint.melt_through:
        dome = _dome((middle, y), 24.0, up=True)
        canvas.line("tip", dome, close=True)
        if root := _figure(joint.root_reinforcement, system):
            canvas.text((middle - 34, y - 12), root, size=SIZE, anchor="end")
    if joint.contour in ("convex", "concave"):
        if "fillet" in joint.kind:  # along the sloping side
            start, finish = (x + 20, y + 54), (x + 54, y + 20)
        else:
            start, finish = (middle - 26, y + foot), (middle + 26, y + foot)
        rise = -9.0 if joint.contour == "convex" else 9.0
        canvas.line("o-edge", bulge(start, finish, rise))
    tail = end + 34
    canvas.line("o-edge", [(LINE_FROM, y), (tail, y)])
    tip = (8.0, y + ELBOW_DROP)
    canvas.line("o-edge", [(LINE_FROM, y), tip])
    canvas.tip(tip, (LINE_FROM, y))
    canvas.line("o-edge", [(tail + 26, y - 26), (tail, y), (tail + 26, y + 26)])
    canvas.text((tail + 34, y + 0.36 * SIZE), exercise.process, size=SIZE)
    return max(tail + 34 + text_width(exercise.process, SIZE) + 8, LEAST_WIDTH)


def _size_text(setup: Setup, system: str) -> str:
    joint = setup.joint
    if "fillet" in joint.kind:
        first, second = _figure(joint.leg, system), _figure(joint.leg_2, system)
        if first and second and first != second:
            return Sentence("%(first)s × %(second)s", first=first, second=second)
        return first
    if joint.kind in ("bead", "padding"):
        return _figure(joint.bead_height, system)
    return ""


def _length_text(setup: Setup, system: str) -> str:
    """The length of the weld, only where it does not run the full length of the pieces."""
    full = max((p.length.value for p in setup.pieces if p.form != "backing"), default=0.0)
    weld = setup.weld_length
    if weld is None or not full or weld.value > full * 0.999 or setup.joint.kind == "padding":
        return ""
    return _figure(weld, system)


def _dome(center: Point, radius: float, *, up: bool) -> list[Point]:
    sign = -1 if up else 1
    return [
        (
            center[0] - radius * math.cos(math.pi * i / 24),
            center[1] + sign * radius * math.sin(math.pi * i / 24),
        )
        for i in range(25)
    ]


def _fillet(canvas: Canvas, setup: Setup, system: str, at: Point) -> tuple[float, float]:
    x, y = at
    canvas.line("o-edge", [(x, y), (x, y + 52), (x + 52, y)])
    return 62.0, 52.0


def _square(canvas: Canvas, setup: Setup, system: str, at: Point) -> tuple[float, float]:
    x, y = at
    root = _figure(setup.joint.root_opening, system)
    gap = max(20.0, text_width(root, SIZE) + 14) if root else 20.0
    for side in (x, x + gap):
        canvas.line("o-edge", [(side, y), (side, y + 56)])
    if root:
        canvas.text((x + gap / 2, y + 40), root, size=SIZE, anchor="middle")
    return 66.0, gap


def _vee(canvas: Canvas, setup: Setup, system: str, at: Point) -> tuple[float, float]:
    return _groove(canvas, setup, system, at, both=True)


def _bevel(canvas: Canvas, setup: Setup, system: str, at: Point) -> tuple[float, float]:
    return _groove(canvas, setup, system, at, both=False)


def _groove(
    canvas: Canvas, setup: Setup, system: str, at: Point, *, both: bool
) -> tuple[float, float]:
    """V or bevel: wide enough for the root opening inside, the angle beyond."""
    (x, y), joint = at, setup.joint
    root = _figure(joint.root_opening, system)
    angle = _figure(joint.groove_angle or joint.bevel_angle, system)
    inner = text_width(root, SIZE)
    deep = 75.0 if not root else max(75.0, 40.0 + inner / 2)
    half = max(50.0, inner * 0.62 + 10) if root else 44.0
    slope = max(66.0, (inner + 16) / (1 - 28 / deep))  # clear of the figure where that begins
    middle = x + half if both else x
    sides = [(middle - half, y + deep), (middle, y), (middle + half, y + deep)]
    canvas.line("o-edge", sides if both else [(x, y + deep), (x, y), (x + slope, y + deep)])
    center = middle if both else x + 10 + inner / 2
    if root:
        canvas.text((center, y + deep - 1), root, size=SIZE, anchor="middle")
    if angle:
        canvas.text((center, y + deep + SIZE + 6), angle, size=SIZE, anchor="middle")
    width = 2 * half if both else slope
    return deep + (SIZE + 20 if angle else 12), width


def _surfacing(canvas: Canvas, setup: Setup, system: str, at: Point) -> tuple[float, float]:
    x, y = at
    for side in (x + 22, x + 66):
        canvas.line("o-edge", _dome((side, y), 22.0, up=False))
    return 36.0, 88.0


_SYMBOLS: dict[str, Callable[[Canvas, Setup, str, Point], tuple[float, float]]] = {
    "square groove": _square,
    "outside corner": _square,
    "single V": _vee,
    "single bevel": _bevel,
    "tee fillet": _fillet,
    "lap fillet": _fillet,
    "bead": _surfacing,
    "padding": _surfacing,
}
