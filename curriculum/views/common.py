"""Which class a request may read or change, the links between its pages, and the way back."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import NoReverseMatch, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext_lazy as _

from curriculum.models import Session, ShopClass
from curriculum.models.classes import ShopClassQuerySet
from shared.http import AppRequest
from shared.people.models import Role, User

PAGES: list[tuple[Any, str, bool]] = [
    # label, page, for those alone who may change the class
    (_("Class"), "curriculum:shop_class", False),
    (_("Term plan"), "curriculum:plan", False),
    (_("Sessions"), "curriculum:sessions", False),
    (_("Assign"), "curriculum:assign", True),
    (_("Sign-offs"), "curriculum:signoffs", True),
    (_("Judge coupons"), "grading:queue", True),
    (_("Progress"), "grading:progress", True),
    (_("Roster"), "curriculum:roster", True),
]


def read_class(request: AppRequest, pk: int) -> ShopClass:
    """Return a class of this campus that the person may see, or answer 404."""
    found = ShopClass.objects.visible_to(request.user).filter(campus=request.campus)
    return get_object_or_404(found.select_related("campus"), pk=pk)


def own_classes(request: AppRequest) -> ShopClassQuerySet:
    """Return the classes of this campus that the person teaches or manages."""
    return ShopClass.objects.taught_by(request.user).filter(campus=request.campus)


def own_class(request: AppRequest, pk: int) -> ShopClass:
    """Return a class of this campus that the person teaches or manages, or answer 404."""
    return get_object_or_404(own_classes(request).select_related("campus"), pk=pk)


def own_session(request: AppRequest, pk: int) -> Session:
    """Return a session of such a class, or answer 404."""
    found = Session.objects.filter(shop_class__in=own_classes(request).values("pk"))
    return get_object_or_404(found.select_related("shop_class__campus"), pk=pk)


def student_of(shop_class: ShopClass, pk: int) -> User:
    """Return a student of the class, who may have left it, or answer 404."""
    return get_object_or_404(User.objects.filter(enrolments__shop_class=shop_class), pk=pk)


def may_change(request: AppRequest, shop_class: ShopClass) -> bool:
    """Whether the person teaches the class or manages its campus."""
    if Role.MANAGER in request.roles:
        return True
    return Role.INSTRUCTOR in request.roles and (
        shop_class.teachings.filter(instructor=request.user).exists()
    )


def class_context(request: AppRequest, shop_class: ShopClass) -> dict[str, Any]:
    """Return what the pages of a class share: itself, its links, who may change it."""
    changes = may_change(request, shop_class)
    match = request.resolver_match
    here = match.view_name if match else ""
    links = [
        {"label": label, "url": url, "current": page == here}
        for label, page, own in PAGES
        if (changes or not own) and (url := url_if(page, shop_class.pk))
    ]
    return {"shop_class": shop_class, "links": links, "may_change": changes}


def url_if(name: str, *args: object) -> str:
    """Return the URL of a page that may be of an app to the right; "" where there is none."""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


def session_url(session: Session) -> str:
    """Return the session's own page, else the list it stands in."""
    return url_if("grading:session", session.pk) or reverse(
        "curriculum:sessions", args=[session.shop_class_id]
    )


def go_back(request: AppRequest, default: str) -> HttpResponse:
    """Redirect to the page the form names as `next`, if it is ours, else to `default`."""
    wanted = request.POST.get("next", "")
    ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return HttpResponseRedirect(wanted if ours else default)


def not_taken(why: str) -> HttpResponse:
    """Answer a tap that names something which is not there: nothing was stored."""
    return HttpResponse(why, status=422, content_type="text/plain; charset=utf-8")
