"""Cross-sections of joints to scale, with their measures as dimension lines."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ..joints import build
from ..spec import GROOVES, SURFACING, Exercise, Setup
from . import corners, edges, fillets, grooves, surfacing, tacks
from .canvas import Canvas
from .sheet import Sheet
from .words import describe, passes_of

_KINDS: dict[str, Callable[[Sheet, Any], None]] = {
    **dict.fromkeys(GROOVES, grooves.draw),
    "tee fillet": fillets.tee,
    "lap fillet": fillets.lap,
    "outside corner": corners.draw,
    "edge": edges.edge,
    "flare bevel": edges.flare,
    **dict.fromkeys(SURFACING, surfacing.bead),
}
"""Each draws the geometry of its joint; a cut ("none") has none."""


@dataclass(frozen=True, slots=True)
class JointDrawing:
    """A drawing with what was drawn: `scale` is pixels per metre, `top` the y it begins at."""

    canvas: Canvas
    width: float
    top: float
    height: float
    scale: float
    title: str

    def svg(self, ident: str) -> str:
        """Return the SVG element; `ident` makes its ids unique on a page."""
        return self.canvas.svg(
            self.width,
            self.height,
            title=self.title,
            ident=ident,
            extra=f' data-scale="{self.scale!r}"',
            corner=(0.0, self.top),
        )


def lay_out(
    setup: Setup,
    *,
    system: str,
    paper: bool,
    pass_no: int | None,
    width: float = 736,
    picture: bool = False,
    say: Callable[[str], str] = str,
) -> Sheet:
    """Draw the section on a sheet; a `picture` leaves out the measures. See `draw_joint`."""
    if pass_no is not None and not 1 <= pass_no <= passes_of(setup):
        raise ValueError(f"pass_no must be 1 to {passes_of(setup)}, got {pass_no}")
    canvas = Canvas(paper=paper, say=say)
    sheet = Sheet(canvas, setup, system, width, pass_no, picture)
    if setup.joint.kind == "none":
        surfacing.cut(sheet)
    else:
        _KINDS[setup.joint.kind](sheet, build(setup.joint, setup.thickness.value))
    if not picture:
        tacks.strip(sheet)
        sheet.finish()
    return sheet


def draw_joint(
    exercise: Exercise,
    setup: Setup,
    *,
    system: str = "us",
    paper: bool = False,
    pass_no: int | None = None,
    width: float = 736,
    say: Callable[[str], str] = str,
) -> JointDrawing:
    """Draw the section of a setup's joint `width` pixels wide, as high as it needs.

    Parameters
    ----------
    system : str
        "us" or "metric": the units of the figures.
    paper : bool
        Ink on white without classes, for a PDF.
    pass_no : int or None
        1 for the first: shows the joint while that pass is laid.
    width : float
        Pixels, 480 and more; figures are 40 high whatever it is.
    say : callable
        Puts the templates of words into the reader's language.

    Raises
    ------
    ValueError
        For a pass there is none of; as `JointError` where the numbers make no joint.

    Notes
    -----
    Everything is drawn from the geometry that the weld metal is computed from
    (`curriculum.core.joints`), so a range stands at the value that it counts with. Arcs are 16
    chords: the weld on the sheet, over the square of the scale, comes within 1 % of the joint's
    area.
    """
    sheet = lay_out(setup, system=system, paper=paper, pass_no=pass_no, width=width, say=say)
    _left, top, right, bottom = sheet.canvas.bounds()
    title = describe(exercise, setup, system).in_words(say)
    # Only figures of uncommon length make a sheet wider than asked for.
    whole = max(width, right)
    return JointDrawing(sheet.canvas, whole, top, bottom - top, sheet.scale, title)


def joint_svg(
    exercise: Exercise,
    setup: Setup,
    *,
    system: str = "us",
    paper: bool = False,
    pass_no: int | None = None,
    width: float = 736,
    ident: str = "joint",
) -> str:
    """Return the section as an SVG element; see `draw_joint`. `ident` is unique on the page."""
    drawing = draw_joint(exercise, setup, system=system, paper=paper, pass_no=pass_no, width=width)
    return drawing.svg(ident)
