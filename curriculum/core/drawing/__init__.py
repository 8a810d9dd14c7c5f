"""Scale drawings of joints and welding symbols as SVG, from a setup's own numbers.

The same text serves screen, tablet and paper: every element carries its ink-on-white look as
attributes, which a page's style sheet overrides by class and a PDF writer leaves as they are.
"""

from .picture import pass_picture
from .section import JointDrawing, draw_joint, joint_svg
from .symbol import describe_symbol, draw_symbol, symbol_svg
from .words import describe

__all__ = [
    "JointDrawing",
    "describe",
    "describe_symbol",
    "draw_joint",
    "draw_symbol",
    "joint_svg",
    "pass_picture",
    "symbol_svg",
]
