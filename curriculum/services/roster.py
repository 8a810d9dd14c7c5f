"""The roster of a class: what a file would change, and changing it, whole or not at all."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from curriculum.core.codes import class_codes
from curriculum.core.roster import (
    Comparison,
    Roster,
    RowFault,
    Student,
    added_in_order,
    compare,
    read_roster,
)
from curriculum.models import Enrolment, ShopClass
from shared.http import read_upload
from shared.people.audit import audit
from shared.people.models import Membership, Role, User

if TYPE_CHECKING:
    from datetime import date

ENROLMENT_FIELDS = ("group", "joined", "left", "attendance")
NAME_FIELDS = ("name", "sort_name", "search_name")


class RosterRefused(Exception):
    """The file has faults, so nothing of it was stored."""

    def __init__(self, faults: tuple[RowFault, ...]) -> None:
        super().__init__(f"{len(faults)} faults")
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Preview:
    """What the file says, and what loading it would change in the class."""

    roster: Roster
    comparison: Comparison


def read_table(data: bytes) -> Roster:
    """Read a roster file; raise `UploadRefused` where it is no table at all."""
    return read_roster((row.line, row) for row in read_upload(io.BytesIO(data)))


def preview(*, shop_class: ShopClass, data: bytes, whole: bool, today: date) -> Preview:
    """Say what `load` would do; store nothing. Raises `UploadRefused`."""
    roster = read_table(data)
    there = {row.student.student_number or "": _student(row) for row in _enrolments(shop_class)}
    return Preview(roster, compare(roster, there, whole=whole, today=today))


@transaction.atomic
def load(
    *, shop_class: ShopClass, data: bytes, whole: bool, today: date, by: User | None
) -> Comparison:
    """Bring the class into the state that the file names; raise `RosterRefused` or `UploadRefused`.

    A number that the campus knows is that person, whatever the name; who leaves stays enrolled
    with the day. New students get a code for their coupon marks that nobody in the class has.
    """
    ShopClass.objects.select_for_update().get(pk=shop_class.pk)  # one roster at a time
    found = preview(shop_class=shop_class, data=data, whole=whole, today=today)
    if found.roster.faults:
        raise RosterRefused(found.roster.faults)
    change = found.comparison
    _change(shop_class, change)
    _add(shop_class, added_in_order(change.added))
    numbers = [one.number for one in change.left]
    shop_class.enrolments.filter(student__student_number__in=numbers).update(left=today)
    if change.added or change.changed or change.left:
        detail = {
            "added": len(change.added),
            "changed": len(change.changed),
            "left": len(change.left),
        }
        audit(by, "roster.loaded", shop_class, campus=shop_class.campus, detail=detail)
    return change


def _enrolments(shop_class: ShopClass) -> list[Enrolment]:
    """Return those with a number; an erased student has none and no file names them again."""
    known = shop_class.enrolments.filter(student__student_number__isnull=False)
    return list(known.select_related("student"))


def _student(row: Enrolment) -> Student:
    person = row.student
    return Student(
        number=person.student_number or "",
        name=person.name,
        sort_name=person.sort_name,
        group=row.group,
        joined=row.joined,
        left=row.left,
        attendance=row.attendance,
    )


def _change(shop_class: ShopClass, change: Comparison) -> None:
    rows = {row.student.student_number: row for row in _enrolments(shop_class)}
    people, enrolments = [], []
    for one in change.changed:
        row = rows[one.student.number]
        if {"name", "sort_name"} & {*one.fields}:
            row.student.set_name(one.student.name, one.student.sort_name)
            people.append(row.student)
        for name in ENROLMENT_FIELDS:
            setattr(row, name, getattr(one.student, name))
        enrolments.append(row)
    User.objects.bulk_update(people, NAME_FIELDS)
    Enrolment.objects.bulk_update(enrolments, ENROLMENT_FIELDS)


def _add(shop_class: ShopClass, students: list[Student]) -> None:
    campus = shop_class.campus
    numbers = [one.number for one in students]
    known = {
        person.student_number: person
        for person in User.objects.filter(home_campus=campus, student_number__in=numbers)
    }
    new, renamed = [], []
    for one in students:
        person = known.get(one.number)
        if person is None:
            person = User(home_campus=campus, student_number=one.number)
            person.set_name(one.name, one.sort_name)
            person.set_unusable_password()
            new.append(person)
        elif person.name != one.name or one.sort_name not in ("", person.sort_name):
            person.set_name(one.name, one.sort_name)
            renamed.append(person)
    User.objects.bulk_update(renamed, NAME_FIELDS)
    known |= {person.student_number: person for person in User.objects.bulk_create(new)}
    members = set(
        Membership.objects.filter(
            campus=campus, role=Role.STUDENT, user__in=known.values()
        ).values_list("user", flat=True)
    )
    Membership.objects.bulk_create(
        Membership(user=person, campus=campus, role=Role.STUDENT)
        for person in known.values()
        if person.pk not in members
    )
    taken = list(shop_class.enrolments.values_list("code", flat=True))
    codes = class_codes([one.name for one in students], taken)
    Enrolment.objects.bulk_create(
        Enrolment(
            shop_class=shop_class,
            student=known[one.number],
            code=code,
            group=one.group,
            joined=one.joined,
            left=one.left,
            attendance=one.attendance,
        )
        for one, code in zip(students, codes, strict=True)
    )
