"""The cuts of a sheet or bar in the order of work, so that the gauge is moved as little as can be.

First all strips, then all lengths, then all widths; within a stage the cuts of one setting follow
each other, the largest setting first. What `arrange` lays out has its strips and blanks in that
order too, so that each setting of a stage is come by once.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from curriculum.core.sentence import Sentence as _
from shared.units import Shown
from shared.units.figures import decimal_text, fraction_text

from .plan import Cut, Layout, Part, Plan
from .problem import Problem, whole

LETTERS = "ABCDEFGHJKLMNPQSTUVWXYZ"  # no I and O, read as figures; R names remnants
PARTS = 64  # of an inch, as a gauge is read
INCH_NM = 25_400_000
MM_NM = 1_000_000
EXACT_NM = 1000  # a setting this near to a mark of the gauge is on it

Size = tuple[int, int]  # nm, the smaller side first; a bar's is (0, length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Yield:
    """What comes of the cuts of a step, on one sheet: `count` alike, named by `mark`.

    `kind` is that of a `Part`; blanks and remnants have a mark. Sides are metres.
    """

    kind: str
    mark: str
    count: int
    length: float
    width: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """All cuts that are made one after the other at one gauge setting, in metres.

    `numbers` are those in the rings. `of` says what is cut; `off` comes off at the gauge, `left`
    is what remains for good beyond a last cut. `edge` says which edge of the stock is trimmed
    ("left", "right", "top", "bottom" as drawn), an empty text where none is.
    """

    numbers: tuple[int, ...]
    stage: int
    setting: float
    runs: str
    of: str
    edge: str
    off: tuple[Yield, ...]
    left: tuple[Yield, ...]

    @property
    def ranges(self) -> str:
        return ranges(self.numbers)


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks of a plan: a letter for each row of pieces, R1, R2, … for each size kept."""

    pieces: Mapping[str, str]
    remnants: Mapping[Size, str]

    def of(self, part: Part) -> str:
        """Return the mark of a blank or remnant, an empty text for all else."""
        if part.kind == "blank":
            return self.pieces[part.piece or ""]
        return self.remnants[size_of(part)] if part.kind == "remnant" else ""


def marks_of(problem: Problem, plan: Plan) -> Marks:
    """Return the marks of all that the plan gives, in the order of the problem's pieces."""
    cut = {blank.piece for layout in plan.layouts for blank in layout.blanks}
    rows = [row.id for row in problem.pieces if row.id in cut]
    kept = dict.fromkeys(size_of(rest) for layout in plan.layouts for rest in layout.remnants)
    return Marks(
        {row: letters(place) for place, row in enumerate(rows)},
        {size: f"R{place}" for place, size in enumerate(kept, start=1)},
    )


def letters(place: int) -> str:
    """Return A, B, … and then AA, AB, … for 0, 1, …"""
    rounds, rest = divmod(place, len(LETTERS))
    return (letters(rounds - 1) if rounds else "") + LETTERS[rest]


def size_of(part: Part) -> Size:
    """Return both sides in nm, the smaller one first; of a bar 0 and the length."""
    small, large = sorted((whole(part.length), 0 if part.width is None else whole(part.width)))
    return small, large


def in_order(layout: Layout) -> Layout:
    """Return the layout with its cuts in the order of work and numbered so.

    It stays a layout that `check_plan` passes: no cut comes before what it cuts is there, and the
    stages keep their order.
    """
    waiting: dict[int, list[Cut]] = {}
    for cut in layout.cuts:
        waiting.setdefault(cut.part, []).append(cut)
    ready: dict[tuple[int, float, str], list[int]] = {}
    by_number = {cut.number: cut for cut in layout.cuts}

    def offer(part: int | None) -> None:
        if part is not None:
            for cut in waiting.get(part, ()):
                key = cut.stage, -cut.setting, cut.runs
                heapq.heappush(ready.setdefault(key, []), cut.number)

    offer(0)
    done: list[Cut] = []
    while ready:
        key = min(ready)
        while numbers := ready[key]:
            cut = by_number[heapq.heappop(numbers)]
            done.append(replace(cut, number=len(done) + 1))
            offer(cut.off)
            offer(cut.rest)
        del ready[key]
    return replace(layout, cuts=tuple(done))


def steps(layout: Layout, marks: Marks) -> list[Step]:
    """Return the cut list of a layout that is in the order of work."""
    again = {cut.part for cut in layout.cuts}
    found = []
    for (stage, setting, runs), group in groupby(
        layout.cuts, key=lambda cut: (cut.stage, cut.setting, cut.runs)
    ):
        cuts = list(group)
        off = [layout.parts[cut.off] for cut in cuts if cut.off is not None]
        left = [
            layout.parts[cut.rest] for cut in cuts if cut.rest is not None and cut.rest not in again
        ]
        if stage == 0:  # the sheet goes on; what is trimmed off falls on either side of the cut
            off, left = [], [part for part in (*off, *left) if part.kind == "scrap"]
        found.append(
            Step(
                numbers=tuple(cut.number for cut in cuts),
                stage=stage,
                setting=setting,
                runs=runs,
                of=layout.parts[cuts[0].part].kind,
                edge=_edge(layout, cuts[0]),
                off=tuple(_yields(off, marks)),
                left=tuple(_yields(left, marks)),
            )
        )
    return found


def _edge(layout: Layout, cut: Cut) -> str:
    if cut.stage:
        return ""
    part = layout.parts[cut.part]
    if cut.runs == "width":
        return "left" if cut.at - part.x < part.length / 2 else "right"
    return "top" if cut.at - part.y < (part.width or 0.0) / 2 else "bottom"


def _yields(parts: Iterable[Part], marks: Marks) -> Iterator[Yield]:
    """Scrap is one heap, all else is told apart by mark and size."""
    counted = Counter(
        (part.kind, marks.of(part), (0, 0) if part.kind == "scrap" else size_of(part))
        for part in parts
    )
    for (kind, mark, (small, large)), count in counted.items():
        yield Yield(
            kind=kind,
            mark=mark,
            count=count,
            length=large / 1e9,
            width=small / 1e9 or None,
        )


def contents(parts: Sequence[Part], marks: Marks) -> dict[str, int]:
    """Return how many of which mark are among the parts, in their order."""
    return dict(Counter(marks.of(part) for part in parts if part.kind in ("blank", "remnant")))


def ranges(numbers: Sequence[int]) -> str:
    """Write rising whole numbers as "2–11, 14"."""
    runs: list[list[int]] = []
    for one in numbers:
        if runs and one == runs[-1][-1] + 1:
            runs[-1] = [runs[-1][0], one]
        else:
            runs.append([one])
    return ", ".join("–".join(map(str, dict.fromkeys(run))) for run in runs)


def gauge(metres: float, system: str) -> Shown:
    """Return a length as it is set and measured: in sixty-fourths of an inch, or 0.1 mm."""
    steps_nm = whole(metres)
    if system == "us":
        return Shown(fraction_text(Fraction(round(steps_nm * PARTS / INCH_NM), PARTS)), "in")
    return Shown(decimal_text(Fraction(steps_nm, MM_NM), 1), "mm")


def on_the_mark(metres: float, system: str) -> bool:
    """Say whether `gauge` gives a length as it is, not rounded."""
    mark = Fraction(INCH_NM, PARTS) if system == "us" else Fraction(MM_NM, 10)
    steps_nm = whole(metres)
    return abs(round(steps_nm / mark) * mark - steps_nm) <= EXACT_NM


def size_text(length: float, width: float | None, system: str) -> str:
    """Write a size, the smaller side first: "3 × 6 in", a bar's "6 in"."""
    if not width:
        return str(gauge(length, system))
    small, large = sorted((length, width))
    return f"{gauge(small, system).figure} × {gauge(large, system)}"


def described(layout: Layout, marks: Marks, system: str) -> _:
    """Say in words what the drawing of a layout shows; the cut list says how it is cut."""
    stock = layout.parts[0]
    size = size_text(stock.length, stock.width, system)
    template = _("Bar of %(size)s.") if stock.width is None else _("Sheet of %(size)s.")
    said = [_(template, size=size)]
    parts = [part for part in layout.parts if part.kind in ("blank", "remnant")]
    sizes = {marks.of(part): size_text(part.length, part.width, system) for part in parts}
    for mark, count in contents(parts, marks).items():
        words = _("Kept: %(count)s × %(mark)s, %(size)s.")
        if mark in marks.pieces.values():
            words = _("Blanks: %(count)s × %(mark)s, %(size)s.")
        said.append(_(words, count=count, mark=mark, size=sizes[mark]))
    return _.join(said)
