"""Signing in and out, on one's own device and on a shop tablet."""

from django.contrib import messages
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils import translation
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shared.people import pins
from shared.people.access import CAMPUS_KEY, AppRequest
from shared.people.backends import PinBackend
from shared.people.context import remember
from shared.people.forms import CampusForm, PinForm, PreferencesForm, SignInForm
from shared.people.middleware import ENDED_KEY, LEFT_KEY, PIN_KEY
from shared.people.models import Role, User
from shared.people.rosters import class_lists
from shared.people.services import forget_old_submissions

_PIN_BACKEND = f"{PinBackend.__module__}.{PinBackend.__qualname__}"
_HOMES = [
    (Role.STUDENT, ["grading:today"]),
    (Role.INSTRUCTOR, ["grading:next_session", "curriculum:classes"]),
    (Role.CLERK, ["inventory:to_order"]),
    (Role.MANAGER, ["people:people"]),
]


def _next(request: HttpRequest) -> str:
    """Where the person wanted to go, if it is one of our own pages."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if ours else ""


def _begin(request: HttpRequest, person: User, backend: str | None = None) -> HttpResponse:
    """Start the session of `person`; nothing of an earlier one stays.

    The page that somebody else was signed out from may not be theirs: they begin at home.
    """
    theirs = request.session.pop(LEFT_KEY, person.pk) == person.pk
    if request.user.is_authenticated and request.user.pk != person.pk:
        logout(request)
    login(request, person, backend=backend)
    request.session.pop(PIN_KEY, None)  # kept by Django when the same person signs in again
    forget_old_submissions(person)
    return redirect((theirs and _next(request)) or "people:home")


@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def sign_in(request: AppRequest) -> HttpResponse:
    """Sign in with name and password; an enrolled tablet begins with the class list."""
    if request.method == "GET":
        if request.user.is_authenticated:
            return redirect(_next(request) or "people:home")
        if request.tablet and "password" not in request.GET:
            query = f"?{urlencode({'next': _next(request)})}" if _next(request) else ""
            return redirect(reverse("people:tablet") + query)
    form = SignInForm(request, request.POST or None)
    if request.method == "POST" and form.is_valid():
        return _begin(request, form.get_user())
    context = {
        "form": form,
        "next": _next(request),
        "ended": request.session.pop(ENDED_KEY, ""),
    }
    status = 422 if form.is_bound else 200
    return render(request, "people/sign_in.html", context, status=status)


@login_not_required
@require_POST
def sign_out(request: AppRequest) -> HttpResponse:
    """End the session; a shop tablet goes back to its class list."""
    logout(request)
    return redirect("people:tablet" if request.tablet else "people:sign_in")


@require_GET
def home(request: AppRequest) -> HttpResponse:
    """Lead to what this person came to do."""
    for role, names in _HOMES:
        if role not in request.roles:
            continue
        for name in names:
            try:
                return redirect(reverse(name))
            except NoReverseMatch:
                continue
    return redirect("people:account")


@login_not_required
@require_GET
def tablet(request: AppRequest) -> HttpResponse:
    """Name the people of the classes of an enrolled tablet; elsewhere lead to the password."""
    if request.tablet is None:
        return redirect("people:sign_in")
    if request.user.is_authenticated:
        return redirect("people:home")
    context = {
        "lists": class_lists(request.tablet.campus),
        "next": _next(request),
        "ended": request.session.pop(ENDED_KEY, ""),
    }
    return render(request, "people/tablet.html", context)


@login_not_required
@sensitive_post_parameters("pin")
@require_http_methods(["GET", "POST"])
def tablet_pin(request: AppRequest, pk: int) -> HttpResponse:
    """Ask the chosen person for their PIN."""
    if request.tablet is None:
        return redirect("people:sign_in")
    campus = request.tablet.campus
    listed = {each for _label, people in class_lists(campus) for each, _name in people}
    person = get_object_or_404(
        User.objects.present().with_role(Role.STUDENT, campus).filter(pk__in=listed), pk=pk
    )
    form = PinForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            known = PinBackend().authenticate(
                request, person=person, tablet=request.tablet, pin=form.cleaned_data["pin"]
            )
        except pins.PinLocked as locked:
            form.add_error("pin", pins.locked_sentence(locked))
        else:
            if known:
                tablet_pk = request.tablet.pk
                answer = _begin(request, known, _PIN_BACKEND)
                request.session[PIN_KEY] = tablet_pk
                request.session[CAMPUS_KEY] = campus.pk
                return answer
            form.add_error("pin", _("This is not the PIN. Try again, or ask your instructor."))
    context = {"form": form, "person": person, "next": _next(request)}
    status = 422 if form.is_bound else 200
    return render(request, "people/tablet_pin.html", context, status=status)


@login_not_required
@require_POST
def preferences(request: AppRequest) -> HttpResponse:
    """Remember units, appearance or language: with the person, else on this device."""
    form = PreferencesForm(request.POST)
    if not form.is_valid():
        return HttpResponse(
            " ".join(str(error) for errors in form.errors.values() for error in errors),
            status=422,
            content_type="text/plain; charset=utf-8",
        )
    answer = redirect(_next(request) or "people:home")
    remember(request, answer, form.chosen())
    translation.activate(form.chosen().get("language") or translation.get_language())
    return answer


@require_POST
def campus_choose(request: AppRequest) -> HttpResponse:
    """Go on at another campus where this person has a role."""
    form = CampusForm(request.POST, person=request.user)
    if form.is_valid() and not request.pin_session:
        request.session[CAMPUS_KEY] = form.cleaned_data["campus"].pk
    else:
        messages.error(request, _("Choose one of your campuses."))
    return redirect("people:home")
