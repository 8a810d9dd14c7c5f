"""Booths, closures, two classes with their sessions, sign-offs, attendance and the term plan."""

from __future__ import annotations

from datetime import date, time, timedelta
from itertools import count, islice

from curriculum.models import (
    Attendance,
    Booth,
    BoothMachine,
    Closure,
    Enrolment,
    Exercise,
    PlanEntry,
    Session,
    ShopClass,
    Signoff,
    Teaching,
)
from shared.demo import Scene, demo_answer, demo_step
from shared.people.models import User
from shared.units import parse_measure

from .people import EVENING_STUDENTS, STARTER_STUDENTS, Invented

EVENING, STARTERS = "Evening welding", "Saturday starters"
SESSIONS, HELD = 28, 10
NET_MINUTES = 130
BOOTHS = (
    ("A", ("GTAW", "SMAW"), ("GTAW", "SMAW"), ("GTAW", "SMAW"), ("GTAW", "SMAW")),
    ("B", ("GTAW", "SMAW"), ("GTAW", "SMAW"), ("SMAW", "GMAW"), ("SMAW", "GMAW")),
    ("C", ("GMAW",), ("GMAW", "OFW"), ("OFW", "OFC"), ("OFW", "OFC")),
)
# Invented ratings of machines that are like those of many shops: rated output, duty, largest.
PLATES = {
    "GTAW": ("200 A", "60 %", "250 A"),
    "SMAW": ("250 A", "40 %", "300 A"),
    "GMAW": ("250 A", "60 %", "300 A"),
}
SMALL_PLATES = {  # by booth: two small machines, so that there is something to look at
    ("A4", "SMAW"): ("130 A", "20 %", "160 A"),
    ("C1", "GMAW"): ("140 A", "30 %", "180 A"),
}
PLAN: tuple[tuple[str, tuple[str, ...], int], ...] = (
    # exercise, required setups, the session in which it begins
    ("201", ("1-4in",), 1),
    ("301", ("10ga",), 1),
    ("101", ("14ga",), 1),
    ("102", ("14ga",), 4),
    ("401", ("14ga", "1-8in"), 4),
    ("202", ("3-8in",), 5),
    ("203", ("1-4in", "3-8in"), 10),
    ("302", ("14ga", "10ga"), 10),
    ("402", ("1-8in",), 14),
    ("403", ("14ga",), 16),
    ("205", ("3-8in",), 18),
    ("303", ("10ga",), 18),
    ("404", ("14ga", "1-8in"), 22),
    ("405", ("14ga",), 25),
    ("305", ("3-8in",), 25),
)
STARTER_PLAN = (("201", ("1-4in",), 1), ("101", ("14ga", "10ga"), 3), ("301", ("14ga",), 7))
SIGNOFFS = ("oxy-fuel", "arc welding", "grinder", "tungsten grinding")
CUTTERS = "A"  # the group that has learned to flame cut, too
LATE_STARTER, SELDOM_THERE = "SE", ("FS", "QW")


def evening_class(scene: Scene) -> ShopClass:
    """Return the class of 18."""
    return ShopClass.objects.get(campus=scene.campus, name=EVENING)


def both_classes(scene: Scene) -> list[ShopClass]:
    """Return the evening class and the starters."""
    classes = ShopClass.objects.filter(campus=scene.campus)
    return [classes.get(name=name) for name in (EVENING, STARTERS)]


def held_sessions(scene: Scene, shop_class: ShopClass) -> list[Session]:
    """Return the sessions that a class had in the shop before the scene's day."""
    held = shop_class.sessions.filter(state=Session.State.PLANNED, date__lt=scene.today)
    return list(held.order_by("date"))


def next_session(scene: Scene, shop_class: ShopClass) -> Session:
    """Return a class's session of the scene's day, or the first after it."""
    coming = shop_class.sessions.filter(state=Session.State.PLANNED, date__gte=scene.today)
    return coming.order_by("date")[0]


def session_days(today: date) -> tuple[list[date], list[date]]:
    """Return the evening class's 28 days, ten of them before `today`, and the closed ones.

    Monday and Wednesday where `today` is one of them, else Tuesday and Thursday, so that on most
    days there is shop tonight. Closed: one day a fortnight ago, one whole week to come.
    """
    weekdays = {0, 2} if today.weekday() in (0, 2) else {1, 3}

    def days(start: date, step: int) -> list[date]:
        found = (start + timedelta(days=step * n) for n in count())
        return list(islice((day for day in found if day.weekday() in weekdays), SESSIONS))

    before, after = days(today - timedelta(days=1), -1), days(today, 1)
    week_off = [day for day in after if 28 <= (day - today).days + today.weekday() < 35]
    closed = [before[4], *week_off]
    held = [day for day in before if day not in closed][:HELD]
    coming = [day for day in after if day not in closed][: SESSIONS - HELD]
    return sorted(held) + coming, closed


def _machine(booth: Booth, process: str) -> BoothMachine:
    rated, duty, largest = SMALL_PLATES.get((booth.name, process), PLATES[process])
    machine = BoothMachine(booth=booth, process=process)
    machine.rated_current = parse_measure(rated, "current")
    machine.duty = parse_measure(duty, "fraction")
    machine.largest_current = parse_measure(largest, "current")
    return machine


@demo_step("curriculum.booths", "Booths and closed days")
def booths(scene: Scene) -> None:
    """Make a floor plan of three rows, and the days without shop."""
    Booth.objects.bulk_create(
        Booth(
            campus=scene.campus,
            name=f"{letter}{column}",
            row=row,
            column=column,
            processes=list(processes),
        )
        for row, (letter, *line) in enumerate(BOOTHS, start=1)
        for column, processes in enumerate(line, start=1)
    )
    BoothMachine.objects.bulk_create(
        _machine(booth, process)
        for booth in scene.campus.booths.all()
        for process in booth.processes
        if process in PLATES
    )
    _days, closed = session_days(scene.today)
    labels = ["staff training", *("week off" for _ in closed[1:])]
    Closure.objects.bulk_create(
        Closure(campus=scene.campus, date=day, label=label)
        for day, label in zip(closed, labels, strict=True)
    )


def _class(
    scene: Scene, name: str, days: list[date], hours: tuple[int, int], net: int, teacher: str
) -> ShopClass:
    shop_class = ShopClass.objects.create(
        campus=scene.campus, name=name, starts=days[0], ends=days[-1]
    )
    Teaching.objects.create(shop_class=shop_class, instructor=scene.person(teacher))
    Session.objects.bulk_create(
        Session(
            shop_class=shop_class,
            date=day,
            start=time(hours[0]),
            end=time(hours[1]),
            net_minutes=net,
        )
        for day in days
    )
    return shop_class


def _enrol(scene: Scene, shop_class: ShopClass, students: tuple[Invented, ...]) -> None:
    people = {row.student_number: row for row in User.objects.filter(home_campus=scene.campus)}
    late = shop_class.starts + timedelta(days=14)
    Enrolment.objects.bulk_create(
        Enrolment(
            shop_class=shop_class,
            student=people[one.number],
            code=one.code,
            group="ABC"[n % 3],
            joined=late if one.code == LATE_STARTER else None,
            attendance=0.75 if one.code in SELDOM_THERE else None,
        )
        for n, one in enumerate(students)
    )


@demo_step("curriculum.classes", "Two classes with their sessions")
def classes(scene: Scene) -> None:
    """Make the evening class in mid-term, and a small class of another instructor."""
    days, _closed = session_days(scene.today)
    evening = _class(scene, EVENING, days, (18, 21), NET_MINUTES, "instructor")
    _enrol(scene, evening, EVENING_STUDENTS)
    sessions = evening.sessions.order_by("date")
    power_cut, films = sessions[5], sessions[HELD + 6]
    Session.objects.filter(pk=power_cut.pk).update(state=Session.State.LOST, note="power cut")
    Session.objects.filter(pk=films.pk).update(
        state=Session.State.THEORY, note="weld defects and how they are found"
    )
    saturday = scene.today + timedelta(days=(5 - scene.today.weekday()) % 7)
    saturdays = [saturday + timedelta(weeks=n) for n in range(-2, 8)]
    starters = _class(scene, STARTERS, saturdays, (9, 13), 170, "instructor2")
    _enrol(scene, starters, STARTER_STUDENTS)


@demo_step("curriculum.attendance", "Sign-offs and attendance")
def attendance(scene: Scene) -> None:
    """Give sign-offs in the first two sessions, and say who was there."""
    chance = scene.chance("attendance")
    for shop_class in both_classes(scene):
        instructor = shop_class.teachings.get().instructor
        enrolments = list(shop_class.enrolments.select_related("student"))
        held = held_sessions(scene, shop_class)
        first = [session.date for session in held[:2]]
        Signoff.objects.bulk_create(
            Signoff(
                campus=scene.campus,
                student=enrolment.student,
                name=name,
                given_by=instructor,
                given_on=max(enrolment.joined or first[0], first[min(n // 2, 1)]),
            )
            for enrolment in enrolments
            for n, name in enumerate((*SIGNOFFS, "flame cutting"))
            if name in SIGNOFFS or enrolment.group == CUTTERS
        )
        Attendance.objects.bulk_create(
            Attendance(
                session=session,
                student=enrolment.student,
                present=chance.random() < (enrolment.attendance or shop_class.attendance),
            )
            for session in held
            for enrolment in enrolments
            if enrolment.joined is None or enrolment.joined <= session.date
        )


@demo_step("curriculum.plan", "Term plans")
def plan(scene: Scene) -> None:
    """Write the evening class's plan and the starters' short one."""
    exercises = {row.number: row for row in Exercise.objects.filter(campus=scene.campus)}
    for name, entries in ((EVENING, PLAN), (STARTERS, STARTER_PLAN)):
        shop_class = ShopClass.objects.get(campus=scene.campus, name=name)
        sessions = list(shop_class.sessions.order_by("date"))
        PlanEntry.objects.bulk_create(
            PlanEntry(
                shop_class=shop_class,
                exercise=exercises[number],
                position=position,
                required_setups=list(setups),
                target_session=sessions[target - 1],
            )
            for position, (number, setups, target) in enumerate(entries)
        )


@demo_answer("class")
def class_name(scene: Scene) -> str:
    """Return the name of the class that the forecast is for."""
    return EVENING
