"""What holds for every page: nothing kept by a cache, idle sign-out, campus, language, zone."""

import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any, cast

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.utils import timezone, translation

from shared.people.access import AppRequest, settle
from shared.people.models import Tablet
from shared.people.tablets import COOKIE, tablet_of

SEEN_KEY = "seen"
PIN_KEY = "pin_tablet"
ENDED_KEY = "ended"
LEFT_KEY = "left_by"
SEEN_EVERY_SECONDS = 60


def signed_in_pages(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """End idle sessions and those of revoked tablets; let no page be kept.

    What passes here was made for somebody (static files were answered before), and the pages
    before sign-in name students too, so `no-store` stands on all of it.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        app_request = cast(AppRequest, request)
        app_request.tablet = _seen_tablet(request)
        app_request.pin_session = PIN_KEY in request.session
        if request.user.is_authenticated:
            reason = _ended(app_request)
            if reason:
                left_by = request.user.pk
                logout(request)
                request.session[ENDED_KEY] = reason
                request.session[LEFT_KEY] = left_by
                app_request.pin_session = False
        if not request.user.is_authenticated:
            response = get_response(request)
        else:
            person = app_request.user
            person.only_student = app_request.pin_session
            settle(request)
            if person.language:
                translation.activate(person.language)
                app_request.LANGUAGE_CODE = translation.get_language()
            with timezone.override(app_request.campus.zone):
                response = get_response(request)
        response.headers["Cache-Control"] = "no-store"
        return response

    return middleware


def _ended(request: AppRequest) -> str:
    """Return why this session is over, or nothing; note at most once a minute that it is not."""
    session: Any = request.session
    if request.pin_session and (
        request.tablet is None or request.tablet.pk != session.get(PIN_KEY)
    ):
        return "tablet"
    minutes = settings.TABLET_IDLE_MINUTES if request.pin_session else settings.IDLE_MINUTES
    now = int(time.time())
    seen = session.get(SEEN_KEY, now)
    if now - seen > minutes * 60:
        return "idle"
    if SEEN_KEY not in session or now - seen >= SEEN_EVERY_SECONDS:
        session[SEEN_KEY] = now
    return ""


def _seen_tablet(request: HttpRequest) -> Tablet | None:
    if COOKIE not in request.COOKIES:
        return None
    tablet = tablet_of(request)
    now = timezone.now()
    if tablet and (tablet.last_seen is None or now - tablet.last_seen > timedelta(minutes=1)):
        Tablet.objects.filter(pk=tablet.pk).update(last_seen=now)
    return tablet
