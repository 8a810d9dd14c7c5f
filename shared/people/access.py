"""Who may open a page: closed by default, then by role (403), then by row (404, `visible_to`)."""

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, cast

from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from shared.people.models import Campus, Role, Tablet, User

if TYPE_CHECKING:
    from django_htmx.middleware import HtmxDetails

View = Callable[..., HttpResponseBase]
CAMPUS_KEY = "campus"


class AppRequest(HttpRequest):
    """A request of a signed-in person, after the middleware."""

    user: User
    htmx: "HtmxDetails"
    roles: frozenset[str]  # in effect here: of this campus, in a PIN session student at most
    campus: Campus
    tablet: Tablet | None  # the enrolled tablet this request comes from
    pin_session: bool


def settle(request: HttpRequest) -> AppRequest:
    """Set `campus` and `roles` on the request of a signed-in person, once.

    The campus is the one chosen in the session, else the person's home, else the first where
    they have a role.
    """
    app_request = cast(AppRequest, request)
    if not hasattr(request, "roles"):
        user = app_request.user
        chosen = request.session.get(CAMPUS_KEY) if hasattr(request, "session") else None
        wanted = [pk for pk in (chosen, user.home_campus_id) if pk in user.campus_ids]
        pk = (wanted + user.campus_ids + [user.home_campus_id])[0]
        app_request.campus = (
            user.home_campus if pk == user.home_campus_id else Campus.objects.get(pk=pk)
        )
        app_request.roles = user.roles_at(app_request.campus)
    return app_request


def role_required(*roles: Role) -> Callable[[View], View]:
    """Let in who has one of `roles` at the request's campus; others of the shop get 403.

    Sets `request.campus` and `request.roles`. The roles stand on the view as `view.roles`, where
    the `routes` command and the access tests read them.
    """
    wanted = frozenset(role.value for role in roles)

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if isinstance(request.user, AnonymousUser) or not settle(request).roles & wanted:
                raise PermissionDenied
            return view(request, *args, **kwargs)

        guarded.roles = wanted  # type: ignore[attr-defined]
        return guarded

    return decorate
