"""Scale drawings of joints and welding symbols as SVG, from a setup's own numbers.

The same text serves screen, tablet and paper: every element carries its ink-on-white look as
attributes, which a page's style sheet overrides by class and a PDF writer leaves as they are.
"""

from .picture import pass_picture
from .section import JointDrawing, draw_joint, joint_svg
from .symbol import describe_symbol, draw_symbol, symbol_svg
from .technique import describe_angles, ends_by_pass, place_of, sides_by_pass
from .technique_path import path_strip
from .technique_views import end_view, side_view
from .words import describe

__all__ = [
    "JointDrawing",
    "describe",
    "describe_angles",
    "describe_symbol",
    "draw_joint",
    "draw_symbol",
    "end_view",
    "ends_by_pass",
    "joint_svg",
    "pass_picture",
    "path_strip",
    "place_of",
    "side_view",
    "sides_by_pass",
    "symbol_svg",
]
