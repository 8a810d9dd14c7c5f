"""Taking an exercise out of use and back, and throwing a draft away."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from curriculum.forms.library import RetireForm
from curriculum.models import Exercise, ExerciseVersion
from curriculum.services import retire as service
from curriculum.views.common import not_taken
from shared.people.access import AppRequest, role_required
from shared.people.models import Role
from shared.people.once import once_only


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def exercise_retire(request: AppRequest, pk: int) -> HttpResponse:
    """Take an exercise out of use (`retired` yes), or put it back (no)."""
    exercise = get_object_or_404(
        Exercise.objects.editable_by(request.user).select_related("campus"), pk=pk
    )
    form = RetireForm(request.POST)
    if not form.is_valid():
        return not_taken(_("An exercise is retired, or it is not."))
    number = {"number": exercise.number}
    if form.cleaned_data["retired"] == "no":
        service.bring_back(exercise=exercise, by=request.user)
        messages.success(request, _("%(number)s is in the library again.") % number)
        return redirect(exercise)
    try:
        service.retire(exercise=exercise, by=request.user)
    except service.StillUsed as used:
        messages.error(request, _still_used(exercise, used))
    else:
        said = _("%(number)s is retired: nobody can plan it. What was earned with it stays.")
        messages.success(request, said % number)
    return redirect(exercise)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def draft_discard(request: AppRequest, pk: int) -> HttpResponse:
    """Throw a draft away; an exercise that was never published goes with it."""
    drafts = ExerciseVersion.objects.editable_by(request.user).select_related("exercise__campus")
    draft = get_object_or_404(drafts, pk=pk)
    exercise = draft.exercise
    try:
        kept = service.discard(draft=draft, by=request.user)
    except service.StillUsed as used:
        messages.error(request, _still_used(exercise, used))
        return redirect(draft)
    messages.success(request, _("The draft of %(number)s is gone.") % {"number": exercise.number})
    return redirect(exercise) if kept else redirect("curriculum:library")


def _still_used(exercise: Exercise, used: service.StillUsed) -> str:
    words = {
        "number": exercise.number,
        "classes": ", ".join(used.classes),
        "exercises": ", ".join(used.exercises),
    }
    said = []
    if used.classes:
        said.append(_("%(number)s stays: planned or open in %(classes)s.") % words)
    if used.exercises:
        said.append(_("%(number)s stays: named by %(exercises)s. Correct them first.") % words)
    return " ".join(said)
