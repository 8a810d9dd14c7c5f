"""The guard against repeated submission: a writing form counts once, however often it is sent.

The form carries a key that the server made, and the view is wrapped::

    {% load people %}
    <form method="post" hx-post="…" data-keep="{{ request.user.pk }}-coupon">
      {% csrf_token %}{% submission_key %} ...

    @require_http_methods(["GET", "POST"])
    @role_required(Role.STUDENT)
    @once_only
    def coupon_hand_in(request: AppRequest, pk: int) -> HttpResponse:
        form = CouponForm(request.POST or None)
        if request.method == "POST" and form.is_valid():
            hand_in(...)                                # in the guard's transaction
            return redirect("grading:today")
        return render(request, "...", {"form": form}, status=422 if form.errors else 200)

The key and the work are stored in one transaction. A second post with the same person and key,
also one at the same moment, does not run the view: it gets the first one's answer (redirect,
or the body up to 64 kB). An answer of 400 and above, or an exception, undoes everything the view
wrote and leaves the key unused, so that a corrected form can be sent with it. A fragment that
stays on the page must be rendered with a new `{% submission_key %}` after a success.
"""

import hashlib
from collections.abc import Callable
from functools import wraps
from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.template.response import SimpleTemplateResponse
from django.utils.translation import gettext as _

from shared.people.models import Submission, User

FIELD = "submission_key"
BODY_LIMIT = 64 * 1024
_READS = {"GET", "HEAD", "OPTIONS"}


class _Refused(Exception):
    """Carries an answer of 400 and above out of the transaction, so that nothing stays."""

    def __init__(self, response: HttpResponseBase) -> None:
        self.response = response


class _Repeated(Exception):
    """This person sent this key before."""


def _person(request: HttpRequest) -> User:
    return cast(User, request.user)  # LoginRequiredMiddleware lets nobody else in


def once_only(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Run a writing view once per person and key, in one transaction; see the module's text."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method in _READS:
            return view(request, *args, **kwargs)
        try:
            key = UUID(request.POST.get(FIELD, ""))
        except ValueError:
            return HttpResponse(
                _("This form came without its key. Open the page again and send it from there."),
                status=400,
                content_type="text/plain; charset=utf-8",
            )
        digest = _digest(request)
        try:
            with transaction.atomic():
                taken = _take(request, key, digest)
                response = view(request, *args, **kwargs)
                if isinstance(response, SimpleTemplateResponse):
                    response = response.render()
                if response.status_code >= 400:
                    raise _Refused(response)
                _remember(taken, response)
        except _Refused as refused:
            return refused.response
        except _Repeated:
            return _first_answer(request, key, digest)
        return response

    return guarded


def shown_once(response: HttpResponse) -> HttpResponse:
    """Mark an answer whose text must not be stored, such as a new PIN; a repeat gets a sentence."""
    response.shown_once = True  # type: ignore[attr-defined]
    return response


def _digest(request: HttpRequest) -> str:
    """A fingerprint of what was typed: a repeat has the same, a changed form another."""
    parts = [(n, v) for n, v in request.POST.lists() if n != "csrfmiddlewaretoken"]
    files = [(n, [(f.name, f.size) for f in v]) for n, v in request.FILES.lists()]
    return hashlib.sha256(repr((sorted(parts), sorted(files))).encode()).hexdigest()


def _take(request: HttpRequest, key: UUID, digest: str) -> Submission:
    """Claim the key; who comes at the same moment waits here for the first one's commit."""
    try:
        with transaction.atomic():
            return Submission.objects.create(
                user=_person(request), key=key, path=request.path[:500], digest=digest
            )
    except IntegrityError:
        raise _Repeated from None


def _remember(taken: Submission, response: HttpResponseBase) -> None:
    taken.status = response.status_code
    taken.location = response.headers.get("Location", "")
    taken.headers = {
        name: value
        for name, value in response.headers.items()
        if name.startswith("HX-") or name == "Content-Type"
    }
    if getattr(response, "shown_once", False):
        taken.headers = {}
    elif isinstance(response, HttpResponse) and len(response.content) <= BODY_LIMIT:
        try:
            taken.body = response.content.decode(response.charset)
        except UnicodeDecodeError:
            taken.body = ""
    taken.save()


def _first_answer(request: HttpRequest, key: UUID, digest: str) -> HttpResponse:
    first = Submission.objects.get(user=_person(request), key=key)
    if first.digest != digest:
        messages.warning(
            request,
            _(
                "This form had been sent already; what you changed after that was not saved. "
                "Open it again to change it."
            ),
            fail_silently=True,
        )
    body = first.body
    if not body and not first.location and first.status != 204:
        body = _("This was saved when it was first sent.")
    answer = HttpResponse(body, status=first.status, headers=first.headers)
    if first.location:
        answer["Location"] = first.location
    return answer
