"""People, classes with their sessions, booths, the library, the plan of the term."""

from __future__ import annotations

from dataclasses import replace
from datetime import time, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from curriculum.core.library import read_exercises
from curriculum.models import (
    Attendance,
    Booth,
    Closure,
    Enrolment,
    ExerciseVersion,
    Place,
    PlanEntry,
    Session,
    ShopClass,
    Signoff,
    Teaching,
)
from curriculum.services import publish, save_draft, to_spec
from curriculum.services.plan import suggest
from shared.people.models import Campus, Role, User
from tests.factories import PIN, UserFactory
from tests.world.rows import World

LIBRARY = Path(__file__).with_name("exercises.toml")


@cache
def contents() -> Any:
    contents, faults = read_exercises(LIBRARY.read_text(encoding="utf-8"))
    assert faults == []
    return contents


def make_people(campus: Campus, elsewhere: Campus) -> dict[str, User]:
    def one(name: str, role: Role, **more: Any) -> User:
        return UserFactory(name=name, roles=[role], **({"home_campus": campus} | more))

    def pupil(name: str, number: str, pin: str = PIN) -> User:
        return one(name, Role.STUDENT, username=None, student_number=number, pin=pin)

    return {
        "manager": one("Mara Quill", Role.MANAGER, username="mara"),
        "clerk": one("Colm Pell", Role.CLERK, username="colm"),
        "instructor": one("Ines Vale", Role.INSTRUCTOR, username="ines"),
        "other_instructor": one("Otto Brand", Role.INSTRUCTOR, username="otto"),
        "foreign_manager": one("Fay Lorn", Role.MANAGER, username="fay", home_campus=elsewhere),
        "student": pupil("Sol Reyes", "S-101"),
        "classmate": pupil("Bea Thorn", "S-102"),
        "third": pupil("Cy Moss", "S-103", pin=""),
        "other_student": pupil("Dov Marsh", "S-104"),
    }


def make_class(campus: Campus, name: str, instructor: User, pupils: dict[str, User]) -> ShopClass:
    today = campus.today()
    made = ShopClass.objects.create(
        campus=campus,
        name=name,
        starts=today - timedelta(days=28),
        ends=today + timedelta(days=63),
    )
    Teaching.objects.create(shop_class=made, instructor=instructor)
    Enrolment.objects.bulk_create(
        Enrolment(shop_class=made, student=person, code=code) for code, person in pupils.items()
    )
    return made


def make_sessions(shop_class: ShopClass) -> list[Session]:
    """One a week, four behind today's, eight ahead, of which one is lost."""
    today = shop_class.campus.today()
    return Session.objects.bulk_create(
        Session(
            shop_class=shop_class,
            date=today + timedelta(weeks=week),
            start=time(0, 0) if week == 0 else time(18, 0),
            end=time(23, 59) if week == 0 else time(21, 0),
            net_minutes=130,
            state=Session.State.LOST if week == 8 else Session.State.PLANNED,
        )
        for week in range(-4, 9)
    )


def make_booths(campus: Campus) -> list[Booth]:
    return Booth.objects.bulk_create(
        Booth(
            campus=campus,
            name=str(n),
            row=1,
            column=n,
            processes=["SMAW", "GTAW"] if n < 4 else ["SMAW"],
            is_down=n == 4,
        )
        for n in range(1, 5)
    )


def make_plan(world: World) -> None:
    world.closure = Closure.objects.create(
        campus=world.campus, date=world.today.date + timedelta(days=10), label="inspection"
    )
    for position, (number, session) in enumerate((("11", 11), ("12", 11), ("14", 11))):
        world.entries.append(
            PlanEntry.objects.create(
                shop_class=world.shop_class,
                exercise=world.versions[number].exercise,
                position=position,
                target_session=world.sessions[session],
            )
        )
    world.spare = world.versions["15"]
    suggest(shop_class=world.shop_class, today=world.today.date, by=world.instructor)
    PlanEntry.objects.filter(pk=world.entries[2].pk).update(target_session=world.sessions[11])
    PlanEntry.objects.create(
        shop_class=world.other_class, exercise=world.versions["11"].exercise, position=0
    )
    for person, booth in ((world.student, 0), (world.classmate, 1)):
        Place.objects.create(session=world.today, student=person, booth=world.booths[booth])
        Attendance.objects.create(session=world.today, student=person, present=True)
    Signoff.objects.create(
        campus=world.campus,
        student=world.student,
        name="arc welding",
        given_by=world.instructor,
        given_on=world.shop_class.starts,
    )


def correct(world: World) -> None:
    """Publish a second version of 12 while the student's coupon of the first is open."""
    newest = ExerciseVersion.objects.with_content().get(pk=world.versions["12"].pk)
    content = to_spec(newest)
    content = replace(content, steps=(*content.steps, "Let it cool before turning it over."))
    world.corrected = save_draft(campus=world.campus, content=content, by=world.instructor)
    publish(
        version=world.corrected,
        reviewed_by="Q. Sample",
        reviewed_on=world.today.date,
        by=world.instructor,
    )
