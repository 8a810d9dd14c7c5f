"""What people keep about themselves."""

from django.contrib import messages
from django.contrib.auth import authenticate, update_session_auth_hash
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods

from shared.people import pins
from shared.people.access import AppRequest
from shared.people.forms import OwnPasswordForm, OwnPinForm, OwnSettingsForm
from shared.people.once import once_only
from shared.people.services import set_password


@require_GET
def account(request: AppRequest) -> HttpResponse:
    """Show one's own settings, roles and ways to sign in."""
    memberships = request.user.memberships.select_related("campus")
    context = {"form": OwnSettingsForm(instance=request.user), "memberships": memberships}
    return render(request, "people/account.html", context)


@require_http_methods(["GET", "POST"])
@once_only
def own_settings(request: AppRequest) -> HttpResponse:
    form = OwnSettingsForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Saved."))
        return redirect("people:account")
    context = {"form": form, "memberships": request.user.memberships.select_related("campus")}
    return render(request, "people/account.html", context, status=422 if form.errors else 200)


# The two below stand outside the once guard: their repeat is refused by the old PIN or password,
# and a wrong one must stay counted, which the guard's rollback would undo.


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def own_pin(request: AppRequest) -> HttpResponse:
    """Choose a new PIN, knowing the old one or the password."""
    form = OwnPinForm(request.POST or None, pin_session=request.pin_session)
    if request.method == "POST" and form.is_valid() and _is_me(request, form):
        person = request.user
        pins.set_pin(
            person=person, pin=form.cleaned_data["new_pin"], by=person, campus=request.campus
        )
        update_session_auth_hash(request, person)
        messages.success(request, _("Your new PIN holds from now on."))
        return redirect("people:account")
    context = {"form": form, "title": _("Choose a new PIN")}
    return render(request, "people/own_secret.html", context, status=422 if form.errors else 200)


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def own_password(request: AppRequest) -> HttpResponse:
    """Choose a new password, knowing the old one; not on a shared tablet's PIN session."""
    if request.pin_session or not request.user.has_usable_password():
        return redirect("people:account")
    form = OwnPasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid() and _is_me(request, form):
        person = request.user
        set_password(
            person=person, password=form.cleaned_data["new_password"], campus=request.campus
        )
        update_session_auth_hash(request, person)
        messages.success(request, _("Your new password holds from now on."))
        return redirect("people:account")
    context = {"form": form, "title": _("Choose a new password")}
    return render(request, "people/own_secret.html", context, status=422 if form.errors else 200)


def _is_me(request: AppRequest, form: OwnPinForm | OwnPasswordForm) -> bool:
    """Return whether the old secret is right, counted by the same limits as signing in."""
    person = request.user
    if "old_pin" in form.cleaned_data:
        try:
            right = request.tablet is not None and pins.try_pin(
                person=person, tablet=request.tablet, pin=form.cleaned_data["old_pin"]
            )
        except pins.PinLocked as locked:
            form.add_error("old_pin", pins.locked_sentence(locked))
            return False
        if not right:
            form.add_error("old_pin", _("This is not the PIN. Try again, or ask your instructor."))
        return right
    password = form.cleaned_data["password"]
    found = authenticate(request, username=person.username, password=password)
    if found is None or found.pk != person.pk:
        form.add_error("password", _("This is not your password. Capitals count."))
        return False
    return True
