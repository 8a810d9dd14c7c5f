"""Small pictures of one pass: the parts and the passes alone, without measures."""

from __future__ import annotations

from ..spec import Setup
from .canvas import number
from .section import lay_out

MARGIN = 70.0  # of the parts shown round the passes


def pass_picture(
    setup: Setup, pass_no: int | None = None, *, system: str = "us", paper: bool = False
) -> str:
    """Return the joint while a pass (1 for the first; None: all) is laid, as a small SVG element.

    It says nothing to a screen reader: the text beside it tells of the pass. Raises `ValueError`
    as `draw_joint` does.
    """
    canvas = lay_out(setup, system=system, paper=paper, pass_no=pass_no, picture=True).canvas
    edges = canvas.bounds()
    shown = [point for weld in canvas.welds for point in weld] or canvas.points
    xs, ys = [x for x, _y in shown], [y for _x, y in shown]
    left, right = max(edges[0], min(xs) - MARGIN), min(edges[2], max(xs) + MARGIN)
    top, bottom = max(edges[1], min(ys) - MARGIN), min(edges[3], max(ys) + MARGIN)
    box = " ".join(number(one) for one in (left, top, right - left, bottom - top))
    cls = "" if paper else 'class="drawing" '
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {cls}viewBox="{box}" '
        f'font-family="Atkinson Next" aria-hidden="true">{"".join(canvas.elements)}</svg>'
    )
