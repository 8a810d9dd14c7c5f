"""Every welding symbol on one page: `python -m tests.curriculum.core.symbol_sheet FILE CSS…`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from curriculum.core.drawing.symbol import STANDARDS, symbol_svg
from curriculum.core.spec import Marks, Setup

from .setups import exercise, length, setup

CASES: list[tuple[str, Setup]] = []


def case(
    process: str, kind: str, thickness: str = "3/8 in", marks: Marks | None = None, **numbers: Any
) -> None:
    CASES.append((process, setup(kind, thickness, symbol=marks or Marks(), **numbers)))


ROW = {"length": length("2 in"), "pitch": length("5 in")}

case("SMAW", "tee fillet", leg="1/4 in")
case("SMAW", "tee fillet", leg="1/4 in", leg_2="3/8 in", contour="convex")
case("GMAW", "tee fillet", leg="3/16-1/4 in", marks=Marks(other_side=True, field=True))
case("SMAW", "tee fillet", leg="1/4 in", marks=Marks(other_side=True, count=5, **ROW))
case("SMAW", "tee fillet", leg="1/4 in", marks=Marks(other_side=True, staggered=True, **ROW))
case("SMAW", "lap fillet", leg="1/4 in", overlap="1 in", marks=Marks(all_around=True, finish="G"))
case(
    "GTAW",
    "lap fillet",
    leg="1/16 in",
    overlap="1 in",
    contour="concave",
    marks=Marks(blended=True, quality="B"),
)
case(
    "GTAW",
    "square groove",
    "16 ga",
    root_opening="1/32 in",
    root_reinforcement="0-1/16 in",
    melt_through=True,
)
case(
    "SMAW",
    "square groove",
    "1/4 in",
    root_opening="at most 1/16 in",
    marks=Marks(other_side=True, effective=length("1/8 in")),
)
case("SMAW", "square groove", "1/4 in", marks=Marks(back="back", tail="WPS 12"))
case(
    "SMAW",
    "single V",
    groove_angle="60 deg",
    root_opening="1/8 in",
    root_face="1/16 in",
    melt_through=True,
)
case(
    "SMAW",
    "single V",
    groove_angle="45 deg",
    root_opening="1/4 in",
    backing=("1/4 in", "1-1/2 in"),
    marks=Marks(flush=True, finish="G"),
)
case(
    "SMAW",
    "single V",
    groove_angle="45 deg",
    root_opening="1/4 in",
    backing=("1/4 in", "1-1/2 in"),
    marks=Marks(backing_removed=True, field=True),
)
case(
    "SMAW",
    "single V",
    groove_angle="60 deg",
    marks=Marks(depth=length("1/4 in"), effective=length("5/16 in"), back="backing"),
)
case(
    "SMAW",
    "double V",
    "3/4 in",
    groove_angle="60 deg",
    root_opening="1/8 in",
    marks=Marks(flush=True),
)
case("FCAW", "single bevel", bevel_angle="45 deg", root_opening="1/4 in", contour="convex")
case(
    "FCAW",
    "double bevel",
    "3/4 in",
    bevel_angle="45 deg",
    root_opening="1/8 in",
    marks=Marks(depth=length("1/4 in"), all_around=True, field=True),
)
case(
    "GTAW",
    "J groove",
    "1/2 in",
    bevel_angle="20 deg",
    root_opening="1/16 in",
    marks=Marks(back="back"),
)
case("GTAW", "U groove", "1 in", groove_angle="20 deg", root_opening="1/8 in", contour="convex")
case(
    "GTAW",
    "U groove",
    "1 in",
    groove_angle="20 deg",
    root_opening="3/32-1/8 in",
    marks=Marks(other_side=True),
)
case(
    "GMAW",
    "flare bevel",
    "1/4 in",
    root_opening="1/16 in",
    marks=Marks(depth=length("3/8 in"), effective=length("3/16 in")),
)
case("GTAW", "edge", "16 ga")
case("OFW", "outside corner", "14 ga", root_opening="1/16 in", contour="convex")
case("SMAW", "bead", "1/4 in", bead_height="1/8 in")
case("SMAW", "padding", bead_height="1/8 in")


def symbol_sheet(styles: str = "", system: str = "us", *, paper: bool = False) -> str:
    """Return a page with every case in a row, after each standard."""
    figures = []
    for index, (process, one) in enumerate(CASES):
        for standard in STANDARDS:
            svg = symbol_svg(
                exercise(process, one),
                one,
                system=system,
                standard=standard,
                paper=paper,
                ident=f"{standard}{index}",
            )
            figures.append(f"<figure>{svg}</figure>")
    own = (
        "body{display:grid;grid-template-columns:repeat(6,1fr);gap:16px;padding:16px}"
        "figure{margin:0;border-top:1px solid;padding-top:8px}"
    )
    return f"<!doctype html><style>{styles}{own}</style><body>{''.join(figures)}</body>"


if __name__ == "__main__":
    target, *sheets = sys.argv[1:]
    text = "".join(Path(s).read_text(encoding="utf-8") for s in sheets)
    Path(target).write_text(symbol_sheet(text), encoding="utf-8")
