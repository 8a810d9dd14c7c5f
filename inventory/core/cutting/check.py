"""Whether a plan can be cut as it says: its own reckoning, apart from everything that makes plans.

It follows each sheet through its cuts with whole nanometres and the rules of the problem alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from .plan import Cut, Layout, Part, Plan
from .problem import Machine, Piece, Problem, Stock, whole


class PlanError(ValueError):
    """A plan that cannot be cut or is not of its problem; `faults` are sentences."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(self.faults[:9]))


def check_plan(problem: Problem, plan: Plan) -> None:
    """Raise PlanError unless `plan` solves `problem`.

    Each cut goes from edge to edge of a part that is there by then, at its gauge setting; the kerf
    is lost beyond it; strips run one way and are cut across; no strip is narrower and no cut
    longer than the machine allows; blanks have their size and grain, lie inside the trim, overlap
    nothing; what is placed and what is named as impossible are together the demand; no more stock
    is used than there is; the cost is that of the stock.
    """
    if faults := list(faults_of(problem, plan)):
        raise PlanError(faults)


def faults_of(problem: Problem, plan: Plan) -> Iterator[str]:
    """Yield all that is wrong with a plan."""
    stock = {row.id: row for row in problem.stock}
    pieces = {row.id: row for row in problem.pieces}
    used: Counter[str] = Counter()
    made: Counter[str] = Counter()
    cost = Decimal(0)
    for place, layout in enumerate(plan.layouts):
        where = f"layout {place + 1}"
        if layout.stock not in stock:
            yield f"{where}: no stock is called {layout.stock}"
            continue
        if layout.count < 1:
            yield f"{where}: its count is {layout.count}"
        used[layout.stock] += layout.count
        cost += stock[layout.stock].price * layout.count
        for blank in layout.blanks:
            made[blank.piece or ""] += layout.count
        for fault in _layout_faults(layout, stock[layout.stock], problem, pieces):
            yield f"{where}: {fault}"
    for name, count in used.items():
        limit = stock[name].count
        if limit is not None and count > limit:
            yield f"{count} of stock {name} are used, there are {limit}"
    for row in plan.unplaceable:
        if row.count < 1:
            yield f"{row.count} of piece {row.piece} are named as impossible"
        made[row.piece] += row.count
    for name in made.keys() | pieces.keys():
        wanted = pieces[name].count if name in pieces else 0
        if made[name] != wanted:
            yield f"{made[name]} of piece {name} are accounted for, {wanted} are wanted"
    if cost != plan.cost:
        yield f"the stock costs {cost}, the plan says {plan.cost}"
    if not 0 <= plan.bound <= plan.cost:
        yield f"the bound {plan.bound} does not lie between 0 and the cost {plan.cost}"
    thickest = problem.machine.thickest
    if plan.layouts and problem.thickness and thickest and problem.thickness > thickest:
        yield "the machine does not cut this thickness"


@dataclass(frozen=True, slots=True)
class _Box:
    """Low and high end along the length (0) and across it (1), nm."""

    low: tuple[int, int]
    high: tuple[int, int]

    def size(self, axis: int) -> int:
        return self.high[axis] - self.low[axis]


def _box(part: Part) -> _Box:
    low = whole(part.x), whole(part.y)
    width = 0 if part.width is None else whole(part.width)
    return _Box(low, (low[0] + whole(part.length), low[1] + width))


def _layout_faults(
    layout: Layout, stock: Stock, problem: Problem, pieces: dict[str, Piece]
) -> Iterator[str]:
    boxes = [_box(part) for part in layout.parts]
    bar = stock.width is None
    size = whole(stock.length), 0 if stock.width is None else whole(stock.width)
    if not boxes or boxes[0] != _Box((0, 0), size):
        yield "its first part is not the whole stock"
        return
    if any((part.width is None) != bar for part in layout.parts):
        yield "sheet and bar are mixed"
        return
    there, born = {0}, {0: -1}  # parts that lie there now; the stage each came of
    ways: dict[int, str] = {}
    for number, cut in enumerate(layout.cuts, start=1):
        if cut.number != number:
            yield f"cut {cut.number} stands in place {number}"
        if cut.part not in there:
            yield f"cut {number}: part {cut.part} is not there"
            return
        new = [one for one in (cut.off, cut.rest) if one is not None]
        if any(not 0 < one < len(boxes) or one in born for one in new) or len(set(new)) < len(new):
            yield f"cut {number}: its parts are there already or not in the list"
            return
        yield from _cut_faults(cut, boxes, problem.machine, bar)
        yield from _stage_faults(cut, layout, born[cut.part], ways, problem.machine.stages)
        there.discard(cut.part)
        there.update(new)
        born.update(dict.fromkeys(new, cut.stage))
    if len(born) < len(boxes):
        yield "a part comes of no cut"
    yield from _leaf_faults(layout, boxes, there, stock, problem, pieces)


def _cut_faults(cut: Cut, boxes: Sequence[_Box], machine: Machine, bar: bool) -> Iterator[str]:
    name = f"cut {cut.number}"
    if cut.runs not in ("length", "width") or (bar and cut.runs != "width"):
        yield f"{name}: runs along {cut.runs}"
        return
    axis = 0 if cut.runs == "width" else 1  # across which it divides
    box, kerf = boxes[cut.part], whole(machine.kerf)
    end = whole(cut.at)
    if end - box.low[axis] != whole(cut.setting):
        yield f"{name}: the setting is not the distance from the gauge edge"
    lost = min(kerf, whole(machine.trim)) if cut.stage == 0 else kerf
    if cut.off is not None and boxes[cut.off] != _cropped(box, axis, box.low[axis], end):
        yield f"{name}: what comes off does not end at the cut"
    if cut.off is None and end != box.low[axis]:
        yield f"{name}: what comes off is in no list"
    if not box.low[axis] <= end < box.high[axis] or (cut.off is None and cut.rest is None):
        yield f"{name}: lies outside its part"
    if cut.rest is not None:
        if boxes[cut.rest] != _cropped(box, axis, end + lost, box.high[axis]):
            yield f"{name}: the rest does not begin beyond the kerf"
        if boxes[cut.rest].size(axis) <= 0:
            yield f"{name}: nothing is left of the rest"
    elif end + lost < box.high[axis]:
        yield f"{name}: the rest is in no list"
    if not bar and machine.longest is not None and box.size(1 - axis) > whole(machine.longest):
        yield f"{name}: longer than the machine cuts"
    if not bar and cut.stage == 2 and box.size(1 - axis) < whole(machine.narrowest):
        yield f"{name}: the strip is narrower than the machine holds"


def _cropped(box: _Box, axis: int, low: int, high: int) -> _Box:
    if axis == 0:
        return _Box((low, box.low[1]), (high, box.high[1]))
    return _Box((box.low[0], low), (box.high[0], high))


def _stage_faults(
    cut: Cut, layout: Layout, before: int, ways: dict[int, str], stages: int
) -> Iterator[str]:
    """The stages follow one another, and each runs one way on a sheet; trim goes all round."""
    name = f"cut {cut.number}"
    if cut.stage not in (0, 1, 2, 3):
        yield f"{name}: there is no stage {cut.stage}"
    if cut.stage < before:
        yield f"{name}: stage {cut.stage} comes after stage {before}"
    if cut.stage:
        way = ways.setdefault(cut.stage % 2, cut.runs)
        if way != cut.runs or ways.get(1 - cut.stage % 2) == cut.runs:
            yield f"{name}: runs the other way than its stage"
    if cut.stage == 3 and stages == 2:
        of = layout.parts[cut.part]
        if before == 3 or of.kind not in ("stack", "stock"):
            yield f"{name}: a third stage may only cut one blank to its width"
        if cut.rest is not None and layout.parts[cut.rest].kind not in ("scrap", "remnant"):
            yield f"{name}: a third stage may only cut one blank to its width"


def _leaf_faults(
    layout: Layout,
    boxes: Sequence[_Box],
    there: set[int],
    stock: Stock,
    problem: Problem,
    pieces: dict[str, Piece],
) -> Iterator[str]:
    trim = 0 if stock.trimmed else whole(problem.machine.trim)
    blanks = []
    for place, (part, box) in enumerate(zip(layout.parts, boxes, strict=True)):
        final = part.kind in ("blank", "remnant", "scrap")
        if final != (place in there):
            yield f"part {place} ({part.kind}) is {'left over' if place in there else 'cut again'}"
        axes = (0,) if stock.width is None else (0, 1)
        if part.kind in ("blank", "remnant"):
            for axis in axes:
                if box.low[axis] < trim or box.high[axis] > boxes[0].high[axis] - trim:
                    yield f"part {place} ({part.kind}) has a part of the trim"
        narrow = min(box.size(axis) for axis in axes)
        if part.kind == "remnant" and narrow < whole(problem.least_remnant):
            yield f"part {place} is too small for a remnant"
        if part.kind == "blank":
            blanks.append(box)
            yield from _blank_faults(place, part, box, pieces)
    if stock.width is None:
        blanks = [_Box(one.low, (one.high[0], 1)) for one in blanks]
    yield from _overlaps(blanks)


def _blank_faults(place: int, part: Part, box: _Box, pieces: dict[str, Piece]) -> Iterator[str]:
    piece = pieces.get(part.piece or "")
    if piece is None:
        yield f"part {place}: no piece is called {part.piece}"
        return
    sides = whole(piece.length), 0 if piece.width is None else whole(piece.width)
    if part.rotated and not piece.rotate:
        yield f"part {place}: piece {piece.id} may not be turned"
    if (box.size(0), box.size(1)) != (sides[::-1] if part.rotated else sides):
        yield f"part {place}: has not the size of piece {piece.id}"


def _overlaps(boxes: Sequence[_Box]) -> Iterator[str]:
    """Sweep along the length: what lies there at the same time must be apart across it."""
    running: list[_Box] = []
    for box in sorted(boxes, key=lambda one: one.low):
        running = [one for one in running if one.high[0] > box.low[0]]
        if any(one.low[1] < box.high[1] and box.low[1] < one.high[1] for one in running):
            yield "two blanks overlap"
            return
        running.append(box)
