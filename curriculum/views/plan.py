"""The term plan: weeks as columns, moved by buttons and by drag, its load always beside it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.messages.storage.base import BaseStorage
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from curriculum.core.sentence import in_words
from curriculum.core.term_plan import IllegalMove
from curriculum.forms.plan import EntryForm, MoveForm, PlanSearch, SetupsForm, TargetForm
from curriculum.models import Exercise, ExerciseVersion, ShopClass
from curriculum.services import plan as service
from curriculum.services.findings import exercise_booths
from curriculum.services.plan import setup_keys
from curriculum.services.plan_page import Row, choices_of, effect, plan_page, setups_of
from curriculum.views.common import class_context, own_class, read_class, url_if
from shared.http import AppRequest, render_page
from shared.people.access import role_required
from shared.people.context import units_of
from shared.people.models import Role
from shared.people.once import BODY_LIMIT, once_only
from shared.text import fold

FOUND_MAX = 12


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER, Role.CLERK)
def own_plan(request: AppRequest) -> HttpResponse:
    """Go to the plan of the class one teaches that runs now, else to the list of classes."""
    today = request.campus.today()
    running = ShopClass.objects.filter(campus=request.campus, ends__gte=today)
    own = running.filter(teachings__instructor=request.user).order_by("starts").first()
    found = own or running.visible_to(request.user).order_by("starts").first()
    return redirect("curriculum:plan", found.pk) if found else redirect("curriculum:classes")


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER, Role.CLERK)
def plan(request: AppRequest, pk: int) -> HttpResponse:
    """Show the plan and its load; `?entry=` picks the one to move, `?q=` searches the library."""
    return _plan(request, read_class(request, pk), request.GET.get("entry", ""))


def _plan(
    request: AppRequest,
    shop_class: ShopClass,
    entry: str,
    *,
    refusal: str = "",
    adding: bool = False,
) -> HttpResponse:
    known = service.load_plan(shop_class)
    context = class_context(request, shop_class)
    picked = int(entry) if entry.isdecimal() and context["may_change"] else None
    page = plan_page(known, today=request.campus.today(), selected=picked)
    search = PlanSearch(request.GET)
    context |= {
        "page": page,
        "refusal": refusal,
        "search": search,
        "found": _found(known, search) if context["may_change"] else [],
        "adding": adding or "q" in request.GET or not known.rows,
        "undo": service.last_targets(shop_class) if context["may_change"] else None,
        "consumables": url_if("inventory:class_consumables", shop_class.pk),
        "columns": len(page.weeks),
    }
    if page.selected is not None:
        context |= {
            "sessions": choices_of(known),
            "setups": setups_of(page.selected),
            "effect": effect(known, page.selected.row.pk),
            "too_small": _too_small(page.selected, units_of(request)),
        }
    status = 422 if refusal else 200
    return render_page(
        request, "curriculum/plan.html", "curriculum/_plan.html", context, status=status
    )


def _too_small(row: Row, units: str) -> list[dict[str, Any]]:
    """Return the booths whose machine does not give what a required setup of an entry asks."""
    if row.version is None:
        return []
    required = setup_keys(row.row, row.version)
    whole = ExerciseVersion.objects.with_content().get(pk=row.version.pk)
    return [
        one
        for one in exercise_booths(whole, units)
        if one["setup"] in required and one["finding"].level == "outside"
    ]


def _found(known: service.ClassPlan, search: PlanSearch) -> list[ExerciseVersion]:
    """Return published exercises that fit the search and are not in the plan."""
    if not search.is_valid():
        return []
    found = ExerciseVersion.objects.newest_published().filter(
        exercise__campus=known.shop_class.campus, exercise__retired_at=None
    )
    for word in fold(search.cleaned_data["q"]).split():
        found = found.filter(search_text__contains=word)
    there = [row.exercise_id for row in known.rows]
    return list(
        found.exclude(exercise__in=there)
        .select_related("exercise")
        .order_by("exercise__number")[:FOUND_MAX]
    )


Change = Callable[[Any], object]


def _changed(
    request: AppRequest, shop_class: ShopClass, entry: str, *, adding: bool = False
) -> HttpResponse:
    """Show the plan again after a change: to htmx in place, else by a redirect."""
    if request.htmx:
        shown = _plan(request, shop_class, entry, adding=adding)
        if len(shown.content) <= BODY_LIMIT:
            return shown
        # too large to be kept for a repeat: the page is loaded anew, with what it had to say
        if isinstance(said := messages.get_messages(request), BaseStorage):
            said.used = False
    answer = redirect("curriculum:plan", shop_class.pk)
    if adding:
        answer["Location"] += "?q=#plan-library"
    elif entry:
        answer["Location"] += f"?entry={entry}#entry-{entry}"
    return answer


def _move(
    request: AppRequest, shop_class: ShopClass, form: EntryForm, change: Change
) -> HttpResponse:
    """Run `change` on the entry a form names, or say why it cannot be."""
    if not form.is_valid():
        gone = _("This exercise is not in the plan any more, or the place is not there.")
        return _plan(request, shop_class, "", refusal=gone)
    entry = form.cleaned_data["entry"]
    try:
        change(entry)
    except IllegalMove as illegal:
        return _plan(request, shop_class, str(entry.pk), refusal=in_words(illegal.args[0], _))
    return _changed(request, shop_class, str(entry.pk))


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def plan_add(request: AppRequest, pk: int) -> HttpResponse:
    """Put a published exercise of the library into the plan."""
    shop_class = own_class(request, pk)
    wanted = request.POST.get("exercise", "")
    exercise = get_object_or_404(
        Exercise.objects.of_campus(request.campus), pk=wanted if wanted.isdecimal() else 0
    )
    try:
        service.add_entry(shop_class=shop_class, exercise=exercise, by=request.user)
    except service.NotPublished:
        why = _("%(number)s has no published version yet.") % {"number": exercise.number}
        return _plan(request, shop_class, "", refusal=why)
    return _changed(request, shop_class, "", adding=True)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def plan_remove(request: AppRequest, pk: int) -> HttpResponse:
    """Take an exercise out of the plan."""
    shop_class = own_class(request, pk)
    form = EntryForm(request.POST, shop_class=shop_class)
    if form.is_valid():
        entry = form.cleaned_data["entry"]
        service.remove_entry(entry=entry, by=request.user)
        messages.success(
            request, _("%(number)s is out of the plan.") % {"number": entry.exercise.number}
        )
    return _changed(request, shop_class, "")


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def plan_move(request: AppRequest, pk: int) -> HttpResponse:
    """Move an entry up, down, or to a place."""
    shop_class = own_class(request, pk)
    form = MoveForm(request.POST, shop_class=shop_class)

    def change(entry: Any) -> None:
        service.move_entry(entry=entry, to=form.where(), by=request.user)

    return _move(request, shop_class, form, change)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def plan_target(request: AppRequest, pk: int) -> HttpResponse:
    """Let an entry begin earlier, later, in a session, or in none."""
    shop_class = own_class(request, pk)
    form = TargetForm(request.POST, shop_class=shop_class)

    def change(entry: Any) -> None:
        service.target_entry(entry=entry, to=form.where(), by=request.user)

    return _move(request, shop_class, form, change)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def plan_setups(request: AppRequest, pk: int) -> HttpResponse:
    """Say which setups of an exercise the class must pass."""
    shop_class = own_class(request, pk)
    named = EntryForm(request.POST, shop_class=shop_class)
    keys: list[str] = []
    if named.is_valid():
        exercise = named.cleaned_data["entry"].exercise_id
        version = service.newest_versions([exercise]).get(exercise)
        keys = [setup.key for setup in version.setups.all()] if version else []
    form = SetupsForm(request.POST, shop_class=shop_class, keys=keys)

    def change(entry: Any) -> None:
        chosen = form.cleaned_data["setups"]
        service.require_setups(entry=entry, keys=chosen, by=request.user)

    return _move(request, shop_class, form, change)


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def plan_suggest(request: AppRequest, pk: int) -> HttpResponse:
    """Spread what has not begun evenly over the sessions to come."""
    shop_class = own_class(request, pk)
    moved, past = service.suggest(
        shop_class=shop_class, today=request.campus.today(), by=request.user
    )
    count = len(moved.changes)
    said = ngettext("%(n)d exercise moved.", "%(n)d exercises moved.", count) % {"n": count}
    if past:
        numbers = ", ".join(entry.number for entry in past)
        said += " " + _("The booths have no room for %(numbers)s.") % {"numbers": numbers}
    messages.success(request, said if count or past else _("The load is even already."))
    return _changed(request, shop_class, "")


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def plan_undo(request: AppRequest, pk: int) -> HttpResponse:
    """Take back the last change of several targets at once."""
    shop_class = own_class(request, pk)
    count = len(service.undo_targets(shop_class=shop_class, by=request.user).changes)
    said = ngettext("%(n)d exercise is back.", "%(n)d exercises are back.", count) % {"n": count}
    messages.success(request, said)
    return _changed(request, shop_class, "")
