"""The walk of a class through its plan: practise, weld, log, judge, once more or on to the next."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from curriculum.core.spec import Exercise, Setup
from curriculum.core.usage import rods_to_lay_out, usage
from curriculum.demo.classes import held_sessions, next_session
from curriculum.models import (
    Assignment,
    Attendance,
    Booth,
    Criterion,
    Enrolment,
    ExerciseVersion,
    Session,
    ShopClass,
)
from curriculum.models import Setup as SetupRow
from curriculum.services import to_spec
from grading.core import marks, verdict
from grading.demo.readings import invent, own_view
from grading.models import Attempt, Decision, HoldTap, PracticeLook, Reading, Verdict
from shared.demo import Scene
from shared.people.models import AuditEntry, User
from shared.units import Measure, Range, parse_range, show

CREDITED = ("KM", ("201", "1-4in"), "welds at work, shown on a scrap plate")
MOVED_ON = ("HM", ("401", "14ga"), "steady enough now, goes on with the class")
TRIES = 4  # coupons before that student is moved on
ON_PAPER = 3  # the session that a substitute ran from paper
FIT = 0.6  # an attempt is begun when this share of its minutes is left
LOOKED, OWN, VOID, OVERRULED, UNJUDGED, BEGUN = 0.3, 0.6, 0.02, 0.04, 0.45, 0.3
PACES = (1.7, 1.3, 1.05)  # of the sheet's travel speed, on the first coupon, the second, later ones
NOTES = (
    "",
    "Ran too fast at the end.",
    "Better after the second restart.",
    "Arc too long in the middle.",
    "Kept the beat this time.",
    "Started cold.",
)
LOOKS = (
    "Elbow on the bench, then straighter.",
    "Shorter arc.",
    "Ready for the first coupon.",
    "Watch the front edge of the puddle.",
    "Slow down at the start.",
)
VOID_REASONS = ("gas ran out", "wrong rod in the tube", "wire slipped in the feeder")
MILDER = "within the gauge's step of the limit, and the rest is clean"
STRICTER = "looked at again: the crater at the end is not filled"


@dataclass(frozen=True, slots=True)
class Task:
    """A required setup of the plan, as the first version has it."""

    exercise: Exercise
    setup: Setup
    setup_row: SetupRow
    criteria: dict[str, Criterion]
    exercise_id: int
    rods: float

    @property
    def key(self) -> tuple[str, str]:
        return self.exercise.number, self.setup.key

    def timed(self, coupon: int) -> Range | None:
        """Return the travel speed that was written down: too fast at first, as beginners are."""
        speed = self.setup.travel_speed
        if speed is None:
            return None
        told = show(Measure.of(speed.working * PACES[min(coupon, len(PACES)) - 1], "m/s"), digits=2)
        return parse_range(str(told), "speed")


@dataclass(slots=True)
class Student:
    """Where a student stands in the plan; `waits` while a coupon lies there to be judged."""

    enrolment: Enrolment
    skill: float
    at: int = 0
    practice: float = 0.0
    redos: int = 0
    assignment: Assignment | None = None
    coupons: dict[str, int] = field(default_factory=dict)  # coupons by exercise, for the mark
    waits: bool = False

    @property
    def code(self) -> str:
        return self.enrolment.code


def tasks_of(shop_class: ShopClass) -> list[Task]:
    """Return the plan's tasks in order, each with the first published version's rows."""
    versions = {
        row.exercise_id: row
        for row in ExerciseVersion.objects.with_content().filter(
            exercise__plan_entries__shop_class=shop_class, version=1
        )
    }
    found = []
    for entry in shop_class.plan_entries.order_by("position"):
        version = versions[entry.exercise_id]
        exercise = to_spec(version)
        criteria = {row.name: row for row in version.criteria.all()}
        for row, setup in zip(version.setups.all(), exercise.setups, strict=True):
            if setup.key in (entry.required_setups or [setup.key]):
                laid_out = rods_to_lay_out(usage(exercise, setup))
                rods = float(sum(one.count for one in laid_out))
                found.append(Task(exercise, setup, row, criteria, entry.exercise_id, rods))
    return found


class Term:
    """One class from its first session to the last one held."""

    def __init__(self, scene: Scene, shop_class: ShopClass) -> None:
        self.shop_class = shop_class
        self.zone = shop_class.campus.zone
        self.chance = scene.chance(f"results of {shop_class.name}")
        self.instructor: User = shop_class.teachings.get().instructor
        self.held = held_sessions(scene, shop_class)
        self.coming = next_session(scene, shop_class)
        self.tasks = tasks_of(shop_class)
        self.hardness = [self.chance.gauss(0, 0.3) for _task in self.tasks]
        self.students = {
            row.student_id: Student(row, self.chance.gauss(0, 0.5))
            for row in shop_class.enrolments.select_related("student").order_by("code")
        }
        self.booths = Booth.objects.filter(campus=shop_class.campus, is_down=False).count()
        self.assignments: list[Assignment] = []
        self.attempts: list[Attempt] = []
        self.rows: dict[type, list[Any]] = {
            model: [] for model in (HoldTap, Reading, Verdict, Decision, PracticeLook)
        }

    def run(self) -> None:
        """Walk, then store what came of it."""
        here: dict[int, set[int]] = {session.pk: set() for session in self.held}
        there = Attendance.objects.filter(session__in=self.held, present=True)
        for session_pk, student_pk in there.values_list("session", "student"):
            here[session_pk].add(student_pk)
        for session in self.held:
            present = [one for pk, one in self.students.items() if pk in here[session.pk]]
            minutes = session.net_minutes * min(1.0, self.booths / max(1, len(present)))
            for student in present:
                self.evening(student, session, minutes)
        for pk, student in self.students.items():
            self.go_on(student, was_here=pk in here[self.held[-1].pk])
        self.store()

    def moment(self, session: Session, share: float) -> datetime:
        """Return when a share of a session's booth time is over."""
        start = datetime.combine(session.date, session.start, tzinfo=self.zone)
        return start + timedelta(minutes=20 + round(share * session.net_minutes))

    def evening(self, student: Student, session: Session, minutes: float) -> None:
        """Let a student practise and weld as long as their booth time lasts."""
        left = minutes
        while left > 0 and student.at < len(self.tasks) and not student.waits:
            task = self.tasks[student.at]
            now = self.moment(session, 1 - left / minutes)
            if (student.code, task.key) == CREDITED[:2]:
                self.decide(student, task, Decision.Kind.CREDITED, CREDITED[2], now)
                continue
            assignment = student.assignment or self.assign(student, session, now)
            used = min(left, student.practice)
            student.practice -= used
            left -= used
            if used and self.chance.random() < LOOKED:
                self.rows[PracticeLook].append(
                    PracticeLook(
                        assignment=assignment,
                        session=session,
                        note=self.chance.choice(LOOKS),
                        by=self.instructor,
                        at=now + timedelta(minutes=5),
                    )
                )
            if student.practice > 0 or left < FIT * task.exercise.minutes:
                return
            begun = self.moment(session, 1 - left / minutes)
            left -= task.exercise.minutes
            ready = self.moment(session, min(1.0, 1 - left / minutes))
            attempt = self.begin(student, task, assignment, session, begun)
            student.waits = session == self.held[-1] and self.chance.random() < UNJUDGED
            self.log(student, task, attempt, ready)

    def go_on(self, student: Student, *, was_here: bool) -> None:
        """Give what is next where nothing is left to weld; here and there a coupon is half done."""
        last = self.held[-1]
        if student.waits:
            held = self.tasks[student.at].exercise.number
            following = self.tasks[student.at + 1 : student.at + 2]
            if not following or held in following[0].exercise.prerequisites:
                return
            student.assignment, student.at = None, student.at + 1
        if student.at >= len(self.tasks):
            return
        if student.assignment is None:
            self.assign(student, self.coming, self.moment(last, 1))
        elif was_here and student.practice <= 0 and self.chance.random() < BEGUN:
            task, now = self.tasks[student.at], self.moment(last, 0.95)
            self.begin(student, task, student.assignment, last, now)

    def assign(self, student: Student, session: Session, now: datetime) -> Assignment:
        """Give the task at which the student stands."""
        task = self.tasks[student.at]
        student.practice, student.redos = task.exercise.practice_minutes, 0
        student.assignment = Assignment(
            shop_class=self.shop_class,
            student=student.enrolment.student,
            exercise_id=task.exercise_id,
            setup_key=task.setup.key,
            session=session,
            assigned_by=self.instructor,
            assigned_at=now,
        )
        self.assignments.append(student.assignment)
        return student.assignment

    def close(self, student: Student, now: datetime) -> None:
        """Close what the student has open and go on to the next task."""
        if student.assignment is not None:
            student.assignment.state = Assignment.State.DONE
            student.assignment.closed_at = now
        student.assignment, student.at = None, student.at + 1

    def begin(
        self, student: Student, task: Task, given: Assignment, session: Session, now: datetime
    ) -> Attempt:
        """Start a coupon; the instructor looks at its first hold point."""
        exercise = task.exercise.number
        student.coupons[exercise] = student.coupons.get(exercise, 0) + 1
        attempt = Attempt(
            assignment=given,
            shop_class=self.shop_class,
            student=student.enrolment.student,
            setup=task.setup_row,
            session=session,
            number=1 + sum(one.assignment is given for one in self.attempts),
            mark=marks.mark(student.code, exercise, student.coupons[exercise]),
            started_at=now,
        )
        self.attempts.append(attempt)
        self.tap(attempt, task, 0, now + timedelta(minutes=6))
        return attempt

    def tap(self, attempt: Attempt, task: Task, position: int, now: datetime) -> None:
        """Let the instructor look at a hold point, where the exercise has one there."""
        for text in task.exercise.hold_points[position : position + 1]:
            self.rows[HoldTap].append(
                HoldTap(attempt=attempt, position=position, text=text, by=self.instructor, at=now)
            )

    def log(self, student: Student, task: Task, attempt: Attempt, now: datetime) -> None:
        """Hand the coupon in with settings and own readings, and judge it unless it waits."""
        passes = self.chance.random() < self.pass_chance(student, task)
        if (student.code, task.key) == MOVED_ON[:2]:
            passes = False
        taken = invent(
            task.exercise.criteria, task.setup.thickness.value, self.chance, passes=passes
        )
        attempt.state, attempt.logged_at = Attempt.State.LOGGED, now
        attempt.logged_on_paper = attempt.session == self.held[min(ON_PAPER, len(self.held) - 1)]
        attempt.used_current = self.dialled(task)
        attempt.used_travel_speed = task.timed(attempt.number)
        attempt.used_rods = self.used_rods(task)
        attempt.used_practice_pieces = task.setup.practice_pieces
        attempt.own_note = self.chance.choice(NOTES)
        for position in range(1, len(task.exercise.hold_points)):
            self.tap(attempt, task, position, now - timedelta(minutes=4))
        if self.chance.random() < OWN:
            seen = own_view(task.exercise.criteria, taken, self.chance)
            self.read(attempt, task, seen, student.enrolment.student, now)
        if not student.waits:
            self.judge(student, task, attempt, taken, now + timedelta(minutes=8))

    def pass_chance(self, student: Student, task: Task) -> float:
        """Return the chance of a pass: the library's, this student's skill, a redo's odds."""
        p = min(task.exercise.first_pass, 0.99)
        shift = student.skill + self.hardness[student.at]
        odds = p / (1 - p) * math.exp(shift) * self.shop_class.redo_odds**student.redos
        return odds / (1 + odds)

    def dialled(self, task: Task) -> Range | None:
        """Return the current that was set, within the sheet's range."""
        current = task.setup.current
        if current is None:
            return None
        low = current.low if current.low is not None else current.working
        high = current.high if current.high is not None else current.working
        return parse_range(f"{round(self.chance.uniform(low, high))} A", "current")

    def used_rods(self, task: Task) -> float | None:
        """Return the rods used, to a quarter; None where the process feeds a wire or nothing."""
        if not task.rods:
            return None
        return max(0.25, round(task.rods * self.chance.uniform(0.8, 1.2) * 4) / 4)

    def read(
        self,
        attempt: Attempt,
        task: Task,
        taken: dict[str, verdict.Reading],
        by: User,
        now: datetime,
    ) -> None:
        """Write the readings of one side."""
        for one in task.exercise.criteria:
            if (reading := taken.get(one.name)) is None:
                continue
            value = reading.value
            self.rows[Reading].append(
                Reading(
                    attempt=attempt,
                    criterion=task.criteria[one.name],
                    own=by == attempt.student,
                    value=value,
                    passed=reading.passed,
                    detail=dict(reading.detail),
                    typed="" if value is None else verdict.show_figure(one, value),
                    by=by,
                    at=now,
                )
            )

    def judge(
        self,
        student: Student,
        task: Task,
        attempt: Attempt,
        taken: dict[str, verdict.Reading],
        now: datetime,
    ) -> None:
        """Let the instructor measure, confirm the rubric or overrule it, and say what is next."""
        if self.chance.random() < VOID:
            attempt.state = Attempt.State.VOID
            reason = self.chance.choice(VOID_REASONS)
            thickness = task.setup.thickness.value
            nothing = verdict.judge(task.exercise.criteria, {}, thickness=thickness).verdict
            self.verdict(attempt, kind=Verdict.Kind.VOID, computed=nothing, reason=reason, at=now)
            return
        result = verdict.judge(task.exercise.criteria, taken, thickness=task.setup.thickness.value)
        kind, reason = Verdict.Kind(result.verdict), ""
        if self.chance.random() < OVERRULED:
            milder = kind == Verdict.Kind.REDO
            kind = Verdict.Kind.PASS if milder else Verdict.Kind.REDO
            reason = MILDER if milder else STRICTER
        attempt.state = Attempt.State.JUDGED
        self.read(attempt, task, taken, self.instructor, now)
        self.verdict(
            attempt,
            kind=kind,
            computed=result.verdict,
            score=result.score,
            why=str(result.why),
            cure="" if kind == Verdict.Kind.PASS else result.cure,
            reason=reason,
            at=now,
        )
        if kind == Verdict.Kind.PASS:
            self.close(student, now)
            return
        student.redos += 1
        cap = TRIES if (student.code, task.key) == MOVED_ON[:2] else self.shop_class.attempt_cap
        if student.redos >= cap:
            self.decide(student, task, Decision.Kind.MOVED_ON, MOVED_ON[2], now)

    def verdict(self, attempt: Attempt, **values: Any) -> None:
        self.rows[Verdict].append(Verdict(attempt=attempt, by=self.instructor, **values))

    def decide(
        self, student: Student, task: Task, kind: Decision.Kind, reason: str, now: datetime
    ) -> None:
        """Count a task as done without a passing coupon."""
        self.rows[Decision].append(
            Decision(
                shop_class=self.shop_class,
                student=student.enrolment.student,
                exercise_id=task.exercise_id,
                setup_key=task.setup.key,
                kind=kind,
                reason=reason,
                by=self.instructor,
                at=now,
            )
        )
        self.close(student, now)

    def store(self) -> None:
        """Write all rows, what others point at first."""
        given = [row.assigned_at for row in self.assignments]
        Assignment.objects.bulk_create(self.assignments)
        for row, moment in zip(self.assignments, given, strict=True):
            row.assigned_at = moment  # the field puts its own time when a row is made
        Assignment.objects.bulk_update(self.assignments, ["assigned_at"])
        Attempt.objects.bulk_create(self.attempts)
        for model, rows in self.rows.items():
            model.objects.bulk_create(rows)  # type: ignore[attr-defined]
        AuditEntry.objects.bulk_create(self.audited(row) for row in self.rows[Verdict])

    def audited(self, row: Verdict) -> AuditEntry:
        """Return the audit entry of a verdict, of the evening it was given."""
        return AuditEntry(
            campus=self.shop_class.campus,
            actor=row.by,
            action="grade.judged",
            target_type=Attempt._meta.label_lower,
            target_id=str(row.attempt_id),
            detail={"kind": row.kind, "computed": row.computed, "verdict": row.pk},
            at=row.at,
        )
