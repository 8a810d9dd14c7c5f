"""Ways to sign in: by password, or by PIN on an enrolled tablet."""

from typing import Any

from django.contrib.auth.backends import BaseBackend
from django.contrib.auth.hashers import make_password
from django.http import HttpRequest

from shared.people.models import Role, Tablet, User
from shared.people.pins import try_pin


class _PeopleBackend(BaseBackend):
    def get_user(self, user_id: int) -> User | None:
        return User.objects.present().select_related("home_campus").filter(pk=user_id).first()


class PasswordBackend(_PeopleBackend):
    def authenticate(
        self,
        request: HttpRequest | None,
        username: str | None = None,
        password: str | None = None,
        **_other: Any,
    ) -> User | None:
        if not username or password is None:
            return None
        person = User.objects.present().filter(username=username.strip().casefold()).first()
        if person is None:
            make_password(password)  # as long as a wrong password takes
            return None
        return person if person.check_password(password) else None


class PinBackend(_PeopleBackend):
    """Call it directly: django-axes counts by sign-in name and address, PINs have own limits."""

    def authenticate(
        self,
        request: HttpRequest | None,
        *,
        person: User | None = None,
        tablet: Tablet | None = None,
        pin: str | None = None,
        **_other: Any,
    ) -> User | None:
        """Return the student if the PIN is right; PinLocked when the limit is reached."""
        if person is None or tablet is None or pin is None:
            return None
        if not person.has_role(Role.STUDENT, tablet.campus):
            return None
        return person if try_pin(person=person, tablet=tablet, pin=pin) else None
