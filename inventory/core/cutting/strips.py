"""A layout as its strips: what is drawn together, numbered and labelled as one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from .plan import Cut, Layout, Part
from .problem import whole

Shape = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Band:
    """Strips side by side that are cut alike, with the cuts across them and what they give."""

    strips: tuple[Part, ...]
    cuts: tuple[tuple[Cut, ...], ...]  # of each strip
    leaves: tuple[tuple[Part, ...], ...]

    def all_cuts(self) -> list[Cut]:
        return sorted((cut for cuts in self.cuts for cut in cuts), key=lambda cut: cut.number)

    def runs(self) -> Iterator[list[Cut]]:
        """Yield the cuts of one stage and setting, in the order of work."""
        cuts = self.all_cuts()
        keys = dict.fromkeys((cut.stage, cut.setting) for cut in cuts)
        for key in keys:
            yield [cut for cut in cuts if (cut.stage, cut.setting) == key]


def is_upright(layout: Layout) -> bool:
    """Say whether the strips run along the width of the sheet."""
    for cut in layout.cuts:
        if cut.stage:
            return (cut.runs == "width") == (cut.stage % 2 == 1) and layout.parts[
                0
            ].width is not None
    return False


def bands_of(layout: Layout) -> list[Band]:
    """Return the bands from the gauge edge on; trimmings belong to none."""
    axis = 0 if is_upright(layout) else 1
    owner, born = {0: 0}, {0: 0}  # part: the strip it is of; the stage it came off at
    cuts: dict[int, list[Cut]] = {}
    divided = set()
    for cut in layout.cuts:
        divided.add(cut.part)
        if cut.stage > 1:
            cuts.setdefault(owner[cut.part], []).append(cut)
        for part in (cut.off, cut.rest):
            if part is not None:
                owner[part] = owner[cut.part] if cut.stage > 1 else part
                born[part] = cut.stage
    leaves: dict[int, list[Part]] = {}
    for part, strip in owner.items():
        trimming = born[part] == 0 and part and layout.parts[part].kind == "scrap"
        if part not in divided and not trimming:
            leaves.setdefault(strip, []).append(layout.parts[part])
    rows = sorted(leaves, key=lambda strip: _place(layout.parts[strip])[axis])
    shapes = {strip: _shape(layout.parts[strip], leaves[strip], axis) for strip in rows}
    found = []
    for _, group in groupby(rows, key=shapes.__getitem__):
        alike = list(group)
        found.append(
            Band(
                tuple(layout.parts[strip] for strip in alike),
                tuple(tuple(cuts.get(strip, ())) for strip in alike),
                tuple(tuple(leaves[strip]) for strip in alike),
            )
        )
    return found


def _place(part: Part) -> tuple[float, float]:
    return part.x, part.y


def _shape(strip: Part, leaves: list[Part], axis: int) -> Shape:
    """Return what two strips have in common that are cut alike; all of it from their corner."""
    start = whole(_place(strip)[axis])
    found = []
    for leaf in leaves:
        place = [whole(leaf.x), whole(leaf.y)]
        place[axis] -= start
        size = whole(leaf.length), whole(leaf.width or 0)
        found.append((*place, *size, leaf.kind, leaf.piece or ""))
    return (whole(strip.length), whole(strip.width or 0), *sorted(found))
