"""Marks with their words, ranges as dimension lines, and small helpers of the page frame."""

from __future__ import annotations

from typing import Any, NamedTuple

from django import template
from django.forms import BoundField
from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext_lazy, pgettext_lazy

from shared.charts import mark_svg

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
    return mark_safe(mark_svg(name))


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
