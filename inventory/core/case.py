"""A forecast case: what is still to be welded, by whom, when, and what lies on the shelf.

`read_case` turns the JSON shape of the `forecast` command into frozen data and names every
fault at once. Quantities are plain numbers in the item's own unit, times are minutes.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

PACES = ("own", "class")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
OPINION_WEIGHT = 8.0  # coupons that the library's pass chance counts for
REDO_ODDS = 1.5  # each redo multiplies the odds of passing
ATTEMPT_CAP = 6  # then the instructor moves the student on
USAGE_CV = 0.15  # spread of one attempt's use
BIAS_CV = 0.10  # doubt about the item's factor
SERVICE = 0.9
MAX_NUMBER = 1e12


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a case, at its place, with what would be accepted there."""

    where: str
    got: str
    message: str
    accepts: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {
            "where": self.where,
            "got": self.got,
            "message": self.message,
            "accepts": list(self.accepts),
        }


class CaseError(ValueError):
    """A case that cannot be forecast; `faults` (also `errors`) has all that is wrong with it."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{f.where}: {f.message}" for f in faults))

    @property
    def errors(self) -> list[dict[str, Any]]:
        return [fault.as_json() for fault in self.faults]


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One shop meeting: net booth minutes, and booths (None: one for everybody)."""

    day: date
    minutes: float
    booths: int | None = None
    group: str = ""  # the class that meets; its students and tasks bear the same word


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """Who welds: there from `start` up to but without `until`, present with chance `attendance`."""

    id: str
    attendance: float = 1.0
    start: date | None = None
    until: date | None = None
    passed: frozenset[str] = frozenset()  # passed, credited or moved on
    awaiting: frozenset[str] = frozenset()  # one coupon logged and not yet judged
    attempts: Mapping[str, int] = field(default_factory=dict)  # judged redos by task
    group: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What one attempt takes of an item, in the item's unit, and how much that varies.

    `practice` is what a student takes once, when the first coupon is begun: practice pieces are
    counted as pieces, so it does not vary.
    """

    item: str
    quantity: float
    cv: float = USAGE_CV
    practice: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A plan entry with one required setup."""

    id: str
    minutes: float  # booth minutes of one attempt, at least 1e-6
    practice_minutes: float = 0.0
    first_pass: float | None = None
    weight: float = OPINION_WEIGHT
    passes: int = 0  # judged first coupons of the campus
    fails: int = 0
    pass_probability: float | None = None  # given: overrides first_pass and the data
    redo_odds: float = REDO_ODDS
    cap: int | None = ATTEMPT_CAP
    target: date | None = None
    after: tuple[str, ...] = ()
    uses: tuple[Use, ...] = ()
    group: str = ""
    difficulty: str = ""  # tasks that share this word and their figures share the drawn pass rate


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """A delivery still to come."""

    day: date
    quantity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A stock item; `pack` is how many units one pack holds, `price` is for one pack."""

    id: str
    unit: str = ""
    pack: float = 1.0
    price: Decimal | None = None
    lead_days: int = 0  # working days, as approval_days
    approval_days: int = 0
    on_hand: float = 0.0
    on_order: tuple[Receipt, ...] = ()
    factor: float = 1.0  # real use over the computed use of handed-in coupons
    bias_cv: float = BIAS_CV
    per_student_week: float = 0.0
    delivery_weekdays: tuple[int, ...] = ()  # 0 is Monday; empty: any working day


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """All that a forecast knows. The order of `tasks` is the plan's; no other order matters.

    Several classes that buy together stand in one case, told apart by their `group`: a student is
    in the sessions and at the tasks of the own group alone.
    """

    sessions: tuple[Session, ...]
    students: tuple[Student, ...]
    tasks: tuple[Task, ...]
    items: tuple[Item, ...]
    pace: str = "own"
    service: float = SERVICE  # quantile of the ample figure
    closed: tuple[date, ...] = ()  # days on which nobody approves or delivers


_MISSING: Any = object()


class CaseReader:
    """Takes values out of one JSON object and collects what is wrong."""

    def __init__(self, row: Any, where: str, faults: list[Fault], keys: Collection[str]) -> None:
        self.where = where
        self.faults = faults
        self.row: Mapping[str, Any] = row if isinstance(row, Mapping) else {}
        if not isinstance(row, Mapping):
            self.fault("", row, "must be an object", "{…}")
            self.faults = []  # what it lacks besides follows from that
        for key in self.row:
            if key not in keys:
                self.fault(key, self.row[key], "is not a known key", *sorted(keys))

    def fault(self, key: str, got: Any, message: str, *accepts: str) -> None:
        where = ".".join(part for part in (self.where, key) if part)
        shown = "nothing" if got is _MISSING else str(got)
        self.faults.append(Fault(where or "case", shown[:200], message, accepts))

    def number(
        self,
        key: str,
        default: float | None = _MISSING,
        *,
        low: float = 0.0,
        high: float = MAX_NUMBER,
        above: bool = False,
        below: bool = False,
        whole: bool = False,
        null: bool = False,
        example: str,
    ) -> Any:
        value = self.row.get(key, default)
        if value is None and (null or default is None):
            return None
        kind = "a whole number" if whole else "a number"
        first = "above" if above else "at least"
        last = "below" if below else "at most"
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or (isinstance(value, float) and not math.isfinite(value))
            or (whole and value != int(value))
            or not (low < value if above else low <= value)
            or not (value < high if below else value <= high)
        ):
            also = " or null" if null else ""
            message = f"must be {kind}, {first} {low:g} and {last} {high:g}{also}"
            self.fault(key, value, message, example, *(("null",) if null else ()))
            return low + 1.0
        return int(value) if whole else float(value)

    def day(self, key: str, *, null: bool = False) -> Any:
        value = self.row.get(key, None if null else _MISSING)
        if value is None and null:
            return None
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except (TypeError, ValueError):
            also = " or null" if null else ""
            accepts = ("2026-09-07", "null") if null else ("2026-09-07",)
            self.fault(key, value, f"must be a date written year-month-day{also}", *accepts)
            return date(2000, 1, 1)

    def identity(self, key: str) -> str:
        value = self.row.get(key, _MISSING)
        if isinstance(value, int) and not isinstance(value, bool):
            return str(value)
        if not isinstance(value, str) or not value.strip():
            self.fault(key, value, "must be a name that is not empty", '"A"')
            return ""
        return value

    def word(self, key: str) -> str:
        value = self.row.get(key, "")
        if not isinstance(value, str):
            self.fault(key, value, "must be a text", '"A"')
            return ""
        return value

    def identities(self, key: str, known: Collection[str], what: str) -> tuple[str, ...]:
        found = []
        for n, value in enumerate(self.rows(key)):
            name = str(value) if isinstance(value, str | int) else ""
            if name in known:
                found.append(name)
            else:
                self.fault(
                    f"{key}[{n}]", value, f"names no {what} of this case", *sorted(known)[:9]
                )
        return tuple(found)

    def flag(self, key: str, default: bool) -> bool:
        value = self.row.get(key, default)
        if not isinstance(value, bool):
            self.fault(key, value, "must be true or false", "true", "false")
            return default
        return value

    def rows(self, key: str, *, needed: bool = False) -> Sequence[Any]:
        value = self.row.get(key, _MISSING if needed else [])
        if not isinstance(value, list | tuple):
            self.fault(key, value, "must be a list", "[…]")
            return []
        return value

    def refuse_doubles(self, name: str, ids: Sequence[str]) -> None:
        seen: set[str] = set()
        for n, identity in enumerate(ids):
            if identity and identity in seen:
                self.fault(
                    f"{name}[{n}].id", identity, "is there twice; each name stands for one row"
                )
            seen.add(identity)

    def price(self, key: str) -> Decimal | None:
        value = self.row.get(key)
        if value is None:
            return None
        try:
            if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
                raise InvalidOperation
            money = Decimal(str(value))
            if not money.is_finite() or not 0 <= money <= Decimal(10**9):
                raise InvalidOperation
            if money != round(money, 4):
                raise InvalidOperation
        except InvalidOperation:
            message = "must be an amount of money from 0, with at most four decimals, or null"
            self.fault(key, value, message, '"38.40"', "null")
            return None
        return money


_SESSION = ("date", "minutes", "booths", "group")
_STUDENT = ("id", "attendance", "from", "until", "passed", "awaiting", "attempts", "group")
_CHANCE = ("first_pass", "weight", "passes", "fails", "pass_probability", "redo_odds", "cap")
_TASK = (
    *("id", "after", "target", "minutes", "practice_minutes", "uses", "group", "difficulty"),
    *_CHANCE,
)
_USE = ("item", "quantity", "cv", "practice")
_BUYING = ("pack", "price", "lead_days", "approval_days", "delivery_days")
_SHELF = ("on_hand", "on_order", "factor", "bias_cv", "per_student_week")
_ITEM = ("id", "unit", *_BUYING, *_SHELF)
_CASE = ("contract", "sessions", "students", "tasks", "items", "pace", "service", "closed")


def read_case(data: Any) -> Case:
    """Return the case that `data` (a case file's JSON object) describes.

    Left out keys take the defaults of the dataclasses above; `null` means no bound, not given,
    no cap, no target, no limit of booths. Tasks stand in plan order; one that stands before a
    task it comes `after` is moved behind it. Items that tasks use and `items` lacks are allowed:
    the forecast lists them as unmatched.

    Raises
    ------
    CaseError
        With all faults at once: wrong or missing values, unknown keys, names that are double or
        lead nowhere, tasks that wait for each other.
    """
    faults: list[Fault] = []
    top = CaseReader(data, "", faults, _CASE)
    sessions = tuple(
        _read_session(CaseReader(row, f"sessions[{n}]", faults, _SESSION))
        for n, row in enumerate(top.rows("sessions", needed=True))
    )
    tasks = [
        _read_task(CaseReader(row, f"tasks[{n}]", faults, _TASK))
        for n, row in enumerate(top.rows("tasks", needed=True))
    ]
    known = [task.id for task in tasks]
    students = tuple(
        _read_student(CaseReader(row, f"students[{n}]", faults, _STUDENT), known)
        for n, row in enumerate(top.rows("students", needed=True))
    )
    items = tuple(
        _read_item(CaseReader(row, f"items[{n}]", faults, _ITEM))
        for n, row in enumerate(top.rows("items", needed=True))
    )
    for name, rows in (("students", students), ("tasks", tasks), ("items", items)):
        top.refuse_doubles(name, [row.id for row in rows])
    pace = top.row.get("pace", "own")
    if pace not in PACES:
        top.fault("pace", pace, "must be own or class", *PACES)
    case = Case(
        sessions=sessions,
        students=students,
        tasks=_in_plan_order(tasks, top),
        items=items,
        pace=pace,
        service=top.number("service", SERVICE, high=1, above=True, below=True, example="0.9"),
        closed=tuple(_read_closed(top)),
    )
    if faults:
        raise CaseError(faults)
    return case


def _read_session(row: CaseReader) -> Session:
    return Session(
        day=row.day("date"),
        minutes=row.number("minutes", high=1e6, example="130"),
        booths=row.number("booths", None, whole=True, null=True, example="12"),
        group=row.word("group"),
    )


def _read_student(row: CaseReader, known: Sequence[str]) -> Student:
    start, until = row.day("from", null=True), row.day("until", null=True)
    if start and until and until < start:
        row.fault("until", until, "must not be before from", start.isoformat())
    judged = row.row.get("attempts", {})
    if not isinstance(judged, Mapping):
        row.fault("attempts", judged, "must be an object of judged redos by task", '{"A": 1}')
        judged = {}
    counts = CaseReader(judged, f"{row.where}.attempts", row.faults, known)
    return Student(
        id=row.identity("id"),
        attendance=row.number("attendance", 1.0, high=1, example="0.9"),
        start=start,
        until=until,
        passed=frozenset(row.identities("passed", known, "task")),
        awaiting=frozenset(row.identities("awaiting", known, "task")),
        attempts={
            task: counts.number(task, whole=True, high=1000, example="1")
            for task in judged
            if task in known
        },
        group=row.word("group"),
    )


def _read_task(row: CaseReader) -> Task:
    given, first = (
        row.number(key, None, high=1, above=True, null=True, example="0.6")
        for key in ("pass_probability", "first_pass")
    )
    if first is None and given is None:
        row.fault(
            "first_pass",
            row.row.get("first_pass", _MISSING),
            "is needed: the chance that a first coupon passes, above 0 to 1",
            "0.6",
        )
    after = row.rows("after")
    if not all(isinstance(name, str | int) for name in after):
        row.fault("after", after, "must be a list of task names", '["A"]')
        after = []
    return Task(
        id=row.identity("id"),
        minutes=row.number("minutes", low=1e-6, high=1e5, example="35"),
        practice_minutes=row.number("practice_minutes", 0.0, high=1e5, example="60"),
        first_pass=first,
        weight=row.number("weight", OPINION_WEIGHT, above=True, high=1e6, example="8"),
        passes=row.number("passes", 0, whole=True, high=1e6, example="12"),
        fails=row.number("fails", 0, whole=True, high=1e6, example="6"),
        pass_probability=given,
        redo_odds=row.number("redo_odds", REDO_ODDS, above=True, high=1000, example="1.5"),
        cap=row.number("cap", ATTEMPT_CAP, low=1, high=1e6, whole=True, null=True, example="6"),
        target=row.day("target", null=True),
        after=tuple(str(name) for name in after),
        uses=tuple(
            _read_use(CaseReader(use, f"{row.where}.uses[{n}]", row.faults, _USE))
            for n, use in enumerate(row.rows("uses"))
        ),
        group=row.word("group"),
        difficulty=row.word("difficulty"),
    )


def _read_use(row: CaseReader) -> Use:
    return Use(
        item=row.identity("item"),
        quantity=row.number("quantity", example="0.12"),
        cv=row.number("cv", USAGE_CV, high=3, example="0.15"),
        practice=row.number("practice", 0.0, example="0.03"),
    )


def _read_item(row: CaseReader) -> Item:
    receipts = []
    for n, data in enumerate(row.rows("on_order")):
        receipt = CaseReader(data, f"{row.where}.on_order[{n}]", row.faults, ("date", "quantity"))
        receipts.append(
            Receipt(day=receipt.day("date"), quantity=receipt.number("quantity", example="10"))
        )
    weekdays = row.rows("delivery_days")
    for n, name in enumerate(weekdays):
        if name not in WEEKDAYS:
            row.fault(f"delivery_days[{n}]", name, "must be a day of the week", *WEEKDAYS)
    return Item(
        id=row.identity("id"),
        unit=row.word("unit"),
        pack=row.number("pack", 1.0, above=True, example="10"),
        price=row.price("price"),
        lead_days=row.number("lead_days", 0, whole=True, high=1000, example="5"),
        approval_days=row.number("approval_days", 0, whole=True, high=1000, example="8"),
        on_hand=row.number("on_hand", 0.0, low=-MAX_NUMBER, example="31"),
        on_order=tuple(receipts),
        factor=row.number("factor", 1.0, above=True, high=100, example="1.8"),
        bias_cv=row.number("bias_cv", BIAS_CV, high=3, example="0.1"),
        per_student_week=row.number("per_student_week", 0.0, example="0.5"),
        delivery_weekdays=tuple(sorted(WEEKDAYS.index(d) for d in set(weekdays) & set(WEEKDAYS))),
    )


def _read_closed(top: CaseReader) -> list[date]:
    days = []
    for n, value in enumerate(top.rows("closed")):
        days.append(CaseReader({"": value}, f"closed[{n}]", top.faults, ("",)).day(""))
    return days


def _in_plan_order(tasks: Sequence[Task], top: CaseReader) -> tuple[Task, ...]:
    """Return the tasks as listed, each moved behind those it comes after."""
    known = {task.id for task in tasks}
    for n, task in enumerate(tasks):
        for k, name in enumerate(task.after):
            if name not in known:
                where = f"tasks[{n}].after[{k}]"
                top.fault(where, name, "names no task of this case", *sorted(known)[:9])
    ordered: list[Task] = []
    placed: set[str] = set()
    waiting = list(tasks)
    while waiting:
        ready = next((t for t in waiting if not (set(t.after) & known) - placed), None)
        if ready is None:
            names = ", ".join(task.id for task in waiting)
            top.fault("tasks", names, "wait for each other: take one `after` away", "[]")
            break
        waiting.remove(ready)
        ordered.append(ready)
        placed.add(ready.id)
    return tuple(ordered)
