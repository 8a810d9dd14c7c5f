"""Every drawing on one page: `python -m tests.curriculum.core.contact_sheet FILE CSS…`."""

from __future__ import annotations

import sys
from pathlib import Path

from curriculum.core.drawing import joint_svg, symbol_svg
from curriculum.core.spec import Exercise, Setup

from .setups import exercise, setup

CASES: list[tuple[str, Setup, int | None]] = [
    ("SMAW", setup("tee fillet", leg="3/8 in", passes=3), None),
    ("SMAW", setup("tee fillet", leg="1/4 in", leg_2="3/8 in", passes=1, gap="1/32 in"), None),
    ("SMAW", setup("tee fillet", leg="3/8 in", passes=6), 3),
    ("GMAW", setup("tee fillet", "14 ga", leg="1/8-3/16 in", contour="convex"), None),
    ("SMAW", setup("lap fillet", "1/4 in", leg="1/4 in", overlap="1 in", passes=3), None),
    ("GTAW", setup("lap fillet", "16 ga", leg="1/16 in", overlap="1 in", contour="concave"), None),
    ("SMAW", setup("single V", groove_angle="45 deg", root_opening="1/4 in", passes=5,
                   face_reinforcement="1/32-1/8 in", backing=("1/4 in", "1-1/2 in")), None),
    ("SMAW", setup("single V", groove_angle="60 deg", root_opening="1/8 in", root_face="1/16 in",
                   passes=4, face_reinforcement="at most 1/8 in",
                   root_reinforcement="0-1/16 in", melt_through=True), None),
    ("SMAW", setup("single V", groove_angle="60 deg", root_opening="3/32 in", root_face="3/32 in",
                   passes=4, face_reinforcement="1/32-1/8 in"), 2),
    ("GTAW", setup("square groove", "16 ga", root_opening="1/32 in",
                   face_reinforcement="1/64-1/16 in", root_reinforcement="0-1/16 in",
                   melt_through=True), None),
    ("GTAW", setup("square groove", "11 ga", root_opening="1/8 in",
                   face_width="3/16-1/4 in"), None),
    ("SMAW", setup("single bevel", groove_angle="45 deg", root_opening="1/4 in", passes=3,
                   face_reinforcement="1/8 in"), None),
    ("OFW", setup("outside corner", "14 ga", corner_angle="90 deg"), None),
    ("GTAW", setup("outside corner", "11 ga", root_opening="1/32 in", contour="convex",
                   corner_angle="75 deg"), None),
    ("SMAW", setup("bead", "1/4 in", beads=10, bead_width="1/4-3/8 in"), None),
    ("SMAW", setup("padding", beads=16, bead_overlap=0.4, bead_width="3/8 in",
                   bead_height="1/8 in"), None),
    ("GTAW", setup("bead", "16 ga", bead_width="3/16 in", bead_height="0-1/32 in"), None),
    ("OFC", setup("none", bevel_angle="30 deg"), None),
    ("OFC", setup("none"), None),
]  # fmt: skip


def contact_sheet(styles: str = "", system: str = "us") -> str:
    """Return a page with every case, drawing beside symbol."""
    figures = []
    for index, (process, one, pass_no) in enumerate(CASES):
        job: Exercise = exercise(process, one)
        section = joint_svg(job, one, system=system, pass_no=pass_no, ident=f"j{index}")
        symbol = symbol_svg(job, one, system=system, ident=f"s{index}")
        figures.append(f"<figure>{section}</figure><figure class='small'>{symbol}</figure>")
    own = (
        "body{display:grid;grid-template-columns:480px 260px 480px 260px;gap:24px;padding:16px}"
        "figure{margin:0;border-top:1px solid;padding-top:8px}.small svg{width:220px}"
    )
    return f"<!doctype html><style>{styles}{own}</style><body>{''.join(figures)}</body>"


if __name__ == "__main__":
    target, *sheets = sys.argv[1:]
    text = "".join(Path(s).read_text(encoding="utf-8") for s in sheets)
    Path(target).write_text(contact_sheet(text), encoding="utf-8")
