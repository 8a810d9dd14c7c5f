"""What a student sees of today: the assignment, its coupon, how far it is, what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils import timezone
from django.utils.translation import gettext as _

from curriculum.models import (
    Assignment,
    Enrolment,
    ExerciseVersion,
    Place,
    Session,
    Setup,
    ShopClass,
)
from curriculum.services.sheet import sheet_context
from curriculum.services.signoffs import missing_signoffs
from grading.core.standing import Standing
from grading.models import Attempt, Verdict
from grading.services.attempts import newest_setup, next_mark, session_at
from grading.services.standing import Key, PlannedTask, next_for, planned_tasks, standings
from grading.services.verdicts import why_said

if TYPE_CHECKING:
    from datetime import datetime

    from shared.people.models import Campus, User


def work_state(running: Attempt | None) -> str:
    """Return how work is shown by its running coupon: open, working, or waiting to be judged."""
    if running is None:
        return "open"
    return "waiting" if running.state == Attempt.State.LOGGED else "working"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One tick on the way of a coupon; the current one is where the student stands."""

    word: str
    state: str
    note: str = ""
    is_current: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """An open assignment with the newest title of its exercise and its running coupon."""

    assignment: Assignment
    title: str
    process: str
    attempt: Attempt | None

    @property
    def state(self) -> str:
        return work_state(self.attempt)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """What comes next: its standing, and what it still needs besides the task at hand."""

    task: PlannedTask
    standing: Standing
    needs: tuple[str, ...]  # besides the exercise at hand
    after_this: bool  # the exercise at hand is one of its needs


def classes_of(student: User, campus: Campus) -> list[ShopClass]:
    """Return the classes of a campus that the student is in today."""
    enrolments = Enrolment.objects.present_on(campus.today()).filter(
        student=student, shop_class__campus=campus
    )
    return [row.shop_class for row in enrolments.select_related("shop_class__campus")]


def given_to(student: User, campus: Campus) -> list[Given]:
    """Return what the student has open at a campus: begun first, then the oldest. Three queries."""
    rows = list(
        Assignment.objects.open()
        .filter(student=student, shop_class__campus=campus)
        .select_related("exercise", "shop_class__campus", "session")
    )
    running = {
        row.assignment_id: row for row in Attempt.objects.running().filter(assignment__in=rows)
    }
    versions = {
        row.exercise_id: row
        for row in ExerciseVersion.objects.newest_published()
        .filter(exercise__in=[row.exercise_id for row in rows])
        .only("exercise_id", "title", "process")
    }
    found = [
        Given(
            assignment=row,
            title=versions[row.exercise_id].title if row.exercise_id in versions else "",
            process=versions[row.exercise_id].process if row.exercise_id in versions else "",
            attempt=running.get(row.pk),
        )
        for row in rows
    ]
    order = ("working", "open", "waiting")
    return sorted(found, key=lambda one: order.index(one.state))


def running_coupon(assignment: Assignment) -> Attempt | None:
    """Return the coupon that is welded now or waits for its verdict."""
    return (
        Attempt.objects.running()
        .filter(assignment=assignment)
        .select_related("setup")
        .prefetch_related("hold_taps__by")
        .first()
    )


def mark_to_stamp(assignment: Assignment, running: Attempt | None) -> str:
    """Return the running coupon's mark, else that of the next; empty where none can be given."""
    if running is not None:
        return running.mark
    code = Enrolment.objects.filter(
        shop_class=assignment.shop_class_id, student=assignment.student_id
    ).values_list("code", flat=True)
    taken = Attempt.objects.filter(
        shop_class=assignment.shop_class_id, student=assignment.student_id
    )
    marks = frozenset(taken.values_list("mark", flat=True))
    coupons = taken.filter(assignment__exercise=assignment.exercise_id).count()
    number = assignment.exercise.number
    try:
        return next_mark(code=code[0], number=number, coupons=coupons, taken=marks)
    except (IndexError, ValueError):
        return ""


def pinned_version(setup: Setup) -> ExerciseVersion:
    """Return the version of a setup with all that a sheet reads."""
    return ExerciseVersion.objects.with_content().get(pk=setup.version_id)


def today_context(*, given: Given, units: str, now: datetime) -> dict[str, Any]:
    """Return what the Today page shows of one assignment; `sheet` is None without a setup."""
    assignment = given.assignment
    student = assignment.student
    running = running_coupon(assignment)
    setup = running.setup if running else newest_setup(assignment)
    session = session_at(assignment.shop_class, now)
    last = last_judged(student, assignment.shop_class)
    context: dict[str, Any] = {
        "given": given,
        "assignment": assignment,
        "running": running,
        "session": session,
        "session_place": _place_in_term(session),
        "booth": Place.objects.filter(session=session, student=student)
        .values_list("booth__name", flat=True)
        .first()
        if session
        else None,
        "mark": mark_to_stamp(assignment, running),
        "coupon": running.number if running else assignment.attempts.count() + 1,
        "last": last,
        "last_why": why_said(last) if last else "",
        **coming(assignment),
    }
    if setup is None:
        return context | {"sheet": None}
    version = pinned_version(setup)
    sheet = sheet_context(
        version, setup.key, units=units, left_handed=student.left_handed, ident="today"
    )
    return context | {
        "sheet": sheet,
        **sheet,
        "steps": steps(version, running, assignment),
        "missing_signoffs": missing_signoffs(assignment.shop_class, [student], version)[student.pk],
    }


def _place_in_term(session: Session | None) -> tuple[int, int] | None:
    if session is None:
        return None
    dates = list(session.shop_class.sessions.values_list("pk", flat=True))
    return dates.index(session.pk) + 1, len(dates)


def steps(version: ExerciseVersion, running: Attempt | None, assignment: Assignment) -> list[Step]:
    """Return the way of a coupon: practise, each hold point, hand in."""
    taps = {tap.position: tap for tap in running.hold_taps.all()} if running else {}
    look = assignment.practice_looks.select_related("by").last() if running is None else None
    rows = [
        Step(
            word=_("Practise"),
            state="done" if running else "working",
            note=_("%(who)s looked") % {"who": look.by} if look else _practice(version),
        )
    ]
    handed_in = running is not None and running.state == Attempt.State.LOGGED
    for position, text in enumerate(version.hold_points):
        tap = taps.get(position)
        if tap:
            at = timezone.localtime(tap.at, version.exercise.campus.zone)
            note = f"{tap.by} {at:%H:%M}"
            rows.append(Step(word=text, state="done", note=note))
        else:
            note = _("not looked at") if handed_in else _("stop: instructor looks")
            rows.append(Step(word=text, state="hold", note=note))
    rows.append(
        Step(
            word=_("Hand in"),
            state="done" if handed_in else "not_done",
            note=_("to be judged") if handed_in else _("stamp the mark"),
        )
    )
    if handed_in:
        return rows
    here = next(n for n, row in enumerate(rows) if row.state != "done")
    return [
        Step(word=row.word, state=row.state, note=row.note, is_current=n == here)
        for n, row in enumerate(rows)
    ]


def _practice(version: ExerciseVersion) -> str:
    if not version.practice_minutes:
        return _("as long as you need")
    return _("about %(minutes).0f min") % {"minutes": version.practice_minutes}


def last_judged(student: User, shop_class: ShopClass) -> Verdict | None:
    """Return the newest verdict on a coupon of the student in a class, the one that counts."""
    return (
        Verdict.objects.filter(attempt__student=student, attempt__shop_class=shop_class)
        .select_related("attempt", "by")
        .order_by("-attempt__started_at", "-attempt__pk", "-pk")
        .first()
    )


def coming(assignment: Assignment) -> dict[str, Any]:
    """Return `coming`: the first task after the one at hand that is not done, or None."""
    student, shop_class = assignment.student_id, assignment.shop_class
    plan = planned_tasks(shop_class)
    states = standings(shop_class, students=[student], tasks=plan).get(student, {})
    here: Key = (assignment.exercise_id, assignment.setup_key)
    number = assignment.exercise.number
    keys = [task.key for task in plan]
    behind = keys.index(here) + 1 if here in keys else 0
    if not states:
        return {"coming": None}
    for task in plan[behind:] + plan[:behind]:
        standing = states[task.key]
        if task.key == here or standing.is_done:
            continue
        needs = tuple(need for need in standing.missing if need != number)
        return {
            "coming": Coming(
                task=task, standing=standing, needs=needs, after_this=number in standing.missing
            )
        }
    return {"coming": None}


def could_be_next(student: User, campus: Campus) -> list[tuple[ShopClass, list[PlannedTask]]]:
    """Return for each class of today what the student may be given, at most three tasks each."""
    return [(one, next_for(student, one)[:3]) for one in classes_of(student, campus)]
