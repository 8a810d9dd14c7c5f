"""One material of a cutting plan as its page and its paper show it: drawings, cut lists, key."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from inventory.core.cutting import REASONS, Plan, Problem
from inventory.core.cutting.drawing import draw
from inventory.core.cutting.worklist import (
    Marks,
    Step,
    Yield,
    gauge,
    in_order,
    marks_of,
    on_the_mark,
    ranges,
    size_of,
    size_text,
    steps,
)
from shared.units import Shown

ENDS = {"left": gettext_noop("trim, left end"), "right": gettext_noop("trim, right end")}
EDGES = {
    "left": gettext_noop("trim, left edge"),
    "right": gettext_noop("trim, right edge"),
    "top": gettext_noop("trim, top edge"),
    "bottom": gettext_noop("trim, bottom edge"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CutJob:
    """One material cut on one machine.

    `kind` is one of `cut_machines.MACHINES` or empty where no machine is known, `metal` steel,
    stainless or aluminium. `pieces` says what a row of pieces is for, `stock` what a row of stock
    is called; rows that are not named go by their size.
    """

    item: str
    problem: Problem
    plan: Plan
    machine: str = ""
    kind: str = ""
    metal: str = ""
    signoff: str = ""
    pieces: Mapping[str, str] = field(default_factory=dict)
    stock: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What comes of some cuts, and where it goes."""

    words: str
    goes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A line of the cut list: the cuts of one gauge setting on one sheet."""

    cuts: str
    count: int
    setting: Shown
    of: str
    comes: tuple[Outcome, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSheet:
    """Sheets or bars that are cut alike: `count` of them, drawn and listed once."""

    number: int
    last: int
    count: int
    name: str
    size: str
    drawing: SafeString
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyRow:
    """A mark of the drawings; `wanted` None for what is kept."""

    mark: str
    size: str
    purpose: str
    wanted: int | None
    cut: int
    grain: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """A gauge setting with the sheets on which it is used, and their cuts."""

    setting: Shown
    what: str
    uses: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSheets:
    """All that stands on the page and on paper for one job, but for what is its machine's."""

    job: CutJob
    units: str
    sheets: tuple[CutSheet, ...]
    key: tuple[KeyRow, ...]
    setups: tuple[Setup, ...]
    impossible: tuple[str, ...]
    rounded: bool
    bars: bool


def job_sheets(job: CutJob, *, units: str, ident: str, paper: bool = False) -> JobSheets:
    """Return the drawings, lists and key of a job.

    `units` is "us" or "metric"; `ident` begins the ids of the drawings, once on a page; `paper`
    draws them ink on white. The plan has passed `check_plan`.
    """
    marks = marks_of(job.problem, job.plan)
    layouts = [in_order(layout) for layout in job.plan.layouts]
    listed = [steps(layout, marks) for layout in layouts]
    sheets = []
    for place, (layout, rows) in enumerate(zip(layouts, listed, strict=True), start=1):
        drawing = draw(
            layout,
            marks,
            kerf=job.problem.machine.kerf,
            ident=f"{ident}-{place}",
            system=units,
            paper=paper,
            say=_,
        )
        whole = layout.parts[0]
        sheets.append(
            CutSheet(
                number=place,
                last=len(layouts),
                count=layout.count,
                name=job.stock.get(layout.stock, ""),
                size=size_text(whole.length, whole.width, units),
                drawing=SafeString(drawing.svg),
                rows=tuple(_row(step, job, marks, units, bar=whole.width is None) for step in rows),
            )
        )
    settings = [step.setting for rows in listed for step in rows]
    return JobSheets(
        job=job,
        units=units,
        sheets=tuple(sheets),
        key=tuple(_key(job, marks, units)),
        setups=tuple(_setups(listed, units)) if len(layouts) > 1 else (),
        impossible=tuple(_impossible(job, units)),
        rounded=not all(on_the_mark(one, units) for one in settings),
        bars=all(layout.parts[0].width is None for layout in layouts),
    )


def _row(step: Step, job: CutJob, marks: Marks, units: str, *, bar: bool) -> Row:
    purposes = {mark: job.pieces.get(piece, "") for piece, mark in marks.pieces.items()}
    off, left = _together(step)
    comes = [_outcome(one, purposes, units) for one in off]
    comes += [_outcome(one, purposes, units, left=True) for one in left]
    if step.edge:
        comes = [Outcome(_((ENDS if bar else EDGES)[step.edge]), _("scrap"))]
    return Row(
        cuts=step.ranges,
        count=len(step.numbers),
        setting=gauge(step.setting, units),
        of=_("bar") if bar else _what(step),
        comes=tuple(comes),
    )


def _together(step: Step) -> tuple[list[Yield], list[Yield]]:
    """Count blanks that are left beyond the last cut with those of the same mark that came off."""
    left = {one.mark: one.count for one in step.left if one.kind == "blank"}
    off = [
        replace(one, count=one.count + left.pop(one.mark, 0)) if one.kind == "blank" else one
        for one in step.off
    ]
    return off, [one for one in step.left if one.kind != "blank" or one.mark in left]


def _what(step: Step) -> str:
    """Say what is laid on the machine."""
    if step.stage < 2 or step.of in ("stock", "sheet"):
        return _("sheet")
    return _("strip") if step.stage == 2 else _("length of a strip")


def _outcome(one: Yield, purposes: Mapping[str, str], units: str, *, left: bool = False) -> Outcome:
    size = size_text(one.length, one.width, units) if one.kind != "scrap" else ""
    if one.kind == "blank":
        words = f"{one.count} × {one.mark}, {size}"
        purpose = purposes.get(one.mark)
        goes = _("for exercise %(numbers)s") % {"numbers": purpose} if purpose else _("blank")
    elif one.kind == "remnant":
        words = f"{one.count} × {one.mark}, {size}" if one.count > 1 else f"{one.mark}, {size}"
        goes = _("keep: to the rack")
    elif one.kind == "scrap":
        words, goes = _("rest"), _("scrap")
    elif one.kind == "strip":
        words = ngettext("%(n)d strip, %(size)s", "%(n)d strips, %(size)s", one.count)
        words, goes = words % {"n": one.count, "size": size}, _("to be cut to lengths")
    else:
        words = ngettext("%(n)d length, %(size)s", "%(n)d lengths, %(size)s", one.count)
        words, goes = words % {"n": one.count, "size": size}, _("to be cut to width")
    if left and one.kind != "scrap":
        words = _("left over: %(what)s") % {"what": words}
    return Outcome(words, goes)


def _key(job: CutJob, marks: Marks, units: str) -> Iterator[KeyRow]:
    made: Counter[str] = Counter()
    kept: Counter[tuple[int, int]] = Counter()
    for layout in job.plan.layouts:
        for blank in layout.blanks:
            made[blank.piece or ""] += layout.count
        for rest in layout.remnants:
            kept[size_of(rest)] += layout.count
    for row in job.problem.pieces:
        if row.count:
            yield KeyRow(
                mark=marks.pieces.get(row.id, ""),
                size=size_text(row.length, row.width, units),
                purpose=job.pieces.get(row.id, ""),
                wanted=row.count,
                cut=made[row.id],
                grain=row.width is not None and row.width != row.length and not row.rotate,
            )
    for (small, large), mark in marks.remnants.items():
        yield KeyRow(
            mark=mark,
            size=size_text(large / 1e9, small / 1e9, units),
            purpose=_("kept: to the rack"),
            wanted=None,
            cut=kept[small, large],
        )


def _setups(listed: Sequence[Sequence[Step]], units: str) -> Iterator[Setup]:
    """Yield the settings of the whole job, each once: for who cuts all sheets in one go."""
    uses: dict[tuple[int, float], dict[int, list[int]]] = {}
    stages = {
        0: gettext_noop("trim"),
        1: gettext_noop("strips"),
        2: gettext_noop("lengths"),
        3: gettext_noop("widths"),
    }
    for place, rows in enumerate(listed, start=1):
        for step in rows:
            on_sheet = uses.setdefault((step.stage, -step.setting), {})
            on_sheet.setdefault(place, []).extend(step.numbers)
    trims = [key for key in uses if not key[0]]  # the far edge is measured from the near one
    for stage, setting in [*trims, *sorted(key for key in uses if key[0])]:
        yield Setup(
            setting=gauge(-setting, units),
            what=_(stages[stage]),
            uses=tuple((n, ranges(sorted(cuts))) for n, cuts in uses[stage, setting].items()),
        )


def _impossible(job: CutJob, units: str) -> Iterator[str]:
    rows = {row.id: row for row in job.problem.pieces}
    for one in job.plan.unplaceable:
        row = rows[one.piece]
        yield _("%(count)d of %(size)s: %(why)s") % {
            "count": one.count,
            "size": size_text(row.length, row.width, units),
            "why": _(REASONS[one.reason]),
        }
