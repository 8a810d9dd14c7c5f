"""The exercise sheet on screen and on paper, and how its figures came about."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from curriculum.core.usage import usual
from curriculum.forms.library import PrintForm
from curriculum.models import ExerciseVersion
from curriculum.services.findings import booths_of, ordered_findings
from curriculum.services.sheet import pick_setup, sheet_context, usage_of
from curriculum.services.sheet_paper import paper_size, sheet_response
from curriculum.services.spec_rows import to_spec
from curriculum.views.library import READERS, may_edit
from shared.paper import qr_svg
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role

SEEN = "sheets_seen"
SEEN_MAX = 200


def _version(request: AppRequest, pk: int, key: str) -> ExerciseVersion:
    versions = ExerciseVersion.objects.visible_to(request.user).with_content()
    version = get_object_or_404(versions, pk=pk)
    if all(setup.key != key for setup in version.setups.all()):
        raise Http404
    return version


@require_GET
@role_required(*READERS)
def sheet(request: AppRequest, pk: int, key: str) -> HttpResponse:
    """Show one setup's sheet; its cautions stand open the first time, folded later."""
    version = _version(request, pk, key)
    context = sheet_context(
        version, key, units=units_of(request), left_handed=request.user.left_handed
    )
    seen, this = request.session.get(SEEN, []), f"{pk}/{key}"
    context["cautions_folded"] = this in seen
    if this not in seen:
        request.session[SEEN] = [*seen, this][-SEEN_MAX:]
    context["keys"] = [setup.key for setup in version.setups.all()]
    if may_edit(request):
        booths = booths_of(version.exercise.campus)
        context["findings"] = ordered_findings(
            context["exercise"], context["setup"], context["units"], booths
        )
    return render(request, "curriculum/sheet.html", context)


@require_GET
@role_required(*READERS)
def sheet_pdf(request: AppRequest, pk: int, key: str) -> HttpResponse:
    """Give the sheet on two pages, for a right hand unless a left one is asked for.

    Its code opens the sheet on a tablet.
    """
    version = _version(request, pk, key)
    form = PrintForm(request.GET)
    left = form.is_valid() and form.cleaned_data["hand"] == "left"
    context = sheet_context(version, key, units=units_of(request), left_handed=left, paper=True)
    url = request.build_absolute_uri(reverse("curriculum:sheet", args=[pk, key]))
    context["qr"] = qr_svg(url, millimetres=20)
    name = f"exercise-{version.exercise.number}-{key}.pdf"
    return sheet_response(request, context, filename=name, size=paper_size(request.campus))


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER, Role.CLERK)
def usage(request: AppRequest, pk: int, key: str) -> HttpResponse:
    """Show how every figure of one attempt came about, step by step."""
    version = _version(request, pk, key)
    content = to_spec(version)
    setup = pick_setup(content, key)
    used, fault = usage_of(content, setup)
    context = {
        "version": version,
        "exercise": content,
        "setup": setup,
        "usage": used,
        "usage_fault": fault,
        "supplies": used.supplies if used and Role.MANAGER in request.roles else (),
        "usual": usual(content, setup),
    }
    return render(request, "curriculum/usage.html", context)
