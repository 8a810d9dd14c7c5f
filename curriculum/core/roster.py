"""The roster of a class as a table: read row by row, and compared with who is in the class.

The key of a student is the number the school gave them, never the name. A column that the file
does not have says nothing; an empty cell of a column that it has says "none".
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from curriculum.core.sentence import Sentence as _

NUMBER_MAX, NAME_MAX, GROUP_MAX = 32, 150, 20
COLUMNS = {
    "number": ("student number", "student no", "student id", "number", "id"),
    "name": ("name", "student", "student name", "full name"),
    "family": ("family", "family name", "last name", "last", "surname"),
    "given": ("given", "given name", "given names", "first name", "first"),
    "group": ("group", "section"),
    "joined": ("joined", "from", "first day", "start"),
    "left": ("left", "until", "last day", "dropped"),
    "attendance": ("attendance", "present", "share present"),
}
"""What a heading may be called, without case, accents and punctuation; common practice."""
DATES = ("2026-01-31", "31.01.2026", "1/31/2026")


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """What a roster says of one student; `joined` is the first day, `left` the first day gone."""

    number: str
    name: str
    sort_name: str = ""
    group: str = ""
    joined: date | None = None
    left: date | None = None
    attendance: float | None = None


@dataclass(frozen=True, slots=True)
class RowFault:
    """What is wrong in one cell: the line of the file, its heading, a sentence, what would do."""

    row: int
    column: str
    got: str
    message: _
    accepts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Roster:
    """A whole file: `says` names the fields it has columns for, `unread` the headings passed over.

    With faults the students are only those of the rows without one.
    """

    students: tuple[Student, ...]
    says: frozenset[str]
    unread: tuple[str, ...] = ()
    faults: tuple[RowFault, ...] = ()


class _Unreadable(ValueError):
    def __init__(self, message: _, accepts: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.message, self.accepts = message, accepts


def _plain(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text).casefold()
    return " ".join(re.sub(r"[^a-z0-9 ]", "", letters.replace("_", " ")).split())


def read_roster(rows: Iterable[tuple[int, Mapping[str, str]]]) -> Roster:
    """Read rows (line in the file, cells by heading); every fault of the file comes in one answer.

    A row needs a number that no other row has, and a name, as one cell ("Reyes, Paula" or
    "Paula Reyes") or as family and given name. Dates are ISO, or any order that can be read one
    way only; attendance is a share, 0.9 or 90 %.
    """
    rows = list(rows)
    headings = list(rows[0][1]) if rows else []
    by_field: dict[str, str] = {}
    unread, faults = [], []
    for heading in headings:
        known = next((name for name, words in COLUMNS.items() if _plain(heading) in words), None)
        if known is None:
            unread.append(heading)
        elif known in by_field:
            message = _("This says the same as the column “%(other)s”.", other=by_field[known])
            faults.append(RowFault(1, heading, heading, message))
        else:
            by_field[known] = heading
    missing = [] if "number" in by_field else ["student number"]
    if "name" not in by_field and not {"family", "given"} <= by_field.keys():
        missing.append("name")
    faults += [
        RowFault(
            1,
            name,
            ", ".join(headings),
            _("The first line names no column “%(name)s”.", name=name),
            ("student number, name", "student number, family name, given name"),
        )
        for name in missing
    ]
    if missing:
        return Roster((), frozenset(), tuple(unread), tuple(faults))
    students: list[Student] = []
    lines: dict[str, int] = {}
    for line, cells in rows:
        student, wrong = _student(line, cells, by_field)
        number = cells.get(by_field["number"], "")
        if number and (first := lines.setdefault(number, line)) != line:
            message = _("Line %(first)s has this number too.", first=first)
            wrong.append(RowFault(line, by_field["number"], number, message))
        faults += wrong
        if student is not None and not wrong:
            students.append(student)
    says = frozenset(by_field) & {"group", "joined", "left", "attendance"}
    return Roster(tuple(students), says, tuple(unread), tuple(faults))


def _student(
    line: int, cells: Mapping[str, str], by_field: Mapping[str, str]
) -> tuple[Student | None, list[RowFault]]:
    wrong: list[RowFault] = []

    def text(name: str) -> str:
        return " ".join(cells.get(by_field.get(name, ""), "").split())

    def refuse(name: str, message: _, accepts: tuple[str, ...] = ()) -> None:
        wrong.append(RowFault(line, by_field.get(name, name), text(name), message, accepts))

    name, sort_name = _names(text("name"), text("family"), text("given"))
    own = "name" if "name" in by_field else "family"
    if not text("number"):
        refuse("number", _("Every student needs the number the school gave them."))
    if not name:
        refuse(own, _("Every student needs a name."))
    limits = (("number", text("number"), NUMBER_MAX), (own, name, NAME_MAX))
    for place, value, most in (*limits, ("group", text("group"), GROUP_MAX)):
        if len(value) > most:
            refuse(place, _("At most %(most)s characters.", most=most))
    values: dict[str, date | float | None] = {}
    for place, read in (("joined", read_date), ("left", read_date), ("attendance", read_share)):
        try:
            values[place] = read(text(place)) if text(place) else None
        except _Unreadable as error:
            refuse(place, error.message, error.accepts)
    joined, left = values.get("joined"), values.get("left")
    if isinstance(joined, date) and isinstance(left, date) and left < joined:
        refuse("left", _("Nobody leaves before the first day, %(day)s.", day=joined.isoformat()))
    if wrong:
        return None, wrong
    student = Student(
        number=text("number"),
        name=name,
        sort_name=sort_name,
        group=text("group"),
        **values,  # type: ignore[arg-type]
    )
    return student, wrong


def _names(name: str, family: str, given: str) -> tuple[str, str]:
    """Return the name as spoken, and as sorted where the file says which part is the family's."""
    if not name and (family or given):
        both = family and given
        return f"{given} {family}".strip(), f"{family}, {given}" if both else ""
    head, comma, tail = (part.strip() for part in name.partition(","))
    if comma and head and tail:
        return f"{tail} {head}", f"{head}, {tail}"
    return name.strip(", "), ""


def read_date(text: str) -> date:
    """Return a date; one with the year behind is read where its order can be only one.

    >>> read_date("1/31/2026")
    datetime.date(2026, 1, 31)

    Raises `ValueError` with a sentence.
    """
    parts = re.fullmatch(r"(\d{1,4})([-./])(\d{1,2})\2(\d{1,4})", text)
    if parts is None:
        raise _Unreadable(_("“%(text)s” is no date.", text=text), DATES)
    first, mark, second, third = parts[1], parts[2], int(parts[3]), parts[4]
    found: set[date] = set()
    if len(first) == 4:
        orders = [(int(first), second, int(third))]
    elif len(third) == 4:
        orders = [(int(third), second, int(first))]
        if mark != ".":  # with full stops the day is written first
            orders.append((int(third), int(first), second))
    else:
        orders = []
    for order in orders:
        try:
            found.add(date(*order))
        except ValueError:
            continue
    if len(found) > 1:
        one, other = sorted(day.isoformat() for day in found)
        raise _Unreadable(_("“%(text)s” can be read two ways.", text=text), (one, other))
    if not found or not 1900 <= (day := found.pop()).year <= 2200:
        raise _Unreadable(_("“%(text)s” is no date.", text=text), DATES)
    return day


def read_share(text: str) -> float:
    """Return a share from 0 to 1 of "0.9", "0,9" or "90 %"; raise `ValueError` with a sentence."""
    parts = re.fullmatch(r"(\d{1,3}(?:[.,]\d{1,6})?)\s*(%?)", text)
    value = float(parts[1].replace(",", ".")) if parts else -1.0
    if parts and parts[2]:
        value /= 100
    if not 0 <= value <= 1:
        message = _("“%(text)s” is no share of the sessions.", text=text)
        raise _Unreadable(message, ("0.9", "90 %"))
    return value


@dataclass(frozen=True, slots=True)
class Changed:
    """A student of the class as they will be, and the names of the fields that change."""

    student: Student
    fields: tuple[str, ...]
    before: Student


@dataclass(frozen=True, slots=True)
class Comparison:
    """What loading would do. `left` are the numbers that `whole` marks as gone."""

    added: tuple[Student, ...] = ()
    changed: tuple[Changed, ...] = ()
    unchanged: tuple[Student, ...] = ()
    left: tuple[Student, ...] = field(default=())


def compare(
    roster: Roster, there: Mapping[str, Student], *, whole: bool, today: date
) -> Comparison:
    """Compare a roster with the class, both by number; the order of the rows does not matter.

    `whole` says that the file names everybody: who is missing and has not left leaves `today`,
    and who left before is back, unless the file has its own column for that.
    """
    added, changed, unchanged = [], [], []
    for one in sorted(roster.students, key=lambda one: one.number):
        before = there.get(one.number)
        if before is None:
            added.append(one)
            continue
        after = _after(one, before, roster.says, whole and "left" not in roster.says, today)
        names = tuple(
            name for name in Student.__slots__ if getattr(after, name) != getattr(before, name)
        )
        if names:
            changed.append(Changed(after, names, before))
        else:
            unchanged.append(after)
    listed = {one.number for one in roster.students}
    left = [
        one
        for number, one in sorted(there.items())
        if whole and number not in listed and (one.left is None or one.left > today)
    ]
    return Comparison(tuple(added), tuple(changed), tuple(unchanged), tuple(left))


def _after(one: Student, before: Student, says: frozenset[str], back: bool, today: date) -> Student:
    sort_name = one.sort_name or (before.sort_name if one.name == before.name else one.name)
    left = one.left if "left" in says else before.left
    if back and left is not None and left <= today:
        left = None
    return Student(
        number=one.number,
        name=one.name,
        sort_name=sort_name,
        group=one.group if "group" in says else before.group,
        joined=one.joined if "joined" in says else before.joined,
        left=left,
        attendance=one.attendance if "attendance" in says else before.attendance,
    )


def added_in_order(students: Sequence[Student]) -> list[Student]:
    """Return new students in the order in which they get their letters, however the rows stood."""
    return sorted(students, key=lambda one: (_plain(one.sort_name or one.name), one.number))
