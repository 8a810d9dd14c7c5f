"""PINs: hashed, and limited per person and per tablet, never by address: a school shares one.

The limits are this shop's choice, not a published figure: five wrong PINs in a row of one person
lock that person's PIN for 5 minutes, the next time for 10, then for 15; twenty within a quarter
of an hour on one tablet lock the tablet in the same way.
"""

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil
from typing import Any

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from shared.people.audit import audit
from shared.people.models import Campus, PinTry, Tablet, User

LENGTHS = range(4, 9)
PERSON_LIMIT = 5
TABLET_LIMIT = 20
TABLET_WINDOW = timedelta(minutes=15)
LOCK_STEP = timedelta(minutes=5)
LOCK_STEPS_AT_MOST = 3
LOCKS_FORGOTTEN_AFTER = timedelta(hours=12)


class BadPin(ValueError):
    """A PIN that may not be set; the message says what is accepted."""


@dataclass
class PinLocked(Exception):
    """No more tries before `until`."""

    until: datetime


def locked_sentence(locked: PinLocked) -> str:
    """Return how long to wait, for the reader."""
    minutes = max(1, ceil((locked.until - timezone.now()).total_seconds() / 60))
    text = _("Too many wrong PINs. Try again in %(minutes)d min, or ask your instructor.")
    return text % {"minutes": minutes}


def check_new_pin(pin: str) -> None:
    """Raise BadPin unless `pin` has 4 to 8 digits and is not the first one anyone would try."""
    message: Promise | None = None
    if not (pin.isascii() and pin.isdigit()) or len(pin) not in LENGTHS:
        message = _("Enter 4 to 8 digits, such as 4072.")
    elif len(set(pin)) == 1 or pin in "01234567890" or pin in "09876543210":
        message = _("This PIN is too easy to guess. Choose digits that do not repeat or count up.")
    if message:
        raise BadPin(str(message))


def new_pin() -> str:
    """Return a random PIN of four digits that `check_new_pin` accepts."""
    while True:
        pin = f"{secrets.randbelow(10_000):04}"
        try:
            check_new_pin(pin)
        except BadPin:
            continue
        return pin


@transaction.atomic
def set_pin(*, person: User, pin: str, by: User, campus: Campus) -> None:
    """Store the PIN, lift the person's lock and end their PIN sessions."""
    check_new_pin(pin)
    person.set_pin(pin)
    person.end_sessions()
    person.save(update_fields=["pin_hash", "pin_set_at", "session_stamp"])
    PinTry.objects.filter(user=person).delete()
    audit(by, "pin.set", person, campus=campus)


def try_pin(*, person: User, tablet: Tablet, pin: str) -> bool:
    """Return whether `pin` is the person's; raise PinLocked if one of the two limits is reached.

    The try is counted before the PIN is looked at, so that tries sent at once count each.
    """
    now = timezone.now()
    with transaction.atomic():
        rows = [_row(tablet=tablet), _row(user=person)]  # always in this order: no deadlock
        for row in rows:
            if row.locked_until and row.locked_until > now:
                raise PinLocked(row.locked_until)
        of_tablet, of_person = rows
        for row in rows:
            if now - row.last_at > LOCKS_FORGOTTEN_AFTER:
                row.locks = row.wrong = 0
        _drain(of_tablet, now)
        locked_by_this = _count(of_tablet, TABLET_LIMIT, now)
        _count(of_person, PERSON_LIMIT, now)
    usable = bool(person.pin_hash) and person.is_active and person.erased_at is None
    if not usable:
        make_password(pin)  # as long as a wrong PIN takes
        return False
    if not check_password(pin, person.pin_hash):
        return False
    PinTry.objects.filter(user=person).delete()
    with transaction.atomic():
        row = _row(tablet=tablet)  # a right PIN was no try against the tablet
        if locked_by_this:
            row.locked_until, row.locks, row.wrong = None, row.locks - 1, TABLET_LIMIT - 1
        else:
            row.wrong = max(0, row.wrong - 1)
        row.save()
    return True


def _row(**owner: Any) -> PinTry:
    PinTry.objects.get_or_create(**owner)
    return PinTry.objects.select_for_update().get(**owner)


def _drain(row: PinTry, now: datetime) -> None:
    """Forget wrong PINs at the rate the tablet may take them: a busy shop mistypes all day."""
    each = TABLET_WINDOW / TABLET_LIMIT
    forgotten = int((now - row.last_at) / each)
    row.wrong = max(0, row.wrong - forgotten)
    row.last_at = row.last_at + forgotten * each if row.wrong else now


def _count(row: PinTry, limit: int, now: datetime) -> bool:
    """Count a try; return whether it locks the row."""
    row.wrong += 1
    if row.user_id:
        row.last_at = now
    locks = row.wrong >= limit
    if locks:
        row.locks += 1
        row.wrong = 0
        row.locked_until = now + LOCK_STEP * min(row.locks, LOCK_STEPS_AT_MOST)
    row.save()
    return locks
