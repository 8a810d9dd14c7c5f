"""Marks with their words, ranges as dimension lines, and small helpers of the page frame."""

from __future__ import annotations

from typing import Any, NamedTuple

from django import template
from django.forms import BoundField
from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from shared.charts import level_bar as level_bar_svg
from shared.charts import mark_svg
from shared.charts import range_line as range_line_svg
from shared.units import Measure, Range, Shown, show

register = template.Library()


class State(NamedTuple):
    """How a state is set: its mark, its tone (a class, or none) and its word."""

    mark: str
    tone: str
    word: str | Promise


STATES = {
    "pass": State("pass", "is-pass", pgettext_lazy("state", "passed")),
    "redo": State("redo", "is-redo", pgettext_lazy("state", "redo")),
    "void": State("void", "is-quiet", pgettext_lazy("state", "void")),
    "credited": State("credited", "is-pass", pgettext_lazy("state", "credited")),
    "moved_on": State("moved", "is-quiet", pgettext_lazy("state", "moved on")),
    "incomplete": State("incomplete", "is-quiet", pgettext_lazy("state", "incomplete")),
    "working": State("now", "", pgettext_lazy("state", "working on it")),
    "waiting": State("waiting", "", pgettext_lazy("state", "to be judged")),
    "open": State("open", "is-quiet", pgettext_lazy("state", "open")),
    "locked": State("locked", "is-quiet", pgettext_lazy("state", "locked")),
    "hold": State("hold", "", pgettext_lazy("state", "hold point")),
    "look": State("look", "is-redo", pgettext_lazy("state", "look again")),
    "stop": State("stop", "is-stop", pgettext_lazy("state", "stop")),
    "late": State("late", "is-stop", pgettext_lazy("state", "late")),
    "soon": State("soon", "is-redo", pgettext_lazy("state", "due soon")),
    "over": State("over", "is-stop", pgettext_lazy("state", "over")),
    "short": State("short", "is-stop", pgettext_lazy("state", "short")),
    "enough": State("pass", "is-pass", pgettext_lazy("state", "enough")),
    "in_limits": State("pass", "is-pass", pgettext_lazy("state", "in limits")),
    "done": State("pass", "is-pass", pgettext_lazy("state", "done")),
    "not_done": State("open", "is-quiet", pgettext_lazy("state", "not done")),
    "not_reviewed": State(
        "stop", "is-stop", gettext_lazy("Not reviewed: do not weld from this sheet")
    ),
}

MESSAGE_MARKS = {"success": "pass", "warning": "look", "error": "stop", "info": "now"}


@register.simple_tag
def mark(name: str) -> SafeString:
    """Return a mark alone: `{% mark "pass" %}`. Its word must stand beside it."""
    return SafeString(mark_svg(name))


@register.simple_tag
def message_mark(level_tag: str) -> SafeString:
    """Return the mark of a message's level."""
    return mark(MESSAGE_MARKS.get(level_tag, "now"))


@register.simple_tag
def state(name: str, word: Any = None, css: str = "") -> SafeString:
    """Return mark and word of a state: `{% state "late" word=text css="wrap" %}`.

    Raises ValueError for a state that is not in STATES, so that no page shows a bare word.
    """
    known = STATES.get(str(name).replace("-", "_"))
    if known is None:
        raise ValueError(f"state must be one of {', '.join(STATES)}, got {name!r}")
    classes = " ".join(part for part in ("sign", known.tone, css) if part)
    shown = known.word if word is None else word
    return format_html('<span class="{}">{}{}</span>', classes, mark(known.mark), shown)


@register.simple_tag
def range_line(range_: Range | None, units: str = "us") -> SafeString:
    """Return a range as a dimension line with its start as a dot: `{% range_line r units %}`.

    One-sided it is "at most" or "at least" without a line; one value is that value; None nothing.
    The unit stands with the start figure beside it, unless the two figures need different ones.
    """
    if range_ is None:
        return SafeString("")

    def shown(value: float) -> Shown:
        return show(Measure.of(value, range_.unit), units, digits=3)

    if range_.low is None or range_.high is None or range_.low == range_.high:
        if range_.low is not None and range_.high is None:
            words = _("at least %(limit)s") % {"limit": shown(range_.low)}
        elif range_.high is not None and range_.low is None:
            words = _("at most %(limit)s") % {"limit": shown(range_.high)}
        else:
            words = str(shown(range_.working))
        return format_html('<b class="nb">{}</b>', words)
    low, high = shown(range_.low), shown(range_.high)
    share = None
    if range_.start is not None:
        share = (range_.start - range_.low) / (range_.high - range_.low)
    same = low.unit == high.unit
    return format_html(
        '<span class="range"><span>{}</span>{}<span><span class="vh"> {} </span>{}</span></span>',
        low.figure if same else low,
        SafeString(range_line_svg(share)),
        _("to"),
        high.figure if same else high,
    )


@register.simple_tag
def level_bar(value: float, limit: float, top: float) -> SafeString:
    """Return a level bar with a tick at the limit; its figure stands beside it."""
    return SafeString(level_bar_svg(float(value), float(limit), float(top)))


@register.filter
def kind(field: BoundField) -> str:
    """Return how a field is laid out: "tick", "choices", "hidden", "long" or "plain"."""
    widget = field.field.widget
    name = type(widget).__name__
    if widget.is_hidden:
        return "hidden"
    if name == "CheckboxInput":
        return "tick"
    if name in {"RadioSelect", "CheckboxSelectMultiple"}:
        return "choices"
    return "long" if name == "Textarea" else "plain"
