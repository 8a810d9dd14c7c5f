"""Every drawing on one page: `python -m tests.curriculum.core.contact_sheet FILE CSS…`."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from curriculum.core.drawing import (
    end_view,
    ends_by_pass,
    joint_svg,
    pass_picture,
    path_strip,
    side_view,
    sides_by_pass,
    symbol_svg,
)
from curriculum.core.spec import Pass, Setup
from shared.units import parse_range

from .setups import exercise, length, setup

Case = tuple[str, Setup, int | None]


def tacked(one: Setup, count: int, long: str = "", weld: str = "6 in") -> Setup:
    """Hold a joint with tacks along its weld."""
    tack = length(long) if long else None
    return replace(one, tacks=count, tack_length=tack, weld_length=length(weld))


GROOVES: list[Case] = [
    ("GTAW", tacked(setup("square groove", "16 ga", root_opening="1/32 in",
                          face_reinforcement="1/64-1/16 in", root_reinforcement="0-1/16 in",
                          melt_through=True), 3), None),
    ("GTAW", setup("square groove", "11 ga", root_opening="1/8 in",
                   face_width="3/16-1/4 in"), None),
    ("GTAW", setup("square groove", "14 ga", root_opening="0 in", face_width="1/4 in",
                   face_reinforcement="1/32-1/16 in"), None),
    ("SMAW", setup("single V", groove_angle="45 deg", root_opening="1/4 in", passes=5,
                   face_reinforcement="1/32-1/8 in", backing=("1/4 in", "1-1/2 in")), None),
    ("SMAW", tacked(setup("single V", groove_angle="60 deg", root_opening="1/8 in",
                          root_face="1/16 in", passes=4, face_reinforcement="at most 1/8 in",
                          root_reinforcement="0-1/16 in", melt_through=True), 2, "1/2 in"), None),
    ("SMAW", setup("single V", groove_angle="60 deg", root_opening="3/32 in",
                   root_face="3/32 in", passes=4, face_reinforcement="1/32-1/8 in"), 2),
    ("SMAW", setup("single V", bevel_angle="30 deg", root_opening="3/32 in",
                   root_face="1/16 in", passes=3), None),
    ("SMAW", setup("single bevel", groove_angle="45 deg", root_opening="1/4 in", passes=3,
                   face_reinforcement="1/8 in"), None),
    ("SMAW", setup("single bevel", bevel_angle="45 deg", root_opening="1/8 in",
                   root_face="1/8 in", passes=3, root_reinforcement="1/16 in"), 3),
    ("SMAW", setup("double V", "3/4 in", groove_angle="60 deg", root_opening="1/8 in",
                   root_face="1/8 in", passes=6, face_reinforcement="1/16-1/8 in",
                   root_reinforcement="1/16-1/8 in"), None),
    ("SMAW", setup("double V", "1/2 in", groove_angle="60 deg", root_face="1/8 in", passes=4,
                   face_reinforcement="3/32 in", root_reinforcement="3/32 in"), 3),
    ("SMAW", setup("double bevel", "3/4 in", bevel_angle="45 deg", root_opening="1/8 in",
                   root_face="1/8 in", passes=6, face_reinforcement="1/8 in",
                   root_reinforcement="1/8 in"), None),
    ("SMAW", setup("J groove", "3/4 in", bevel_angle="20 deg", root_opening="1/8 in",
                   root_face="1/8 in", groove_radius="1/4 in", passes=5,
                   face_reinforcement="1/8 in"), None),
    ("SMAW", setup("U groove", "1 in", groove_angle="20 deg", root_opening="1/8 in",
                   root_face="1/8 in", groove_radius="1/4 in", passes=6,
                   face_reinforcement="1/8 in", root_reinforcement="1/16 in"), None),
]  # fmt: skip
FILLETS: list[Case] = [
    ("SMAW", tacked(setup("tee fillet", leg="3/8 in", passes=3), 2, "1/2 in"), None),
    ("SMAW", setup("tee fillet", leg="1/4 in", leg_2="3/8 in", gap="1/32 in"), None),
    ("SMAW", setup("tee fillet", leg="3/8 in", passes=6, gap="0 to 1/16 in"), 3),
    ("GMAW", setup("tee fillet", "14 ga", leg="1/8-3/16 in", contour="convex",
                   convexity="1/32 in"), None),
    ("GTAW", setup("tee fillet", "1/8 in", leg="1/8-3/16 in", contour="concave",
                   convexity="1/64 in"), None),
    ("SMAW", setup("lap fillet", "1/4 in", leg="1/4 in", overlap="1 in", passes=3), None),
    ("GTAW", tacked(setup("lap fillet", "16 ga", leg="1/16 in", overlap="1 in",
                          contour="concave", gap="0 to 1/32 in"), 4), None),
    ("SMAW", setup("lap fillet", "3/8 in", leg="3/8 in", leg_2="5/16 in", gap="1/16 in",
                   passes=3), None),
]  # fmt: skip
EDGES: list[Case] = [
    ("OFW", setup("outside corner", "14 ga", corner_angle="90 deg"), None),
    ("GTAW", setup("outside corner", "11 ga", root_opening="1/32 in", corner_angle="75 deg",
                   face_reinforcement="1/32 in"), None),
    ("GTAW", setup("outside corner", "11 ga", corner_angle="90 deg", overlap="1/16 in",
                   face_reinforcement="1/32 in"), None),
    ("GTAW", setup("outside corner", "1/8 in", corner_angle="90 deg", overlap="1/8 in",
                   face_reinforcement="1/32 in"), None),
    ("SMAW", setup("outside corner", "1/4 in", corner_angle="90 deg", root_opening="3/32 in",
                   face_reinforcement="1/16 in", root_reinforcement="1/16 in", passes=3), None),
    ("SMAW", setup("outside corner", "3/8 in", corner_angle="120 deg", root_opening="1/8 in",
                   passes=6), 4),
    ("GTAW", setup("edge", "11 ga", face_reinforcement="1/16 in"), None),
    ("GTAW", tacked(setup("edge", "1/4 in", face_reinforcement="1/8 in", gap="1/32 in",
                          face_width="3/8 in", passes=2), 3, "1/4 in"), None),
    ("GMAW", setup("flare bevel", "11 ga", groove_radius="1/4 in"), None),
    ("SMAW", setup("flare bevel", "1/4 in", groove_radius="3/4 in", passes=3,
                   face_reinforcement="1/16 in"), None),
    ("SMAW", setup("flare bevel", "3/8 in", groove_radius="1/4 in", passes=2), None),
]  # fmt: skip
SURFACES: list[Case] = [
    ("SMAW", setup("bead", "1/4 in", beads=10, bead_width="1/4-3/8 in"), None),
    ("SMAW", setup("padding", beads=16, bead_overlap=0.4, bead_width="3/8 in",
                   bead_height="1/8 in"), None),
    ("SMAW", setup("padding", beads=6, bead_overlap=0.4, bead_width="3/8 in",
                   bead_height="1/8 in"), 3),
    ("GTAW", setup("bead", "16 ga", bead_width="3/16 in", bead_height="0-1/32 in"), None),
    ("OFC", setup("none", bevel_angle="30 deg"), None),
    ("OFC", setup("none"), None),
]  # fmt: skip
CASES: list[Case] = [*GROOVES, *FILLETS, *EDGES, *SURFACES]


def sections(system: str = "us", *, paper: bool = False) -> Iterator[str]:
    """Every case in the reader's units."""
    for index, (process, one, pass_no) in enumerate(CASES):
        job, ident = exercise(process, one), f"j{index}{system}{paper}"
        yield joint_svg(job, one, system=system, pass_no=pass_no, paper=paper, ident=ident)


def pictures() -> Iterator[str]:
    """The picture of every pass of the cases."""
    for _, one, _ in CASES:
        for pass_no in range(1, len(one.passes) + 1):
            yield pass_picture(one, pass_no)


def symbols() -> Iterator[str]:
    """The symbol of every case that has one, after each standard."""
    for index, (process, one, _) in enumerate(CASES):
        for standard in ("AWS", "ISO-A", "ISO-B"):
            ident = f"s{index}{standard}"
            yield symbol_svg(exercise(process, one), one, standard=standard, ident=ident)


def techniques() -> Iterator[str]:
    """How a stick is held and led in each joint: the views of its angles and the way."""
    for index, (process, one, _) in enumerate(CASES):
        held = replace(
            one,
            work_angle=parse_range("45 deg" if "fillet" in one.joint.kind else "90 deg", "angle"),
            travel_angle=parse_range("10-15 deg", "angle"),
            travel_direction="drag",
            passes=one.passes or (Pass(technique="weave"),),
        )
        job = exercise(process, held)
        for number, (_labels, angles) in enumerate(ends_by_pass(held)):
            if view := end_view(job, held, angles):
                yield view.svg(f"e{index}{number}")
        for number, (_labels, angles) in enumerate(sides_by_pass(held)):
            if side := side_view(job, held, angles):
                yield side.svg(f"t{index}{number}")
        yield path_strip(job, held, 1).svg(f"w{index}")


def contact_sheet(styles: str = "", *, paper: bool = False) -> str:
    """Return a page with every case in both units, and the pictures of its passes."""
    own = (
        "body{margin:16px}main{display:grid;grid-template-columns:repeat(4,1fr);gap:24px}"
        "figure{margin:0;border-top:1px solid;padding-top:8px}.small{grid-template-columns:"
        "repeat(8,1fr)}.small svg{overflow:hidden}"
    )
    parts = []
    for system in ("us", "metric"):
        parts.append("".join(f"<figure>{one}</figure>" for one in sections(system, paper=paper)))
    if not paper:
        parts.append("".join(f"<figure>{one}</figure>" for one in symbols() if one))
        parts.append("".join(f"<figure>{one}</figure>" for one in pictures()))
        parts.append("".join(f"<figure>{one}</figure>" for one in techniques()))
    kinds = ("", "", "small", "small", "small")
    body = "".join(
        f"<main class='{kind}'>{part}</main>" for kind, part in zip(kinds, parts, strict=False)
    )
    return f"<!doctype html><meta charset='utf-8'><style>{styles}{own}</style><body>{body}</body>"


if __name__ == "__main__":
    target, *sheets = sys.argv[1:]
    text = "".join(Path(s).read_text(encoding="utf-8") for s in sheets)
    Path(target).write_text(contact_sheet(text), encoding="utf-8")
