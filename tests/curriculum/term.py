"""A class with its sessions, booths and short exercises, for the tests of plan and assigning."""

from dataclasses import dataclass
from datetime import time, timedelta
from uuid import uuid4

from django.test import Client
from django.urls import reverse

from curriculum.models import (
    Booth,
    Enrolment,
    Exercise,
    ExerciseVersion,
    PlanEntry,
    Prerequisite,
    Session,
    Setup,
    ShopClass,
    Teaching,
)
from shared.people.models import Role
from shared.units import parse_measure, parse_range
from tests.factories import CampusFactory, UserFactory


@dataclass
class Term:
    campus: object
    instructor: object
    shop_class: ShopClass
    sessions: list[Session]
    students: list


def published(campus, number, *needs, process="GTAW", keys=("14ga",), minutes=30.0, **fields):
    """An exercise with one published version; `needs` are exercises."""
    exercise = Exercise.objects.create(campus=campus, number=number)
    fields = {"title": f"Exercise {number}", "first_pass": 1.0, "process": process} | fields
    version = ExerciseVersion.objects.create(
        exercise=exercise, version=1, minutes=minutes, **fields
    )
    for position, key in enumerate(keys):
        Setup.objects.create(
            version=version,
            position=position,
            key=key,
            base_metal="low-carbon steel sheet",
            joint_kind="bead",
            thickness=parse_measure("1/8 in", "length"),
            weld_length=parse_measure("6 in", "length"),
            joint_bead_width=parse_range("3/8 in", "length"),
            joint_bead_height=parse_range("3/32 in", "length"),
        )
    for need in needs:
        Prerequisite.objects.create(version=version, exercise=need, kind="needs")
    version.state, version.reviewed_by = "published", "A. Reviewer"
    version.reviewed_on = campus.today()
    version.save()
    return exercise


def make_class(campus, *, name="Evening", students=0, sessions=0, instructor=None):
    """A class whose sessions lie a week apart, the first today."""
    today = campus.today()
    shop_class = ShopClass.objects.create(
        campus=campus, name=name, starts=today, ends=today + timedelta(days=120)
    )
    if instructor:
        Teaching.objects.create(shop_class=shop_class, instructor=instructor)
    Session.objects.bulk_create(
        Session(
            shop_class=shop_class,
            date=today + timedelta(weeks=n),
            start=time(18),
            end=time(21),
            net_minutes=130,
        )
        for n in range(sessions)
    )
    enrol(shop_class, students)
    return shop_class


def enrol(shop_class, count):
    """Put so many more students into a class."""
    start = shop_class.enrolments.count()
    for n in range(start, start + count):
        person = UserFactory(
            name=f"{shop_class.name} Student {n:02}",
            username=None,
            student_number=f"{shop_class.name}-{n:02}",
            home_campus=shop_class.campus,
            roles=[Role.STUDENT],
        )
        code = f"{chr(65 + n // 8)}{chr(74 + n % 8)}"
        Enrolment.objects.create(shop_class=shop_class, student=person, code=code)


def make_term(*, students=3, sessions=6, booths=2):
    campus = CampusFactory()
    instructor = UserFactory(name="Ines Vale", username="ines", roles=[Role.INSTRUCTOR])
    shop_class = make_class(campus, students=students, sessions=sessions, instructor=instructor)
    Booth.objects.bulk_create(
        Booth(campus=campus, name=f"B{n}", row=1, column=n, processes=["GTAW", "SMAW"])
        for n in range(1, booths + 1)
    )
    pupils = [row.student for row in shop_class.enrolments.select_related("student")]
    return Term(campus, instructor, shop_class, list(shop_class.sessions.all()), pupils)


def plan(term, *exercises, targets=()):
    """Put exercises into the plan, each beginning in the session of that place (None: none)."""
    wanted = [*targets, *[None] * (len(exercises) - len(targets))]
    return [
        PlanEntry.objects.create(
            shop_class=term.shop_class,
            exercise=exercise,
            position=position,
            target_session=None if target is None else term.sessions[target],
        )
        for position, (exercise, target) in enumerate(zip(exercises, wanted, strict=True))
    ]


def begins(term):
    """The number of the session (from 0) each exercise of the plan begins in, in plan order."""
    places = {session.pk: n for n, session in enumerate(term.sessions)}
    return [
        (row.exercise.number, places.get(row.target_session_id))
        for row in PlanEntry.objects.filter(shop_class=term.shop_class)
    ]


def signed_in(person):
    client = Client()
    client.force_login(person, "shared.people.backends.PasswordBackend")
    return client


def send(client, page, /, *args, key=None, htmx=False, **fields):
    """Post a form with its key."""
    headers = {"HX-Request": "true"} if htmx else {}
    data = {"submission_key": str(key or uuid4()), **fields}
    return client.post(reverse(f"curriculum:{page}", args=args), data, headers=headers)
