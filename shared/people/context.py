"""What every page's head shows."""

from datetime import timedelta
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation

from shared.people.models import Campus, Theme, Units, User
from shared.people.nav import entries_for

UNITS_COOKIE = "units"
THEME_COOKIE = "theme"


def units_of(request: HttpRequest) -> str:
    """Return "us" or "metric": the person's choice, this device's, or the campus's."""
    user = request.user
    own = user.units if user.is_authenticated else request.COOKIES.get(UNITS_COOKIE, "")
    if own in Units.values:
        return own
    campus = campus_of(request)
    return campus.default_units if campus else Units.US.value


def campus_of(request: HttpRequest) -> Campus | None:
    campus: Campus | None = getattr(request, "campus", None)
    tablet = getattr(request, "tablet", None)
    return campus or (tablet.campus if tablet else None)


def page_head(request: HttpRequest) -> dict[str, Any]:
    """Units, theme, lang, roles, nav, campus, campuses, tablet, tablet_session, invented."""
    user = getattr(request, "user", None)
    if user is None:  # an error before the session was read
        return {"units": Units.US.value, "lang": translation.get_language(), "nav": []}
    roles: frozenset[str] = getattr(request, "roles", frozenset())
    person = user if user.is_authenticated else None
    theme = person.theme if person else request.COOKIES.get(THEME_COOKIE, "")
    campus = campus_of(request)
    match = request.resolver_match
    return {
        "units": units_of(request),
        "theme": theme if theme in Theme.values else "",
        "lang": translation.get_language(),
        "languages": settings.LANGUAGES,
        "roles": roles,
        "nav": entries_for(roles, match.view_name if match else ""),
        "campus": campus,
        "campuses": Campus.objects.filter(pk__in=person.campus_ids)
        if person and len(person.campus_ids) > 1
        else [],
        "tablet": getattr(request, "tablet", None),
        "tablet_session": getattr(request, "pin_session", False),
        "idle_seconds": settings.TABLET_IDLE_MINUTES * 60,
        "invented": bool(campus and campus.invented),
    }


def remember(request: HttpRequest, answer: HttpResponse, chosen: dict[str, str]) -> None:
    """Keep units, theme or language with the person, else in cookies of this device."""
    user = request.user
    if isinstance(user, User):
        for name, value in chosen.items():
            setattr(user, name, value)
        user.save(update_fields=list(chosen))
        return
    cookies = {
        "units": UNITS_COOKIE,
        "theme": THEME_COOKIE,
        "language": settings.LANGUAGE_COOKIE_NAME,
    }
    for name, value in chosen.items():
        answer.set_cookie(
            cookies[name],
            value,
            max_age=timedelta(days=365),
            secure=settings.SESSION_COOKIE_SECURE,
            httponly=True,
            samesite="Lax",
        )
