"""A few shapes as SVG text; each class of line brings its ink-on-white look as attributes."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

INK, INK_2, GROUND, BAND, HATCH = "#000", "#333", "#fff", "#f0f0f0", "#777"

LOOK: dict[str, dict[str, str]] = {
    "o-line": {"fill": "none", "stroke": INK, "stroke-width": "4"},
    "o-edge": {"fill": "none", "stroke": INK, "stroke-width": "2"},
    "o-edge f-dot": {"fill": GROUND, "stroke": INK, "stroke-width": "2"},
    "thin": {"fill": "none", "stroke": INK, "stroke-width": "1.5"},
    "fine": {"fill": "none", "stroke": INK_2, "stroke-width": "1"},
    "grid": {"fill": "none", "stroke": "#999", "stroke-width": "1"},
    "tip": {"fill": INK, "stroke": "none"},
    "hatch-line": {"fill": "none", "stroke": HATCH, "stroke-width": "1.25"},
    "f-ground": {"fill": GROUND, "stroke": "none"},
    "f-band": {"fill": BAND, "stroke": "none"},
    "f-level": {"fill": "#666", "stroke": "none"},
    "f-over": {"fill": INK, "stroke": "none"},
    "cap": {"fill": "none", "stroke": INK, "stroke-width": "2"},
    "strong": {"font-weight": "700"},
    "soft": {"fill": INK_2},
    "": {},
}


def number(value: float) -> str:
    """Return a coordinate with at most one decimal."""
    text = f"{value:.1f}"
    return "0" if text in ("0.0", "-0.0") else text.removesuffix(".0")


def shape(tag: str, look: str = "", content: str = "", **attributes: float | str) -> str:
    """Return one element with the look of class `look`; `content` is markup, attributes are text.

    An underscore in an attribute's name stands for a hyphen.
    """
    given = {
        name.rstrip("_").replace("_", "-"): number(value)
        if isinstance(value, float | int)
        else value
        for name, value in attributes.items()
    }
    named = {"class": look} if look else {}
    parts = "".join(
        f' {name}="{escape(value)}"' for name, value in {**named, **LOOK[look], **given}.items()
    )
    return f"<{tag}{parts}>{content}</{tag}>" if content else f"<{tag}{parts}/>"


def line(look: str, x1: float, y1: float, x2: float, y2: float) -> str:
    """Return a straight line."""
    return shape("line", look, x1=x1, y1=y1, x2=x2, y2=y2)


def path(look: str, points: Iterable[tuple[float, float]]) -> str:
    """Return a line through `points`."""
    return shape("polyline", look, points=" ".join(f"{number(x)},{number(y)}" for x, y in points))


def text(
    words: str, x: float, y: float, *, size: int = 20, anchor: str = "start", look: str = ""
) -> str:
    """Return one line of text whose baseline starts, ends or is centred at (x, y)."""
    return shape("text", look, escape(words), x=x, y=y, font_size=str(size), text_anchor=anchor)


def tip(x: float, y: float, dx: float, dy: float, length: float = 16, half: float = 5) -> str:
    """Return a slim filled arrowhead with its point at (x, y), pointing along (dx, dy)."""
    back_x, back_y = x - dx * length, y - dy * length
    ends = (
        (x, y),
        (back_x - dy * half, back_y + dx * half),
        (back_x + dy * half, back_y - dx * half),
    )
    return shape("polygon", "tip", points=" ".join(f"{number(a)},{number(b)}" for a, b in ends))


def dimension(x1: float, y1: float, x2: float, y2: float) -> str:
    """Return a level or upright dimension line; one too short for arrowheads gets end ticks."""
    level = y1 == y2
    span = abs(x2 - x1) if level else abs(y2 - y1)
    body = line("thin", x1, y1, x2, y2)
    if span < 36:
        ticks = ((x1, y1), (x2, y2))
        return body + "".join(
            line("thin", x, y - 8, x, y + 8) if level else line("thin", x - 8, y, x + 8, y)
            for x, y in ticks
        )
    sign = 1.0 if (x2 > x1 if level else y2 > y1) else -1.0
    along = (sign, 0.0) if level else (0.0, sign)
    return body + tip(x1, y1, -along[0], -along[1]) + tip(x2, y2, *along)


def hatching(name: str, step: float = 11, angle: int = 45) -> str:
    """Return the definition of a hatching; fill with `url(#name)`."""
    stroke = shape("line", "hatch-line", x1=0, y1=0, x2=0, y2=step)
    return shape(
        "pattern",
        "",
        stroke,
        id=name,
        width=step,
        height=step,
        patternUnits="userSpaceOnUse",
        patternTransform=f"rotate({angle})",
    )


def drawing(
    width: float, height: float, body: str, *, title: str, key: str, css: str = "drawing"
) -> str:
    """Return a whole drawing with its title for who cannot see it."""
    return (
        f'<svg class="{css}" viewBox="0 0 {number(width)} {number(height)}" role="img" '
        f'aria-labelledby="{key}-t" font-family="Atkinson Next, Atkinson Hyperlegible Next, '
        f'sans-serif"><title id="{key}-t">{escape(title)}</title>{body}</svg>'
    )


def width_of(words: str, size: float) -> float:
    """Return about how wide a line of text is set, a little more rather than less."""
    return 0.6 * size * len(words)
