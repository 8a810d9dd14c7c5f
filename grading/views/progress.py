"""Progress of a class, a student's record, and the results as a table."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from curriculum.models import Exercise, ExerciseVersion, ShopClass
from curriculum.services.sheet_paper import paper_size
from curriculum.views.common import class_context, own_class, own_classes, student_of
from grading.core.standing import NOT_OPEN, REDO, Step
from grading.forms.grade import DecisionForm
from grading.services.progress import Progress, Row, progress_of
from grading.services.results import RESULT_COLUMNS, result_rows, results_of
from grading.services.standing import SIGNS
from grading.services.student_record import record_of
from shared.charts import mark_svg
from shared.http import csv_response, render_page
from shared.paper import paper_response, qr_svg
from shared.people.access import AppRequest, role_required
from shared.people.audit import audit
from shared.people.models import Role, User
from shared.templatetags.look import STATES

TONES = {"": "is-ink"}


@require_safe
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def progress(request: AppRequest, pk: int) -> HttpResponse:
    """Students by exercises, those who need somebody first."""
    shop_class = own_class(request, pk)
    found = progress_of(shop_class, today=shop_class.campus.today(), now=timezone.now())
    key = [(name, STATES[name].word) for name in SIGNS.values() if name != "locked"]
    context = {
        **class_context(request, shop_class),
        "found": found,
        "key": key,
        "rows": rows_html(found, pk),
    }
    return render(request, "grading/progress.html", context)


def rows_html(found: Progress, class_pk: int) -> SafeString:
    """Return the body of the grid; links by hand, because a tag for each cell takes far longer."""
    base = reverse("grading:record", args=[class_pk, 0]).removesuffix("0/")
    last, cells = found.in_need - 1, _Cells()
    return format_html_join(
        "\n",
        '<tr{}><th scope="row"><a href="{}">{}</a></th><td class="why">{}</td>'
        '<td class="n">{}</td>{}</tr>',
        (
            (
                mark_safe(' class="last-need"') if index == last else "",
                f"{base}{row.pk}/",
                row.name,
                _why(row),
                row.done,
                cells.of(found, row, f"{base}{row.pk}/"),
            )
            for index, row in enumerate(found.rows)
        ),
    )


def _why(row: Row) -> SafeString:
    return format_html_join(
        "",
        '<span class="sign {} wrap">{}<span>{}</span></span>',
        (
            (STATES[one.sign].tone, mark_safe(mark_svg(STATES[one.sign].mark)), one.words)  # noqa: S308
            for one in row.needs[:2]
        ),
    )


class _Cells:
    """Cells of the grid; two that say the same differ in the student's link alone."""

    def __init__(self) -> None:
        self.made: dict[tuple[int, Step, int], tuple[str, str]] = {}

    def of(self, found: Progress, row: Row, url: str) -> SafeString:
        """Return the cells of one student, whose record is at `url` (our own, without quotes)."""
        parts = []
        for column, step in zip(found.columns, row.steps, strict=False):
            key = (column.exercise_id, step, row.coupons.get(column.exercise_id, 0))
            if key not in self.made:
                self.made[key] = _cell(*key)
            before, after = self.made[key]
            parts.append(f"{before}{url}{after}" if after else before)
        return mark_safe("".join(parts))  # noqa: S308 - made of escaped parts


def _cell(exercise: int, step: Step, coupons: int) -> tuple[str, str]:
    """Return a cell's markup before and after the link to the record; no link while locked."""
    state = STATES[SIGNS[step.state]]
    if step.state == NOT_OPEN and not coupons:
        html = '<td class="cell"><span class="none" role="img" aria-label="{}, {}">·</span></td>'
        return format_html(html, step.number, state.word), ""
    said = [step.number, str(state.word)]
    if step.of > 1:
        said.append(_("%(done)d of %(of)d setups") % {"done": step.done, "of": step.of})
    if coupons:
        said.append(ngettext("%(n)d coupon", "%(n)d coupons", coupons) % {"n": coupons})
    after = format_html(
        '#x{}" class="{}" aria-label="{}">{}{}</a></td>',
        exercise,
        TONES.get(state.tone, state.tone),
        ", ".join(said),
        mark_safe(mark_svg(state.mark)),  # noqa: S308 - drawn by us
        format_html("<b>{}</b>", coupons) if coupons else "",
    )
    hot = " hot" if step.state == REDO else ""
    return f'<td class="cell{hot}"><a href="', after


@require_safe
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def record(request: AppRequest, pk: int, student: int) -> HttpResponse:
    """A student's record: attempts, readings, hours, decisions."""
    shop_class = own_class(request, pk)
    return record_page(request, shop_class, student_of(shop_class, student))


def record_page(
    request: AppRequest, shop_class: ShopClass, student: User, form: DecisionForm | None = None
) -> HttpResponse:
    """Render the record, with a refused decision where there is one."""
    context = _record_context(shop_class, student) | {
        **class_context(request, shop_class),
        "form": form or DecisionForm(),
    }
    status = 422 if form is not None and form.errors else 200
    return render(request, "grading/record.html", context, status=status)


def _record_context(shop_class: ShopClass, student: User) -> dict[str, Any]:
    return {
        "shop_class": shop_class,
        "student": student,
        "enrolment": shop_class.enrolments.filter(student=student).first(),
        "record": record_of(shop_class, student),
    }


@require_safe
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def record_pdf(request: AppRequest, pk: int, student: int) -> HttpResponse:
    """The record on paper, for the student's file."""
    shop_class = own_class(request, pk)
    person = student_of(shop_class, student)
    url = request.build_absolute_uri(reverse("grading:record", args=[pk, student]))
    return paper_response(
        request,
        "grading/record_print.html",
        _record_context(shop_class, person) | {"qr": qr_svg(url)},
        filename=f"record-{shop_class.pk}-{person.pk}.pdf",
        size=paper_size(shop_class.campus),
    )


@require_safe
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def exercise_results(request: AppRequest, pk: int) -> HttpResponse:
    """What came of one exercise in the classes one teaches; a fragment for the exercise's page."""
    readable = Exercise.objects.visible_to(request.user).filter(campus=request.campus)
    exercise = get_object_or_404(readable, pk=pk)
    found = results_of(exercise, list(own_classes(request).select_related("campus")))
    title = ExerciseVersion.objects.newest().get(exercise=exercise).title
    context = {"exercise": exercise, "title": title, "found": found}
    return render_page(
        request, "grading/exercise_results.html", "grading/_exercise_results.html", context
    )


# A second tap is a second download; both are made and both are noted.
@require_POST
@role_required(Role.INSTRUCTOR, Role.MANAGER)
@transaction.atomic
def results_csv(request: AppRequest, pk: int) -> HttpResponse:
    """Hand out all results of a class as CSV, and note that it was done."""
    shop_class = own_class(request, pk)
    rows = result_rows(shop_class)
    audit(
        request.user,
        "grade.exported",
        shop_class,
        campus=shop_class.campus,
        detail={"rows": len(rows)},
    )
    return csv_response(f"results-{pk}-{shop_class.campus.today()}.csv", RESULT_COLUMNS, rows)
