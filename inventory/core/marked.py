"""Names in the expressions of the forecast's steps, marked as in `marked_names` of the library."""

from __future__ import annotations

from curriculum.core.steps import in_context as pgettext

NAMES = (
    pgettext("formula", "ample"),
    pgettext("formula", "approval"),
    pgettext("formula", "attempts"),
    pgettext("formula", "factor"),
    pgettext("formula", "fails"),
    pgettext("formula", "figure"),
    pgettext("formula", "given"),
    pgettext("formula", "lead"),
    pgettext("formula", "need"),
    pgettext("formula", "on hand"),
    pgettext("formula", "on order"),
    pgettext("formula", "one"),
    pgettext("formula", "opinion"),
    pgettext("formula", "pack"),
    pgettext("formula", "packs"),
    pgettext("formula", "part"),
    pgettext("formula", "passes"),
    pgettext("formula", "practice"),
    pgettext("formula", "price"),
    pgettext("formula", "rate"),
    pgettext("formula", "student weeks"),
    pgettext("formula", "students"),
    pgettext("formula", "weight"),
)
