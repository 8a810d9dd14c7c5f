"""Writes about people that touch more than one row."""

import secrets
from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.db import transaction
from django.utils import timezone

from shared.people import pins
from shared.people.audit import audit
from shared.people.models import Campus, Membership, PinTry, Role, Submission, User

SUBMISSIONS_KEPT = timedelta(days=7)
_PSEUDONYM_LETTERS = "BCDFGHJKLMNPQRSTVWXZ23456789"  # no vowels: no words by chance


class LastManager(Exception):
    """A campus would be left without anyone who may give roles."""


class NotErasable(Exception):
    """Only students are erased; who has another role gives it up first."""


def forget_old_submissions(person: User) -> None:
    """Drop the keys of forms sent so long ago that none of them is still waiting anywhere."""
    Submission.objects.filter(user=person, created__lt=timezone.now() - SUBMISSIONS_KEPT).delete()


def manages(by: User, person: User) -> bool:
    """Return whether `by` is manager wherever `person` belongs: else a password set at one
    campus would open another."""
    managed = {campus for campus, role in by.held if role == Role.MANAGER}
    return managed >= {*person.campus_ids, person.home_campus_id}


@transaction.atomic
def save_person(
    *,
    person: User | None,
    by: User | None,
    campus: Campus,
    name: str,
    sort_name: str = "",
    student_number: str = "",
    username: str = "",
    password: str = "",
    is_active: bool = True,
    roles: Iterable[str] = (),
) -> User:
    """Store a new person, or what changed of one, with the roles at `campus`; `by` None: a command.

    Raises LastManager if no active manager would be left at `campus`. An empty password leaves
    the one there is.
    """
    if person is None:
        person = User(home_campus=campus)
        person.set_unusable_password()
    before = {field: getattr(person, field) for field in _DETAILS}
    person.set_name(name, sort_name)
    person.student_number = student_number or None
    person.username = username.strip().casefold() or None
    person.is_active = is_active
    changed = [field for field in _DETAILS if getattr(person, field) != before[field]]
    if password:
        person.set_password(password)
        changed.append("password")
    action = "person.changed" if person.pk else "person.added"
    person.save()
    if changed:
        audit(by, action, person, campus=campus, detail={"fields": changed})
    _set_roles(person=person, by=by, campus=campus, roles=set(roles))
    _keep_a_manager(campus)
    return person


_DETAILS = ("name", "sort_name", "student_number", "username", "is_active")


@transaction.atomic
def set_roles(*, person: User, by: User, campus: Campus, roles: Iterable[str]) -> None:
    """Give `person` exactly `roles` at `campus`; raise LastManager as `save_person` does."""
    _set_roles(person=person, by=by, campus=campus, roles=set(roles))
    _keep_a_manager(campus)


def _set_roles(*, person: User, by: User | None, campus: Campus, roles: set[str]) -> None:
    Campus.objects.select_for_update().get(pk=campus.pk)  # one change of roles at a time
    held = Membership.objects.filter(user=person, campus=campus)
    before = set(held.values_list("role", flat=True))
    if before == roles:
        return
    held.exclude(role__in=roles).delete()
    Membership.objects.bulk_create(
        Membership(user=person, campus=campus, role=role) for role in sorted(roles - before)
    )
    person.forget_roles()
    detail = {"before": sorted(before), "after": sorted(roles)}
    audit(by, "roles.changed", person, campus=campus, detail=detail)


def _keep_a_manager(campus: Campus) -> None:
    if not User.objects.present().with_role(Role.MANAGER, campus).exists():
        raise LastManager


@transaction.atomic
def set_password(*, person: User, password: str, campus: Campus) -> None:
    """Store a password that the person chose; their other sessions end."""
    person.set_password(password)
    person.end_sessions()
    person.save(update_fields=["password", "session_stamp"])
    audit(person, "password.set", person, campus=campus)


@transaction.atomic
def new_pins(*, people: Iterable[User], by: User, campus: Campus) -> list[tuple[User, str]]:
    """Set a random PIN for each; return them, for they can be read nowhere afterwards."""
    made = []
    for person in people:
        pin = pins.new_pin()
        pins.set_pin(person=person, pin=pin, by=by, campus=campus)
        made.append((person, pin))
    return made


@transaction.atomic
def erase(*, person: User, by: User, campus: Campus) -> str:
    """Blank name, number, sign-in and PIN of a student, keep the history; return the pseudonym.

    Raises NotErasable for a person with another role than student.
    """
    person = User.objects.select_for_update().get(pk=person.pk)
    if person.roles - {Role.STUDENT.value}:
        raise NotErasable
    if person.erased_at:
        return person.name
    if person.username:
        _forget_sign_ins(person.username)
    pseudonym = "P-" + "".join(secrets.choice(_PSEUDONYM_LETTERS) for _ in range(6))
    person.set_name(pseudonym)
    person.username = person.student_number = person.pin_set_at = None
    person.pin_hash = person.units = person.theme = person.language = ""
    person.left_handed = person.is_active = False
    person.last_login = None
    person.set_unusable_password()
    person.end_sessions()
    person.erased_at = timezone.now()
    person.save()
    PinTry.objects.filter(user=person).delete()
    Submission.objects.filter(user=person).delete()  # the answers kept there may hold the name
    audit(by, "person.erased", person, campus=campus)
    return pseudonym


def _forget_sign_ins(username: str) -> None:
    logs: list[Any] = [AccessAttempt, AccessFailureLog, AccessLog]
    for log in logs:
        log.objects.filter(username=username).delete()
