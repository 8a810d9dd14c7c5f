"""Patterns laid out on the stock: places, and the cuts in the order of work.

Trim comes off first, then the strips, the widest first, then the blanks of each strip, the longest
first, then what is still too wide is cut to width: equal gauge settings follow one another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from .model import Cell, Ints, Pattern, Strip, Task
from .plan import Cut, Layout, Part
from .problem import Machine, metres, whole

BEYOND = {1: "sheet", 2: "strip", 3: "stack"}  # what lies beyond a cut, until it is cut itself

NOTHING = -1


def layouts_of(task: Task, machine: Machine, uses: Mapping[Pattern, int]) -> list[Layout]:
    """Return the layouts of a cutting; nothing is cut beyond the demand."""
    left = [[row.count for row in kind.rows] for kind in task.kinds]
    found: list[Layout] = []
    order = sorted(_to_the_demand(task, uses), key=lambda one: (one[0].sheet, -one[1]))
    for pattern, times in order:
        while times:
            alike, rows = _named(task, pattern, times, left)
            found.append(_Bench(task, machine, pattern, rows).layout(alike))
            times -= alike
    return found


def _to_the_demand(task: Task, uses: Mapping[Pattern, int]) -> Iterator[tuple[Pattern, int]]:
    """Yield the patterns less what they cut beyond the demand; few sheets bear all of that."""
    kinds = len(task.kinds)
    over: Ints = -task.demand
    for pattern, times in uses.items():
        over = over + pattern.counts(kinds) * times
    over = np.maximum(over, 0)
    found: Counter[Pattern] = Counter()
    for pattern, times in sorted(uses.items(), key=lambda one: (one[1], _held(task, one[0]))):
        counts = pattern.counts(kinds)
        while times and (spare := np.minimum(over, counts)).any():
            over, times = over - spare, times - 1
            found[_without(task, pattern, spare.copy())] += 1
        found[pattern] += times
    return ((pattern, times) for pattern, times in found.items() if times and pattern.strips)


def _held(task: Task, pattern: Pattern) -> float:
    return float(pattern.counts(len(task.kinds)) @ task.areas)


def _without(task: Task, pattern: Pattern, spare: Ints) -> Pattern:
    """Return the pattern with fewer blanks: those of the emptiest strips go first."""
    strips = []
    for strip in sorted(pattern.strips, key=lambda one: sum(cell.long for cell in one.cells)):
        cells = []
        for cell in sorted(strip.cells):
            blanks = []
            for blank in cell.blanks:
                if spare[blank.kind] > 0:
                    spare[blank.kind] -= 1
                else:
                    blanks.append(blank)
            if blanks:
                cells.append(Cell(cell.long, tuple(blanks)))
        if cells:
            strips.append(Strip(task.strip_high(cells), tuple(sorted(cells, reverse=True))))
    return Pattern(pattern.sheet, pattern.way, tuple(sorted(strips, reverse=True)))


def _named(
    task: Task, pattern: Pattern, times: int, left: list[list[int]]
) -> tuple[int, dict[int, list[str]]]:
    """Take from `left` whose blanks come of the pattern: how many sheets alike, ids by kind."""
    counts = pattern.counts(len(task.kinds))
    while True:
        ids: dict[int, list[str]] = {}
        trial = [list(row) for row in left]
        for kind in np.flatnonzero(counts).tolist():
            for _ in range(counts[kind]):
                row = next((n for n, count in enumerate(trial[kind]) if count >= times), None)
                if row is None:
                    break
                trial[kind][row] -= times
                ids.setdefault(kind, []).append(task.kinds[kind].rows[row].id)
            if len(ids.get(kind, ())) < counts[kind]:
                times = max(1, min(times - 1, max(trial[kind])))
                break
        else:
            left[:] = trial
            return times, ids


@dataclass
class _Bench:
    """One sheet being cut. Positions are nm; `u` runs along the strips, `v` across them."""

    task: Task
    machine: Machine
    pattern: Pattern
    ids: dict[int, list[str]]
    parts: list[Part] = field(default_factory=list)
    cuts: list[Cut] = field(default_factory=list)
    boxes: list[tuple[int, int, int, int]] = field(default_factory=list)  # u, v, along, across

    def layout(self, count: int) -> Layout:
        sheet = self.task.sheets[self.pattern.sheet]
        stock, upright = sheet.stock, self.pattern.way.upright
        full = whole(stock.length), whole(stock.width) if stock.width else 0
        self._part("stock", (0, 0, *(full[::-1] if upright else full)))
        body = self._trim(0 if stock.trimmed else whole(self.machine.trim))
        strips = [(strip, body) for strip in self.pattern.strips]
        if not self.task.bars:
            strips = []
            for strip in self.pattern.strips:
                off, body = self._cut(1, body, False, strip.high, "strip")
                strips.append((strip, off))
            self._rest(body)
        stacks = []
        for strip, part in strips:
            rest = part
            for cell in strip.cells:
                off, rest = self._cut(2, rest, True, cell.long, "stack")
                stacks.append((cell, off))
            self._rest(rest)
        for cell, part in stacks:
            rest = part
            for blank in cell.blanks:
                off, rest = self._cut(3, rest, False, blank.high, "blank")
                self._blank(off, blank.kind)
            self._rest(rest)
        return Layout(stock=stock.id, count=count, parts=tuple(self.parts), cuts=tuple(self.cuts))

    def _trim(self, trim: int) -> int:
        """Cut off all edges; a kerf wider than the trim runs over the edge."""
        if not trim:
            return 0
        part, kerf = 0, min(self.task.kerf, trim)
        for across in (True,) if self.task.bars else (True, False):
            _, _, along, wide = self.boxes[part]
            size = along if across else wide
            for setting, keep_off in ((trim - kerf, False), (size - 2 * trim, True)):
                kind_off, kind_rest = ("sheet", "scrap") if keep_off else ("scrap", "sheet")
                off, rest = self._cut(0, part, across, setting, kind_off, kind_rest, kerf)
                part = off if keep_off else rest
        return part

    def _cut(
        self,
        stage: int,
        part: int,
        across: bool,
        setting: int,
        kind: str,
        kind_rest: str = "",
        kerf: int | None = None,
    ) -> tuple[int, int]:
        """Cut a part at `setting` from its low edge; without a cut where it is that size."""
        kerf = self.task.kerf if kerf is None else kerf
        u, v, along, wide = self.boxes[part]
        size = along if across else wide
        if size == setting:
            if part:
                self._become(part, kind)
            return part, NOTHING
        left = size - setting - kerf
        at = (u if across else v) + setting
        off = rest = NOTHING
        if setting:
            off = self._part(kind, (u, v, setting, wide) if across else (u, v, along, setting))
        if left > 0:
            box = (at + kerf, v, left, wide) if across else (u, at + kerf, along, left)
            rest = self._part(kind_rest or BEYOND[stage], box)
        self.cuts.append(
            Cut(
                number=len(self.cuts) + 1,
                stage=stage,
                part=part,
                runs="width" if across != self.pattern.way.upright else "length",
                setting=metres(setting),
                at=metres(at),
                off=None if off == NOTHING else off,
                rest=None if rest == NOTHING else rest,
            )
        )
        return off, rest

    def _part(self, kind: str, box: tuple[int, int, int, int]) -> int:
        self.boxes.append(box)
        u, v, along, wide = box
        if self.pattern.way.upright:
            u, v, along, wide = v, u, wide, along
        width = None if self.task.bars else metres(wide)
        place = Part(kind=kind, x=metres(u), y=metres(v), length=metres(along), width=width)
        self.parts.append(place)
        return len(self.parts) - 1

    def _become(self, part: int, kind: str, piece: str | None = None, turned: bool = False) -> None:
        self.parts[part] = replace(self.parts[part], kind=kind, piece=piece, rotated=turned)

    def _blank(self, part: int, kind: int) -> None:
        piece = self.ids[kind].pop(0)
        row = next(one for one in self.task.kinds[kind].rows if one.id == piece)
        self._become(part, "blank", piece, whole(self.parts[part].length) != whole(row.length))

    def _rest(self, part: int) -> None:
        """Keep as a remnant what is large enough."""
        if part > 0:
            _, _, along, wide = self.boxes[part]
            least = along if self.task.bars else min(along, wide)
            self._become(part, "remnant" if least >= self.task.least_remnant else "scrap")
