"""What the grading page of one coupon shows: criterion by criterion, and the verdict forming."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.core import spec
from curriculum.core.cautions import cautions_at
from curriculum.services.sheet import said, said_caution
from grading.core import taken
from grading.core.ruler import ruler
from grading.core.verdict import (
    MET,
    MISSING,
    SLACK,
    Limit,
    Outcome,
    Result,
    limit_for,
    show_limit,
)
from grading.core.verdict import Reading as Taken
from grading.forms.grade import GradeForm
from grading.models import Attempt, Verdict
from grading.services.verdicts import Rubric, last_readings, reckon, rubric_of

PICKS = {
    taken.YES: gettext_lazy("Yes"),
    taken.NO: gettext_lazy("No"),
    taken.SMALL: gettext_lazy("Too small"),
    taken.LARGE: gettext_lazy("Too large"),
}
GAUGE_PICKS = {taken.YES: gettext_lazy("Goes"), taken.NO: gettext_lazy("Does not")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stepper:
    """The gauge's step as a ratio in the field's unit; `start`, in steps, is for an empty field."""

    number: int
    parts: int
    start: int
    most: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One criterion on the page."""

    pk: int
    criterion: spec.Criterion
    unit: str
    tool: str
    limit: str
    text: str
    errors: list[str]
    picks: list[tuple[str, str, bool]]
    stepper: Stepper | None
    outcome: Outcome
    sign: str
    words: str
    ruler: SafeString
    corner: str = ""
    corner_errors: tuple[str, ...] = ()
    flaw: bool = False
    own: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Forming:
    """The verdict as it stands: the sign and its word, why, and how many criteria were read."""

    result: Result
    sign: str
    word: str
    why: str
    cure: str
    read: int
    of: int

    @property
    def kind(self) -> str:
        """The verdict to confirm, empty while the rubric says none."""
        return self.result.verdict if self.result.verdict in ("pass", "redo") else ""


def bench_context(attempt: Attempt, form: GradeForm | None = None) -> dict[str, Any]:
    """Return lines and forming verdict of a coupon, from the form as it stands."""
    rubric = rubric_of(attempt)
    form = form or grade_form(attempt, rubric=rubric)
    stated = form.stated()
    result = reckon(rubric, stated)
    own = last_readings(attempt, own=True)
    lines = [
        _line(pk, rubric, form, outcome, stated.get(pk), own.get(pk))
        for (pk, _one), outcome in zip(rubric.criteria.items(), result.outcomes, strict=True)
    ]
    bends = ["bend press"] if any(one.kind == "bend" for one in rubric.criteria.values()) else []
    current = attempt.current_verdict
    return {
        "attempt": attempt,
        "version": attempt.setup.version,
        "form": form,
        "lines": lines,
        "forming": _forming(result),
        "current": current,
        "has_own": bool(own),
        "bend_cautions": [said_caution(one) for one in cautions_at(bends, noise=False)],
        "others": [
            (kind.value, _("Pass") if kind == Verdict.Kind.PASS else _("Redo"))
            for kind in (Verdict.Kind.PASS, Verdict.Kind.REDO)
            if kind.value != result.verdict
        ],
    }


def grade_form(attempt: Attempt, data: Any = None, *, rubric: Rubric | None = None) -> GradeForm:
    """Return the form of a coupon's readings, filled with those that stand."""
    rubric = rubric or rubric_of(attempt)
    standing = last_readings(attempt, own=False)
    return GradeForm(data, criteria=rubric.criteria, standing=standing)


def _forming(result: Result) -> Forming:
    missing = sum(one.state == MISSING for one in result.outcomes)
    read, of = len(result.outcomes) - missing, len(result.outcomes)
    if result.verdict == "pass":
        sign, word, why = "pass", _("Pass"), said(result.why)
    elif result.verdict == "redo":
        sign, word = "redo", _("Redo, so far") if missing else _("Redo")
        why = said(result.why)
    else:
        sign, word = "incomplete", _("No verdict yet")
        why = _("What is read is within the limits.") if _all_met(result) else said(_failed(result))
        why = _("Nothing is read yet.") if not read else why
    return Forming(result=result, sign=sign, word=word, why=why, cure=result.cure, read=read, of=of)


def _all_met(result: Result) -> bool:
    return all(one.state in (MET, MISSING) for one in result.outcomes)


def _failed(result: Result) -> str:
    return next(one.sentence for one in result.outcomes if one.state not in (MET, MISSING))


def _line(
    pk: int,
    rubric: Rubric,
    form: GradeForm,
    outcome: Outcome,
    stated: Taken | None,
    own: Any,
) -> Line:
    one = rubric.criteria[pk]
    limit = limit_for(one, rubric.thickness)
    text = form.text(f"c{pk}")
    words = _pick_words(one)
    bend = one.kind == "bend"
    own_text = taken.write(one, own.value, own.passed, own.detail) if own else ""
    unit = taken.unit_of(one)
    sign, state = _state(one, limit, outcome, stated)
    return Line(
        pk=pk,
        criterion=one,
        unit=unit,
        tool=_tool(one),
        limit=_wanted(one, limit, outcome),
        text=text,
        errors=[str(error) for error in form[f"c{pk}"].errors] if form.is_bound else [],
        picks=[(pick, str(words.get(pick, pick)), pick == text) for pick in taken.choices(one)],
        stepper=None if taken.choices(one) or bend else _stepper(one, limit),
        outcome=outcome,
        sign=sign,
        words=state,
        ruler=_ruler(one, limit, stated, own, own_text),
        corner=form.text(f"c{pk}_corner") if bend else "",
        corner_errors=tuple(map(str, form[f"c{pk}_corner"].errors))
        if bend and form.is_bound
        else (),
        flaw=bool(form[f"c{pk}_flaw"].value()) if bend else False,
        own=_own(one, own_text, unit),
    )


def _pick_words(one: spec.Criterion) -> dict[str, Any]:
    return PICKS | GAUGE_PICKS if one.kind == "gauge" else PICKS


def _wanted(one: spec.Criterion, limit: Limit, outcome: Outcome) -> str:
    if one.kind == "gauge" and limit == Limit(None, None):
        return _("the gauge goes")
    return said(outcome.limit if one.kind == "bend" else show_limit(one, limit))


def _own(one: spec.Criterion, text: str, unit: str) -> str:
    """Return the student's own reading in words, where there is no ruler to show it."""
    if not text or one.kind in ("measured", "share", "counted"):
        return ""
    word = str(_pick_words(one).get(text, "")).lower()
    return word or f"{text} {unit}".strip()


def _tool(one: spec.Criterion) -> str:
    if one.step is None or not one.tool:
        return one.tool
    return f"{one.tool} {taken.figure(one, one.step.value)}"


def _stepper(one: spec.Criterion, limit: Limit) -> Stepper:
    step = taken.step_of(one)
    per_unit = float(taken.SI.get(taken.unit_of(one), 1)) * float(step)
    start = limit.low if limit.low is not None else limit.high
    most = {"share": round(100 / float(step)), "counted": taken.COUNT_MAX}.get(one.kind)
    begin = round((start or 0.0) / per_unit)
    return Stepper(number=step.numerator, parts=step.denominator, start=begin, most=most)


def _state(
    one: spec.Criterion, limit: Limit, outcome: Outcome, stated: Taken | None
) -> tuple[str, str]:
    """Return the sign of a line and its words: in limits, how far short or over, not read."""
    if outcome.state == MISSING:
        pending = stated is not None
        return ("look", said(outcome.sentence)) if pending else ("open", _("not read"))
    again = _("try the gauge again")
    value = stated.value if stated else None
    if outcome.state == MET:
        if outcome.close:
            bounds = [one for one in (limit.low, limit.high) if one is not None]
            at = value is not None and any(abs(value - one) < SLACK for one in bounds)
            where = _("at the limit") if at else _("one step from the limit")
            return "look", f"{where}: {again}"
        return "in_limits", _("in limits") if value is not None else said(outcome.figure)
    sign = "stop" if one.mandatory else "redo"
    words = said(outcome.figure)
    if value is not None and one.kind in ("measured", "share", "counted"):
        unit = taken.unit_of(one)
        if limit.low is not None and value < limit.low:
            gap = taken.figure(one, limit.low - value)
            words = _("%(gap)s %(unit)s short") % {"gap": gap, "unit": unit}
        elif limit.high is not None:
            gap = taken.figure(one, value - limit.high)
            words = _("%(gap)s %(unit)s over") % {"gap": gap, "unit": unit}
        words = " ".join(words.split())
    return sign, f"{words}: {again}" if outcome.close else words


def _ruler(
    one: spec.Criterion, limit: Limit, stated: Taken | None, own: Any, own_text: str
) -> SafeString:
    if one.kind not in ("measured", "share", "counted"):
        return SafeString("")
    scale = float(taken.SI.get(taken.unit_of(one), 1))

    def in_unit(value: float | None) -> float | None:
        return None if value is None else value / scale

    value = stated.value if stated else None
    label = _("%(name)s: reading %(value)s, wanted %(limit)s, the student's own %(own)s") % {
        "name": one.name,
        "value": taken.figure(one, value) if value is not None else _("none"),
        "limit": said(show_limit(one, limit)),
        "own": own_text or _("none"),
    }
    return SafeString(
        ruler(
            step=float(taken.step_of(one)),
            low=in_unit(limit.low),
            high=in_unit(limit.high),
            value=in_unit(value),
            own=in_unit(own.value if own else None),
            label=label,
            top=100.0 if one.kind == "share" else float("inf"),
        )
    )
