"""The forecast of real classes: rows become a case, and the case an answer that is kept a while.

A case is read anew for each question, in a constant number of queries a class; the simulated
answer is kept in memory under a digest of the case. So a logged result, a moved plan entry or a
movement of stock shows at once, and asking again costs no simulation.
"""

from __future__ import annotations

import json
from collections import OrderedDict, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from hashlib import sha256
from threading import Lock
from typing import TYPE_CHECKING, Any

from django.db.models import OuterRef, Subquery
from django.utils.translation import gettext as _

from curriculum.core.spec import Exercise as Spec
from curriculum.core.usage import UsageError, usage
from curriculum.models import Booth, Closure, ExerciseVersion, PlanEntry, ShopClass
from curriculum.models import Session as ShopSession
from curriculum.services import to_spec
from grading.core.standing import TO_BE_JUDGED, Standing
from grading.models import Attempt, Verdict
from grading.services import planned_tasks, standings
from inventory.core.case import WEEKDAYS, Case, read_case
from inventory.core.forecast import RUNS, SEED, Forecast, forecast
from inventory.core.needs import CASE_UNIT, Need, Shelf, in_case_unit, needs_of, practice, spread
from inventory.models import Pack, ReceiptLine, Requisition, RequisitionLine, StockItem
from inventory.services.open_packs import left_open
from shared.text import fold

if TYPE_CHECKING:
    from shared.people.models import Campus

Key = tuple[int, str]  # exercise pk and setup key
KEPT = 64  # answers held in memory of a process, a few tens of kB each
EXAMPLES = 9
CV_MAX = 3.0  # what a case takes


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskName:
    """Which setup of which exercise a task of the case is, in words."""

    number: str
    key: str
    title: str
    version_id: int
    class_id: int
    class_name: str

    def __str__(self) -> str:
        return f"{self.number}/{self.key}"


@dataclass(frozen=True, slots=True)
class Problem:
    """Something planned that no figure could be computed for, and why."""

    where: str
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """A case with the rows it was made of, so that a page can name and link them."""

    data: dict[str, Any]
    case: Case
    as_of: date
    campus: Campus
    classes: tuple[ShopClass, ...]
    items: Mapping[str, StockItem]
    packs: Mapping[str, Pack]  # the pack bought by default, where an item has one
    tasks: Mapping[str, TaskName]
    students: Mapping[str, str]  # names by the case's id
    needs: Mapping[str, Need]  # of what matches no stock item
    problems: tuple[Problem, ...]
    mondays: tuple[date, ...]  # of the weeks in which a class meets, as the term plan counts them
    digest: str

    def task_names(self, tasks: Iterable[str]) -> list[TaskName]:
        """Return the tasks of these ids, one for each setup whatever the class."""
        found = {str(self.tasks[task]): self.tasks[task] for task in tasks if task in self.tasks}
        return list(found.values())


def class_forecast_case(shop_class: ShopClass, as_of: date) -> Case:
    """Return the case of a class: its plan, people, sessions and the campus's shelf today.

    Only sessions after `as_of` are looked at when it is forecast.
    """
    return forecast_basis([shop_class], as_of).case


def class_named(name: str) -> ShopClass:
    """Return the class of this name, told apart by its campus as "name, campus" where needed.

    Raises LookupError with a sentence that names the classes there are.
    """
    classes = list(ShopClass.objects.select_related("campus"))
    wanted = fold(name)
    found = [row for row in classes if wanted in (fold(row.name), _full_name(row))]
    if len(found) == 1:
        return found[0]
    several = found or classes
    names = ", ".join(f"{row.name}, {row.campus}" for row in several[:EXAMPLES])
    if found:
        raise LookupError(_("Several campuses have such a class: %(names)s.") % {"names": names})
    raise LookupError(_("There is no such class. There are: %(names)s.") % {"names": names or "–"})


def _full_name(row: ShopClass) -> str:
    return fold(f"{row.name}, {row.campus}")


def running_classes(campus: Campus, as_of: date) -> list[ShopClass]:
    """Return the classes of a campus that are not over, the first to end first."""
    rows = ShopClass.objects.filter(campus=campus, closed_at=None, ends__gte=as_of)
    return list(rows.select_related("campus").order_by("ends", "name"))


def forecast_basis(
    classes: Sequence[ShopClass], as_of: date, *, campus: Campus | None = None
) -> Basis:
    """Return the joint case of `classes` (of one campus) with the rows behind it.

    Of one class, tasks are named "201/1-4in" and students by the letters of their coupon mark; of
    several, the class's number stands before. Students who left, and what needs no coupon any
    more, are left out.

    Raises
    ------
    ValueError
        If the classes are of several campuses, or there is neither a class nor a campus.
    """
    campuses = {row.campus for row in classes} | ({campus} if campus else set())
    if len(campuses) != 1:
        raise ValueError(f"classes must be of one campus, got {len(campuses)}")
    where = campuses.pop()
    assert where is not None  # noqa: S101 - for the type checker
    items = {
        row.spec_key: row
        for row in StockItem.objects.filter(campus=where)
        .active()
        .prefetch_related("packs__supplier")
    }
    shelves = [
        Shelf(key=row.spec_key, base=row.base_unit, piece_mg=row.piece_mg) for row in items.values()
    ]
    packs = {key: pack for key, row in items.items() if (pack := default_pack(row)) is not None}
    build = _Build(where, shelves, items)
    for shop_class in classes:
        build.add(shop_class, as_of, alone=len(classes) == 1)
    closed = Closure.objects.filter(campus=where).values_list("date", flat=True)
    data = {
        "sessions": build.sessions,
        "students": build.students,
        "tasks": build.tasks,
        "items": _item_rows(items, as_of, where),
        "pace": "class",  # the tasks of a class at its own pace bear no target
        "closed": [day.isoformat() for day in closed],
    }
    return Basis(
        data=data,
        case=read_case(data),
        as_of=as_of,
        campus=where,
        classes=tuple(classes),
        items=items,
        packs=packs,
        tasks=build.task_names,
        students=build.student_names,
        needs=build.needs,
        problems=tuple(build.problems),
        mondays=_mondays(classes),
        digest=_digest(data),
    )


def _mondays(classes: Sequence[ShopClass]) -> tuple[date, ...]:
    days = ShopSession.objects.filter(shop_class__in=classes).values_list("date", flat=True)
    return tuple(sorted({day - timedelta(days=day.weekday()) for day in days}))


def with_data(basis: Basis, data: dict[str, Any]) -> Basis:
    """Return the same basis with another case, for what would be if."""
    return replace(basis, data=data, case=read_case(data), digest=_digest(data))


def default_pack(item: StockItem) -> Pack | None:
    """Return the pack an item is bought in by default; reads `item.packs.all()`."""
    return next(
        iter(
            sorted(
                (pack for pack in item.packs.all() if pack.is_active),
                key=lambda pack: (not pack.preferred, pack.name),
            )
        ),
        None,
    )


def _digest(data: Mapping[str, Any]) -> str:
    return sha256(json.dumps(data, sort_keys=True, default=str).encode()).hexdigest()


class _Build:
    """Collects the rows of a case, class by class."""

    def __init__(
        self, campus: Campus, shelves: Sequence[Shelf], items: Mapping[str, StockItem]
    ) -> None:
        self.campus, self.shelves, self.items = campus, shelves, items
        self.booths = Booth.objects.filter(campus=campus, is_down=False).count()
        self.sessions: list[dict[str, Any]] = []
        self.students: list[dict[str, Any]] = []
        self.tasks: list[dict[str, Any]] = []
        self.task_names: dict[str, TaskName] = {}
        self.student_names: dict[str, str] = {}
        self.needs: dict[str, Need] = {}
        self.problems: list[Problem] = []
        self._uses: dict[tuple[int, str], list[dict[str, Any]]] = {}

    def add(self, shop_class: ShopClass, as_of: date, *, alone: bool) -> None:
        """Add the sessions after `as_of`, the tasks and the students of one class."""
        group = "" if alone else str(shop_class.pk)
        before = "" if alone else f"{group}:"
        coming = shop_class.sessions.filter(state=ShopSession.State.PLANNED, date__gt=as_of)
        self.sessions += [
            {"date": day, "minutes": minutes, "booths": self.booths, "group": group}
            for day, minutes in coming.values_list("date", "net_minutes")
        ]
        planned = planned_tasks(shop_class)
        specs = _specs({one.version_id for one in planned})
        targets = self._targets(shop_class, {one.exercise_id for one in planned})
        judged = first_coupons(self.campus, {one.exercise_id for one in planned})
        named: dict[Key, str] = {}
        for one in planned:
            spec = specs[one.version_id]
            key = one.task.setup_key
            if all(setup.key != key for setup in spec.setups):
                text = _("The newest version has no such setup; take it out of the plan.")
                self.problems.append(Problem(f"{one.number}/{key}", text))
                continue
            name = f"{before}{one.number}/{key}"
            passes, fails = judged.get(one.key, (0, 0))
            target = targets.get(one.exercise_id)
            named[one.key] = name
            self.task_names[name] = TaskName(
                number=one.number,
                key=key,
                title=spec.title,
                version_id=one.version_id,
                class_id=shop_class.pk,
                class_name=shop_class.name,
            )
            self.tasks.append(
                {
                    "id": name,
                    "group": group,
                    "difficulty": "" if alone else f"{one.number}/{key}",
                    "minutes": spec.minutes,
                    "practice_minutes": spec.practice_minutes,
                    "first_pass": spec.first_pass,
                    "weight": shop_class.opinion_weight,
                    "passes": passes,
                    "fails": fails,
                    "redo_odds": shop_class.redo_odds,
                    "cap": shop_class.attempt_cap,
                    "target": target if shop_class.pace == ShopClass.Pace.CLASS else None,
                    "uses": self._uses_of(one.version_id, spec, key),
                }
            )
        states = standings(shop_class, tasks=planned)
        enrolled = shop_class.enrolments.select_related("student").filter(student__erased_at=None)
        for row in enrolled:
            if row.left is not None and row.left <= as_of:
                continue
            found = states.get(row.student_id, {}).items()
            name = f"{before}{row.code}"
            own = shop_class.attendance if row.attendance is None else row.attendance
            self.student_names[name] = row.student.name
            self.students.append(
                {
                    "id": name,
                    "group": group,
                    "attendance": own,
                    "from": row.joined,
                    "until": row.left,
                    **_standing({named[key]: one for key, one in found if key in named}),
                }
            )

    def _targets(self, shop_class: ShopClass, planned: set[int]) -> dict[int, date | None]:
        """Return the target days by exercise, and note the entries that have nothing to weld."""
        rows = PlanEntry.objects.filter(shop_class=shop_class).values_list(
            "exercise_id", "exercise__number", "target_session__date"
        )
        targets: dict[int, date | None] = {}
        for exercise, number, day in rows:
            targets[exercise] = day
            if exercise not in planned:
                text = _("No version of it is published, so it has no figures yet.")
                self.problems.append(Problem(number, text))
        return targets

    def _uses_of(self, version: int, spec: Spec, key: str) -> list[dict[str, Any]]:
        if (version, key) not in self._uses:
            setup = next(one for one in spec.setups if one.key == key)
            try:
                found = needs_of(usage(spec, setup), self.shelves)
            except UsageError as error:
                found = []
                self.problems.append(Problem(f"{spec.number}/{key}", error.message))
            self.needs.update((need.item, need) for need in found if not need.matched)
            self._uses[version, key] = [
                {
                    "item": need.item,
                    "quantity": need.quantity,
                    "cv": spread(need.kind, self._use_cv(need)),
                    "practice": practice(need, setup.practice_pieces or 0),
                }
                for need in found
            ]
        return self._uses[version, key]

    def _use_cv(self, need: Need) -> float:
        item = self.items.get(need.item) if need.matched else None
        return min(item.use_cv, CV_MAX) if item else 0.0


def _standing(stands: Mapping[str, Standing]) -> dict[str, Any]:
    """Return what a student's standings say to a case."""
    redos = {task: one.redos for task, one in stands.items() if one.redos and not one.is_done}
    return {
        "passed": [task for task, one in stands.items() if one.is_done],
        "awaiting": [task for task, one in stands.items() if one.state == TO_BE_JUDGED],
        "attempts": redos,
    }


def _specs(versions: set[int]) -> dict[int, Spec]:
    rows = ExerciseVersion.objects.with_content().filter(pk__in=versions)
    return {row.pk: to_spec(row) for row in rows}


def first_coupons(
    campus: Campus, exercises: set[int] | None = None
) -> dict[tuple[int, str], tuple[int, int]]:
    """Return passes and fails of first coupons at a campus, by exercise and setup.

    The first coupon of a student in a class that was not void, once it is judged; leavers and
    older versions count. One query.
    """
    last = Verdict.objects.filter(attempt=OuterRef("pk")).order_by("-pk").values("kind")[:1]
    rows = Attempt.objects.filter(shop_class__campus=campus).exclude(state=Attempt.State.VOID)
    if exercises is not None:
        rows = rows.filter(assignment__exercise__in=exercises)
    seen: set[tuple[int, int, int, str]] = set()
    counts: dict[tuple[int, str], list[int]] = defaultdict(lambda: [0, 0])
    for shop_class, student, exercise, key, state, verdict in (
        rows.annotate(last_verdict=Subquery(last))
        .order_by("started_at", "pk")
        .values_list(
            "shop_class_id",
            "student_id",
            "assignment__exercise_id",
            "assignment__setup_key",
            "state",
            "last_verdict",
        )
    ):
        who = (shop_class, student, exercise, key)
        if who in seen or verdict == Verdict.Kind.VOID:
            continue
        seen.add(who)
        if state == Attempt.State.JUDGED and verdict in (Verdict.Kind.PASS, Verdict.Kind.REDO):
            counts[exercise, key][verdict == Verdict.Kind.REDO] += 1
    return {task: (passes, fails) for task, (passes, fails) in counts.items()}


def on_order(campus: Campus, as_of: date) -> dict[int, list[tuple[date, int]]]:
    """Return what approved requisitions still bring: (day, base units), by item.

    A line brings what is ordered less what came as ordered; a day that has passed counts as
    `as_of`. Two queries.
    """
    lines = RequisitionLine.objects.filter(
        requisition__campus=campus, requisition__state=Requisition.State.APPROVED
    ).select_related("pack")
    came: dict[int, int] = defaultdict(int)
    for line, packs in ReceiptLine.objects.filter(
        line__requisition__campus=campus,
        line__requisition__state=Requisition.State.APPROVED,
        outcome=ReceiptLine.Outcome.RIGHT,
        reversed_at=None,
    ).values_list("line_id", "packs"):
        came[line] += packs
    found: dict[int, list[tuple[date, int]]] = defaultdict(list)
    for row in lines:
        left = row.packs - came[row.pk]
        if left > 0:
            day = max(row.expected or as_of, as_of)
            found[row.item_id].append((day, left * row.pack.size))
    return found


def _item_rows(items: Mapping[str, StockItem], as_of: date, campus: Campus) -> list[dict[str, Any]]:
    orders = on_order(campus, as_of)
    opened = left_open(items.values(), campus)
    rows = []
    for key, item in items.items():
        base = item.base_unit
        pack = default_pack(item)
        there = item.on_hand + sum(left for _pack, left in opened.get(item.pk, ()))
        row: dict[str, Any] = {
            "id": key,
            "unit": CASE_UNIT[base][0],
            # with what is left in open packs; in quarantine nothing may be used
            "on_hand": 0.0 if item.quarantined else in_case_unit(there, base),
            "on_order": [
                {"date": day, "quantity": in_case_unit(quantity, base)}
                for day, quantity in orders.get(item.pk, [])
            ],
            "factor": item.factor,
            "bias_cv": min(item.bias_cv, CV_MAX),
            "per_student_week": in_case_unit(item.per_student_week, base) / item.every_weeks,
        }
        if pack is not None:
            row |= {
                "pack": in_case_unit(pack.size, base),
                "price": str(pack.price),
                "lead_days": pack.lead_days,
                "approval_days": pack.approval_days,
                "delivery_days": _delivery_days(pack),
            }
        rows.append(row)
    return rows


def _delivery_days(pack: Pack) -> list[str]:
    days = pack.supplier.delivery_weekdays if pack.supplier else []
    return [WEEKDAYS[n] for n in days if n in range(7)]


_kept: OrderedDict[tuple[str, date, int, int], Forecast] = OrderedDict()
_lock = Lock()


def reckon(basis: Basis, *, runs: int = RUNS, seed: int = SEED) -> Forecast:
    """Return the forecast of a basis, from memory where this very case was asked before."""
    key = (basis.digest, basis.as_of, runs, seed)
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    found = forecast(basis.case, runs=runs, seed=seed, as_of=basis.as_of)
    with _lock:
        _kept[key] = found
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    return found
