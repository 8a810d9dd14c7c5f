"""Who is given what, which booth, who was there, who holds which sign-off."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from curriculum.forms.plan import AssignForm, AttendanceForm, PlaceForm, SignoffForm
from curriculum.models import Assignment, Enrolment, ExerciseVersion, ShopClass, Signoff
from curriculum.services import assign as service
from curriculum.services import places as places_service
from curriculum.services import plan as plans
from curriculum.services import signoffs as signoffs_service
from curriculum.services.classes import NotInClass
from curriculum.services.findings import exercise_booths
from curriculum.views.common import (
    class_context,
    go_back,
    not_taken,
    own_class,
    own_classes,
    own_session,
    session_url,
    url_if,
)
from shared.http import AppRequest
from shared.people.access import role_required
from shared.people.context import units_of
from shared.people.models import Role, User
from shared.people.once import once_only


def _here(request: AppRequest, shop_class: ShopClass) -> list[Enrolment]:
    staying = shop_class.enrolments.staying(request.campus.today())
    return list(staying.select_related("student"))


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def assign(request: AppRequest, pk: int) -> HttpResponse:
    """Give an exercise of the plan to the class, a group or some students."""
    shop_class = own_class(request, pk)
    known = plans.load_plan(shop_class)
    chosen = request.POST.get("exercise") or request.GET.get("exercise") or ""
    version = next((one for key, one in known.versions.items() if str(key) == chosen), None)
    enrolments = _here(request, shop_class)
    context = {**class_context(request, shop_class), "version": version}
    context["choices"] = [
        (row.exercise_id, known.versions[row.exercise_id])
        for row in known.rows
        if row.exercise_id in known.versions
    ]
    if version is None:
        context["open"] = _open(shop_class)
        return render(request, "curriculum/assign.html", context)
    whole = ExerciseVersion.objects.with_content().get(pk=version.pk)
    context["machines"] = exercise_booths(whole, units_of(request))
    students = [row.student for row in enrolments]
    form = AssignForm(
        request.POST or None,
        shop_class=shop_class,
        version=version,
        students=students,
        groups=sorted({row.group for row in enrolments if row.group}),
        initial={"to": "ticked", "setups": _required(known, version)},
    )
    if request.method == "POST" and form.is_valid():
        wanted = _wanted(form, enrolments)
        given = service.assign(
            shop_class=shop_class,
            students=wanted,
            exercise=version.exercise,
            setup_keys=form.cleaned_data["setups"],
            session=form.cleaned_data["session"],
            by=request.user,
            override_reason=form.cleaned_data["override"],
        )
        _tell(request, given)
        return redirect(reverse("curriculum:assign", args=[pk]) + f"?exercise={chosen}")
    ticked = request.POST.getlist("students")
    context |= {"form": form, "rows": _rows(shop_class, version, enrolments, ticked)}
    status = 422 if form.is_bound else 200
    return render(request, "curriculum/assign.html", context, status=status)


def _required(known: plans.ClassPlan, version: ExerciseVersion) -> list[str]:
    row = next(one for one in known.rows if one.exercise_id == version.exercise_id)
    return plans.setup_keys(row, version)


def _wanted(form: AssignForm, enrolments: list[Enrolment]) -> list[User]:
    to = form.cleaned_data["to"]
    if to == "ticked":
        return list(form.cleaned_data["students"])
    group = to.removeprefix("group:")
    return [row.student for row in enrolments if to == "class" or row.group == group]


def _tell(request: AppRequest, given: service.Assigned) -> None:
    made = len(given.made)
    said = [ngettext("%(n)d assignment made.", "%(n)d assignments made.", made) % {"n": made}]
    if given.had:
        said.append(_("%(n)d stood already.") % {"n": given.had})
    messages.success(request, " ".join(said))
    if given.held:
        who = "; ".join(
            f"{one.student.name} ({', '.join([*one.signoffs, *one.needs])})" for one in given.held
        )
        messages.warning(request, _("Held back, with what is missing: %(who)s.") % {"who": who})


def _rows(
    shop_class: ShopClass,
    version: ExerciseVersion,
    enrolments: list[Enrolment],
    ticked: list[str],
) -> list[dict[str, Any]]:
    """One row a student: what is open of this exercise, what is missing, whether ready."""
    students = [row.student for row in enrolments]
    needs = service.still_needed(shop_class, students, version.exercise)
    lacks = signoffs_service.missing_signoffs(shop_class, students, version)
    mine: dict[int, list[Assignment]] = {}
    other: dict[int, list[Assignment]] = {}
    for one in Assignment.objects.open().filter(shop_class=shop_class).select_related("exercise"):
        same = one.exercise_id == version.exercise_id
        (mine if same else other).setdefault(one.student_id, []).append(one)
    rows = []
    for enrolment in enrolments:
        student = enrolment.student_id
        ready = not needs.get(student) and not lacks[student]
        idle = student not in mine and student not in other
        rows.append(
            {
                "enrolment": enrolment,
                "needs": needs.get(student, []),
                "lacks": lacks[student],
                "open": mine.get(student, []),
                "other": other.get(student, []),
                "ready": ready,
                "ticked": str(student) in ticked if ticked else ready and idle,
                "record": url_if("grading:record", shop_class.pk, student),
            }
        )
    return rows


def _open(shop_class: ShopClass) -> list[Assignment]:
    rows = Assignment.objects.open().filter(shop_class=shop_class)
    return list(rows.select_related("student", "exercise", "session"))


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def assignment_withdraw(request: AppRequest, pk: int) -> HttpResponse:
    """Take back an open assignment."""
    assignment = get_object_or_404(
        Assignment.objects.filter(shop_class__in=own_classes(request).values("pk")).select_related(
            "shop_class__campus", "student", "exercise"
        ),
        pk=pk,
    )
    words = {"student": assignment.student, "number": assignment.exercise.number}
    if service.withdraw(assignment=assignment, by=request.user):
        messages.success(request, _("%(number)s was taken back from %(student)s.") % words)
    else:
        messages.info(request, _("%(number)s of %(student)s was closed already.") % words)
    return go_back(request, reverse("curriculum:assign", args=[assignment.shop_class_id]))


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def place(request: AppRequest, pk: int) -> HttpResponse:
    """Put a student into a booth by hand, or into none."""
    session = own_session(request, pk)
    form = PlaceForm(request.POST, shop_class=session.shop_class)
    if not form.is_valid():
        return not_taken(_("Choose a student of the class and a booth of this shop."))
    student, booth = form.cleaned_data["student"], form.cleaned_data["booth"]
    words = {"student": student, "booth": booth}
    try:
        places_service.place(session=session, student=student, booth=booth, by=request.user)
    except places_service.BoothTaken as taken:
        words["other"] = taken.place.student
        why = _("%(booth)s was given to %(other)s by hand. Move them first.") % words
        messages.error(request, why)
    except NotInClass:
        messages.error(request, _("%(student)s is not in the class on this day.") % words)
    else:
        said = _("%(student)s has booth %(booth)s.") if booth else _("%(student)s has no booth.")
        messages.success(request, said % words)
    return go_back(request, session_url(session))


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def places_fill(request: AppRequest, pk: int) -> HttpResponse:
    """Give everybody here a booth that can do their work; what was set by hand stays."""
    session = own_session(request, pk)
    found = places_service.fill_places(session=session, by=request.user)
    count = len(found.places)
    said = ngettext("%(n)d student has a booth.", "%(n)d students have a booth.", count)
    messages.success(request, said % {"n": count})
    for one in found.without:
        why = {"student": one.student.name, "why": one.why.in_words(_)}
        messages.warning(request, _("%(student)s has none: %(why)s") % why)
    for warning in found.warnings:
        messages.warning(request, warning.in_words(_))
    return go_back(request, session_url(session))


@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def attendance(request: AppRequest, pk: int) -> HttpResponse:
    """Say whether a student is there."""
    session = own_session(request, pk)
    form = AttendanceForm(request.POST, shop_class=session.shop_class)
    if not form.is_valid():
        return not_taken(_("A student of the class is present, absent, or nothing is said."))
    places_service.set_attendance(
        session=session,
        student=form.cleaned_data["student"],
        present=form.said(),
        by=request.user,
    )
    return go_back(request, session_url(session))


@require_http_methods(["GET", "POST"])
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@once_only
def signoffs(request: AppRequest, pk: int) -> HttpResponse:
    """Show who holds which sign-off that the plan asks for; one tap gives or takes it."""
    shop_class = own_class(request, pk)
    names = signoffs_service.signoff_names(shop_class)
    if request.method == "POST":
        form = SignoffForm(request.POST, shop_class=shop_class)
        if not form.is_valid() or form.cleaned_data["name"] not in names:
            return not_taken(_("Choose a student of the class and a sign-off the plan asks for."))
        signoffs_service.set_signoff(
            shop_class=shop_class,
            student=form.cleaned_data["student"],
            name=form.cleaned_data["name"],
            held=form.cleaned_data["held"] == "yes",
            by=request.user,
        )
        return redirect("curriculum:signoffs", pk)
    enrolments = _here(request, shop_class)
    students = [row.student_id for row in enrolments]
    held = {
        (row.student_id, row.name): row
        for row in Signoff.objects.filter(campus=request.campus, student__in=students)
    }
    rows = [
        (row, [(name, held.get((row.student_id, name))) for name in names]) for row in enrolments
    ]
    missing = sum(one is None for _row, cells in rows for _name, one in cells)
    context = {
        **class_context(request, shop_class),
        "names": names,
        "rows": rows,
        "missing": missing,
    }
    return render(request, "curriculum/signoffs.html", context)
