"""The term plan as its page shows it: weeks as columns, entries and load as rows."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _

from curriculum.core import spec
from curriculum.core.booth_load import ProcessLoad, WeekLoad
from curriculum.core.term_plan import Entry
from curriculum.models import ExerciseVersion, PlanEntry, Session, ShopClass
from curriculum.services.plan import ClassPlan, load_plan, setup_keys

TOP = 1.3  # a level bar ends at this share of what there is


@dataclass(frozen=True, slots=True)
class Week:
    """A column: its number (None: no session), its Monday, and how it is set."""

    number: int | None
    monday: date
    css: str
    label: str
    first: int | None  # place of its first session that can take an entry


@dataclass(frozen=True, slots=True)
class Cell:
    """Some weeks in a row of the plan: with a bar, or one empty week."""

    css: str
    span: int = 1
    bar: str = ""
    more: bool = False  # the bar goes on from before a week without shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """An entry of the plan as a row."""

    row: PlanEntry
    entry: Entry
    version: ExerciseVersion | None
    iso4063: str
    needs: list[tuple[str, bool]]  # number, whether it stands in the plan
    cells: list[Cell]
    minutes: float
    sessions: str
    place: int

    @property
    def hours(self) -> float:
        """Booth hours of the class."""
        return self.minutes / 60

    @property
    def priority(self) -> str:
        """must, should or extra."""
        return self.version.priority if self.version else "extra"


@dataclass(frozen=True, slots=True)
class LoadCell:
    """Needed and available booth hours of a week; by how much it is over, 0 where it is not."""

    css: str
    needed: float = 0.0
    available: float = 0.0
    over: float = 0.0
    top: float = 1.0
    shop: bool = True


@dataclass(frozen=True, slots=True)
class LoadRow:
    """The load of one process, or of all booths."""

    label: str
    iso4063: str
    usual: float  # hours of a usual week
    cells: list[LoadCell]
    needed: float
    is_total: bool


@dataclass(frozen=True, slots=True)
class Headline:
    """What the plan says in one line, its figures in the next, and whether it is too full."""

    finding: str
    figures: str
    weeks: int
    full: int


@dataclass(frozen=True, slots=True)
class Page:
    """All that the page of a plan shows."""

    headline: Headline
    weeks: list[Week]
    rows: list[Row]
    load: list[LoadRow]
    selected: Row | None
    hours: float


def headline(shop_class: ShopClass, *, today: date) -> Headline:
    """Return the first two lines about a class's plan."""
    known = load_plan(shop_class)
    return _headline(known, known.load(), today)


def plan_page(known: ClassPlan, *, today: date, selected: int | None = None) -> Page:
    """Lay out a plan; `selected` is the key of the entry that is being moved."""
    load = known.load()
    weeks = _weeks(known, today)
    rows = [
        _row(known, weeks, row, entry, place)
        for place, (row, entry) in enumerate(zip(known.rows, known.entries, strict=True), start=1)
    ]
    return Page(
        headline=_headline(known, load, today),
        weeks=weeks,
        rows=rows,
        load=_load_rows(weeks, load),
        selected=next((row for row in rows if row.row.pk == selected), None),
        hours=sum(row.hours for row in rows),
    )


# -- in words ---------------------------------------------------------------------------------


def _hours(minutes: float) -> str:
    return number_format(round(minutes / 60, 1), decimal_pos=1)


def _headline(known: ClassPlan, load: Sequence[WeekLoad], today: date) -> Headline:
    """Weeks that are over cannot be made emptier: they count only once the term is over."""
    numbered = list(enumerate(load, start=1))
    to_come = [(n, week) for n, week in numbered if week.week + timedelta(days=6) >= today]
    counted = to_come or numbered
    full = [(number, week) for number, week in counted if week.shortages]
    words = {"full": len(full), "weeks": len(counted)}
    if not known.sessions:
        finding = _("Term plan: no sessions yet")
    elif not known.rows:
        finding = _("Term plan: nothing in it yet")
    elif full and len(counted) < len(load):
        finding = _("Term plan: too full in %(full)d of %(weeks)d weeks to come") % words
    elif full:
        finding = _("Term plan: too full in %(full)d of %(weeks)d weeks") % words
    elif len(counted) < len(load):
        finding = _("Term plan: fits in the weeks to come")
    else:
        finding = _("Term plan: fits in all its weeks")
    figures = " ".join(_figures(known, full))
    return Headline(finding, figures, weeks=len(counted), full=len(full))


def _figures(known: ClassPlan, full: Sequence[tuple[int, WeekLoad]]) -> list[str]:
    if not known.sessions:
        return [_("Make the sessions of the class first; then exercises can be placed in them.")]
    if not known.rows:
        return [_("Search the library below and add the exercises of the term.")]
    said = []
    if full:
        over = ", ".join(
            _("week %(number)d by %(hours)s h (%(processes)s)")
            % {
                "number": number,
                "hours": _hours(worst.needed - worst.available),
                "processes": " + ".join(worst.processes),
            }
            for number, week in full
            for worst in [max(week.shortages, key=lambda one: one.needed - one.available)]
        )
        said.append(_("Booth time is over in %(weeks)s.") % {"weeks": over})
    else:
        whole = sum(known.minutes(entry) for entry in known.entries)
        said.append(
            _("%(entries)d exercises take %(hours)s booth-hours with %(students)d students.")
            % {
                "entries": len(known.rows),
                "hours": _hours(whole),
                "students": known.students,
            }
        )
    unplaced = [entry for entry in known.entries if entry.target is None]
    if unplaced:
        numbers = ", ".join(entry.number for entry in unplaced)
        said.append(_("Not placed: %(numbers)s.") % {"numbers": numbers})
    else:
        said.append(_("All are placed."))
    missing = _missing(known)
    if missing:
        said.append(_("Needed and not in the plan: %(numbers)s.") % {"numbers": ", ".join(missing)})
    return said


def _missing(known: ClassPlan) -> list[str]:
    there = {entry.number for entry in known.entries}
    return sorted({need for entry in known.entries for need in entry.needs} - there)


# -- columns and rows -------------------------------------------------------------------------


def _weeks(known: ClassPlan, today: date) -> list[Week]:
    if not known.slots:
        return []
    this = today - timedelta(days=today.weekday())
    mondays = {slot.week for slot in known.slots}
    labels = {
        row.date - timedelta(days=row.date.weekday()): row.label
        for row in known.shop_class.campus.closures.all()
    }
    monday, last, number, weeks = min(mondays), max(mondays), 0, []
    while monday <= last:
        shop = monday in mondays
        number += shop
        places = [n for n, slot in enumerate(known.slots) if slot.week == monday]
        open_ = [n for n in places if known.slots[n].minutes]
        css = "brk" if not shop else "now" if monday == this else "past" if monday < this else ""
        weeks.append(
            Week(
                number if shop else None,
                monday,
                css,
                "" if shop else labels.get(monday, ""),
                next(iter(open_ or places), None),
            )
        )
        monday += timedelta(weeks=1)
    return weeks


def _span(known: ClassPlan, entry: Entry) -> range:
    """Return the places of the sessions of an entry: to the next later target, as in the load."""
    if entry.target is None:
        return range(0)
    later = [one.target for one in known.entries if one.target is not None]
    ends = [target for target in later if target > entry.target]
    return range(entry.target, min(ends, default=len(known.slots)))


def _row(known: ClassPlan, weeks: Sequence[Week], row: PlanEntry, entry: Entry, place: int) -> Row:
    span = _span(known, entry)
    mine = {known.slots[n].week for n in span}
    sessions = ""
    if span:
        first, last = span.start + 1, span.stop
        sessions = str(first) if first == last else f"{first}–{last}"
    cells: list[Cell] = []
    for week in weeks:
        if week.monday not in mine:
            cells.append(Cell(week.css))
            continue
        now = " now" if week.css == "now" else ""
        before = cells[-1] if cells else None
        if before is not None and before.bar and not now:
            cells[-1] = Cell(before.css, before.span + 1, before.bar, before.more)
        else:
            shown = any(cell.bar for cell in cells)
            cells.append(Cell(f"span{now}", 1, sessions, shown))
    version = known.versions.get(row.exercise_id)
    there = {one.number for one in known.entries}
    return Row(
        row=row,
        entry=entry,
        version=version,
        iso4063=version.iso4063 if version else "",
        needs=[(need, need in there) for need in entry.needs],
        cells=cells,
        minutes=known.minutes(entry),
        sessions=sessions,
        place=place,
    )


def _load_rows(weeks: Sequence[Week], load: Sequence[WeekLoad]) -> list[LoadRow]:
    by_week = {week.week: week for week in load}
    names = [name for name in spec.PROCESSES if any(one.by_process.get(name) for one in load)]
    needed = {name: sum(_of(one, name).needed for one in load) for name in names}
    names = [name for name in names if needed[name]]
    rows: list[str | None] = [None, *names]
    return [_load_row(weeks, by_week, load, name) for name in rows]


def _of(week: WeekLoad, name: str | None) -> ProcessLoad:
    if name is None:
        return week.total
    return week.by_process.get(name) or ProcessLoad(0.0, 0.0)


def _load_row(
    weeks: Sequence[Week],
    by_week: dict[date, WeekLoad],
    load: Sequence[WeekLoad],
    name: str | None,
) -> LoadRow:
    top = max((_of(one, name).available for one in load), default=0.0) / 60 * TOP or 1.0
    cells = []
    for week in weeks:
        found = by_week.get(week.monday)
        if found is None:
            cells.append(LoadCell(week.css, shop=False))
            continue
        part = _of(found, name)
        over = max(part.needed - part.available, 0.0) / 60
        over = over if over > 0.005 else 0.0
        css = " ".join(word for word in (week.css, "over" if over else "") if word)
        cells.append(LoadCell(css, part.needed / 60, part.available / 60, over, top))
    usual = sorted(_of(one, name).available / 60 for one in load)
    return LoadRow(
        label=name or _("Load, all booths"),
        iso4063=spec.PROCESSES[name][0] if name else "",
        usual=usual[len(usual) // 2] if usual else 0.0,
        cells=cells,
        needed=sum(_of(one, name).needed for one in load) / 60,
        is_total=name is None,
    )


# -- the entry that is being moved ------------------------------------------------------------


def choices_of(known: ClassPlan) -> list[tuple[Session, str]]:
    """Return the sessions an entry may begin in, with number, date and week day."""
    return [
        (session, f"{number} · {date_format(session.date, 'D j N')}")
        for number, session in enumerate(known.sessions, start=1)
        if session.state == Session.State.PLANNED
    ]


def setups_of(row: Row) -> list[tuple[str, str, bool]]:
    """Return key, base metal and whether it is required, of the exercise's setups."""
    if row.version is None:
        return []
    required = setup_keys(row.row, row.version)
    return [
        (setup.key, setup.base_metal, setup.key in required) for setup in row.version.setups.all()
    ]


def effect(known: ClassPlan, entry: Hashable) -> str:
    """Return in a sentence how full the week is in which an entry begins."""
    [one] = [each for each in known.entries if each.id == entry]
    if one.target is None:
        return _("Not placed yet: it counts in no week.")
    monday = known.slots[one.target].week
    [week] = [each for each in known.load() if each.week == monday]
    part = _of(week, one.process)
    words = {
        "process": one.process,
        "needed": _hours(part.needed),
        "available": _hours(part.available),
        "all": _hours(week.total.needed),
        "whole": _hours(week.total.available),
    }
    return (
        _(
            "In its first week %(process)s needs %(needed)s of %(available)s booth-hours, "
            "all processes %(all)s of %(whole)s."
        )
        % words
    )
