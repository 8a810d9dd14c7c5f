"""A small shop for tests of grading: a class that meets today, exercises, students, booths."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from curriculum.core import spec
from curriculum.models import (
    Assignment,
    Booth,
    Enrolment,
    Exercise,
    ExerciseVersion,
    Place,
    PlanEntry,
    Session,
    ShopClass,
    Teaching,
)
from curriculum.services import publish, save_draft
from grading.core.marks import class_codes
from grading.models import Attempt, Verdict
from grading.services import log_attempt, start_attempt
from shared.people.models import Campus, Role, User
from shared.units import parse_measure
from tests.curriculum.core.setups import length, setup
from tests.factories import CampusFactory, UserFactory

HOLDS = ("tack-up", "root pass")


def criteria() -> tuple[spec.Criterion, ...]:
    """One criterion of each kind, with limits of an invented shop."""
    return (
        spec.Criterion(
            name="leg",
            kind="measured",
            unit="in",
            min=parse_measure("5/16 in", "length"),
            max=parse_measure("3/8 in", "length"),
            step=parse_measure("1/32 in", "length"),
            mandatory=True,
            tool="fillet gauge",
            cure="Slow down, watch both toes.",
        ),
        spec.Criterion(name="profile", kind="gauge", tool="fillet gauge"),
        spec.Criterion(
            name="fused",
            kind="share",
            unit="%",
            min=parse_measure("95 %", "fraction"),
        ),
        spec.Criterion(name="looks", kind="judged", unit="0-4"),
        spec.Criterion(name="pores", kind="counted", max=parse_measure("2", "count")),
        spec.Criterion(name="bend", kind="bend", unit="in"),
    )


def tee(key: str = "3-8in", thickness: str = "3/8 in") -> spec.Setup:
    """A tee fillet of three covered electrode passes, with its blanks."""
    made = setup(
        "tee fillet",
        thickness,
        passes=3,
        amps="120 A, 115 to 135",
        electrode=("E7018", "1/8 in"),
        polarity="DCEP",
        leg="3/8 in",
    )
    blank = spec.Piece(
        name="plate", count=2, thickness=length(thickness), width=length("3 in"),
        length=length("6 in"), form="plate",
    )  # fmt: skip
    return replace(made, key=key, weld_length=length("6 in"), pieces=(blank,))


def exercise(
    number: str = "23", *, keys: tuple[str, ...] = ("3-8in",), **more: Any
) -> spec.Exercise:
    values: dict[str, Any] = {
        "title": "Tee, three passes",
        "process": "SMAW",
        "iso4063": "111",
        "position": "2F",
        "first_pass": 0.5,
        "minutes": 30,
        "practice_minutes": 20,
        "hold_points": HOLDS,
        "steps": ("tack both ends", "weld in order"),
        "criteria": criteria(),
        "setups": tuple(tee(key) for key in keys),
    }
    return spec.Exercise(number=number, **(values | more))


def put(campus: Campus, content: spec.Exercise) -> ExerciseVersion:
    """Write a version of an exercise and publish it."""
    version = save_draft(campus=campus, content=content, by=None)
    publish(version=version, reviewed_by="R. Example", reviewed_on=date(2026, 1, 12), by=None)
    return version


@dataclass
class Shop:
    """Today's class with its people; `given` are the students' assignments in their order."""

    shop_class: ShopClass
    instructor: User
    students: list[User]
    session: Session
    versions: dict[str, ExerciseVersion]
    given: list[Assignment] = field(default_factory=list)

    @property
    def campus(self) -> Campus:
        return self.shop_class.campus

    @property
    def now(self) -> datetime:
        """An hour into today's session."""
        local = datetime.combine(self.session.date, self.session.start, tzinfo=self.campus.zone)
        return local + timedelta(hours=1)

    def assign(self, student: User, number: str = "23", key: str = "3-8in") -> Assignment:
        one = Assignment.objects.create(
            shop_class=self.shop_class,
            student=student,
            exercise=Exercise.objects.get(campus=self.campus, number=number),
            setup_key=key,
            assigned_by=self.instructor,
        )
        self.given.append(one)
        return one

    def coupon(self, assignment: Assignment, kind: str = "", **verdict: Any) -> Attempt:
        """A started coupon; with `kind` handed in and judged so ("logged": handed in alone)."""
        attempt = start_attempt(assignment=assignment, by=assignment.student, now=self.now)
        if not kind:
            return attempt
        attempt = log_attempt(attempt=attempt, by=assignment.student, now=self.now)
        if kind != "logged":
            attempt.state = Attempt.State.VOID if kind == "void" else Attempt.State.JUDGED
            attempt.save()
            Verdict.objects.create(
                attempt=attempt, kind=kind, by=self.instructor, at=self.now, **verdict
            )
        return attempt


def shop(
    students: int = 2,
    *,
    name: str = "Evening class",
    exercises: tuple[spec.Exercise, ...] = (),
    campus: Campus | None = None,
    give: bool = True,
) -> Shop:
    """Make a class of `students` that meets today; each has the first exercise's first setup."""
    campus = campus or CampusFactory()
    instructor = UserFactory(name=f"Teacher of {name}", home_campus=campus, roles=[Role.INSTRUCTOR])
    today = campus.today()
    shop_class = ShopClass.objects.create(
        campus=campus, name=name, starts=today - timedelta(30), ends=today + timedelta(30)
    )
    Teaching.objects.create(shop_class=shop_class, instructor=instructor)
    session = Session.objects.create(
        shop_class=shop_class, date=today, start=time(0, 0), end=time(23, 59), net_minutes=130
    )
    contents = exercises or (exercise(),)
    versions = {
        one.number: (
            ExerciseVersion.objects.newest_published()
            .filter(exercise__campus=campus, exercise__number=one.number)
            .first()
            or put(campus, one)
        )
        for one in contents
    }
    for position, one in enumerate(contents):
        PlanEntry.objects.create(
            shop_class=shop_class, exercise=versions[one.number].exercise, position=position
        )
    people = [
        UserFactory(name=f"{name} pupil {n:02}", home_campus=campus, roles=[Role.STUDENT])
        for n in range(1, students + 1)
    ]
    codes = class_codes([person.name for person in people])
    for person, code in zip(people, codes, strict=True):
        Enrolment.objects.create(shop_class=shop_class, student=person, code=code)
    made = Shop(shop_class, instructor, people, session, versions)
    if give:
        for person in people:
            made.assign(person, contents[0].number, contents[0].setups[0].key)
    return made


def booths(made: Shop, count: int) -> list[Booth]:
    """Stand booths in rows of four and put one student into each, in order."""
    rows = [
        Booth.objects.create(
            campus=made.campus,
            name=str(n + 1),
            row=n // 4 + 1,
            column=n % 4 + 1,
            processes=["SMAW"],
        )
        for n in range(count)
    ]
    for person, row in zip(made.students, rows, strict=False):
        Place.objects.create(session=made.session, student=person, booth=row)
    return rows
