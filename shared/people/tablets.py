"""Enrolled shop tablets: a random token in a signed cookie, its hash in the database."""

import hashlib
import secrets
from datetime import timedelta

from django.conf import settings
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from shared.people.audit import audit
from shared.people.models import Campus, Tablet, User

COOKIE = "tablet"
_SALT = "shared.people.tablets"
_AGE = timedelta(days=730)


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()  # 256 random bits need no slow hash


@transaction.atomic
def enrol(*, campus: Campus, name: str, by: User) -> tuple[Tablet, str]:
    """Store a tablet; return it with its token, which is nowhere kept but in the cookie."""
    token = secrets.token_urlsafe(32)
    tablet = Tablet.objects.create(
        campus=campus, name=name, token_hash=_hash(token), enrolled_by=by
    )
    audit(by, "tablet.enrolled", tablet, campus=campus)
    return tablet, token


@transaction.atomic
def revoke(*, tablet: Tablet, by: User) -> bool:
    """Take the tablet's rights away; its sessions end at their next request."""
    done = Tablet.objects.filter(pk=tablet.pk, revoked_at=None).update(revoked_at=timezone.now())
    if done:
        audit(by, "tablet.revoked", tablet, campus=tablet.campus)
    return bool(done)


def set_cookie(response: HttpResponse, token: str) -> None:
    response.set_signed_cookie(
        COOKIE,
        token,
        salt=_SALT,
        max_age=_AGE,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def tablet_of(request: HttpRequest) -> Tablet | None:
    """Return the enrolled, unrevoked tablet that the request comes from."""
    token = request.get_signed_cookie(COOKIE, default=None, salt=_SALT, max_age=_AGE)
    if not token:
        return None
    return (
        Tablet.objects.select_related("campus")
        .filter(token_hash=_hash(token), revoked_at=None)
        .first()
    )
