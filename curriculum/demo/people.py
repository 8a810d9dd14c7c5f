"""Campus and people of the demo; the names say that nobody is meant."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from django.contrib.auth.hashers import make_password
from django.utils import timezone
from django.utils.translation import gettext as _

from shared.demo import CAMPUS, ZONE, Scene, demo_report, demo_step
from shared.people.models import Campus, Membership, Role, User
from shared.people.pins import check_new_pin

PASSWORD = "invented-harbour"  # noqa: S105 - printed for whoever starts the demo
PIN = "4072"
STAFF = (
    ("instructor", "Wren Example", "Example, Wren", (Role.INSTRUCTOR,)),
    ("instructor2", "Dale Fictive", "Fictive, Dale", (Role.INSTRUCTOR,)),
    ("clerk", "Toni Noname", "Noname, Toni", (Role.CLERK,)),
    ("manager", "Max Makebelieve", "Makebelieve, Max", (Role.MANAGER, Role.INSTRUCTOR)),
)


class Invented(NamedTuple):
    """A student: the letters on the coupons, first name, last name."""

    code: str
    first: str
    last: str

    @property
    def number(self) -> str:
        """The student number at the invented campus."""
        return f"H-{self.code}"


EVENING_STUDENTS = (
    Invented("AP", "Amina", "Placeholder"),
    Invented("BS", "Bao", "Specimen"),
    Invented("CV", "Carmen", "Inventada"),
    Invented("DB", "Dmitri", "Beispiel"),
    Invented("EM", "Esi", "Madeup"),
    Invented("FS", "Farid", "Standin"),
    Invented("GN", "Grace", "Notreal"),
    Invented("HM", "Hiro", "Mockup"),
    Invented("NE", "Inés", "Ejemplo"),
    Invented("JP", "Jamal", "Pretend"),
    Invented("KM", "Kateryna", "Muster"),
    Invented("LF", "Lupe", "Ficticia"),
    Invented("MF", "Mateo", "Fulano"),
    Invented("NK", "Nkechi", "Imaginary"),
    Invented("PT", "Priya", "Template"),
    Invented("QW", "Quinn", "Whatsit"),
    Invented("RF", "Rosa", "Figment"),
    Invented("SE", "Sigrid", "Exempel"),
)
STARTER_STUDENTS = (
    Invented("TD", "Tariq", "Dummy"),
    Invented("UA", "Ulla", "Attrapp"),
    Invented("VN", "Vic", "Nonesuch"),
    Invented("WD", "Wanda", "Dreamt"),
    Invented("XA", "Xiu", "Abstract"),
    Invented("YP", "Yusuf", "Phantom"),
)
STUDENTS = EVENING_STUDENTS + STARTER_STUDENTS


@demo_step("curriculum.people", "Campus and people")
def people(scene: Scene) -> None:
    """Make the campus, its staff, and students who share one PIN, hashed once."""
    check_new_pin(PIN)
    campus = Campus.objects.create(
        name=CAMPUS, time_zone=ZONE, paper=Campus.Paper.LETTER, invented=True
    )
    password, pin, now = make_password(PASSWORD), make_password(PIN), timezone.now()
    rows = []
    for username, name, sort_name, _roles in STAFF:
        row = User(home_campus=campus, username=username, password=password)
        row.set_name(name, sort_name)
        rows.append(row)
    for one in STUDENTS:
        row = User(home_campus=campus, student_number=one.number, pin_hash=pin, pin_set_at=now)
        row.set_name(f"{one.first} {one.last}", f"{one.last}, {one.first}")
        row.set_unusable_password()
        rows.append(row)
    rows[len(STAFF)].username = "student"
    rows[len(STAFF)].password = password
    rows = User.objects.bulk_create(rows)
    Membership.objects.bulk_create(
        Membership(user=row, campus=campus, role=role)
        for row, (*_, roles) in zip(rows, STAFF, strict=False)
        for role in roles
    )
    Membership.objects.bulk_create(
        Membership(user=row, campus=campus, role=Role.STUDENT) for row in rows[len(STAFF) :]
    )


@demo_report("sign-ins")
def sign_ins(scene: Scene, answer: Mapping[str, Any]) -> str:
    """Say who can sign in, and how."""
    accounts = [(username, name, ", ".join(roles)) for username, name, _sort, roles in STAFF]
    first = EVENING_STUDENTS[0]
    accounts.append(("student", f"{first.first} {first.last}", Role.STUDENT))
    lines = [_("Sign in with the password %(password)s as") % {"password": PASSWORD}]
    lines += [f"  {username:<12} {name} ({roles})" for username, name, roles in accounts]
    lines += [
        _("Students sign in by name and PIN %(pin)s, on a browser that the manager has enrolled")
        % {"pin": PIN},
        _("as a shop tablet (People, Tablets). All names, figures and results are invented."),
    ]
    return "\n".join(lines)
