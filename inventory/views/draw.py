"""The draw of acetylene in a session: a fragment beside the floor."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from curriculum.core.setup_check import Finding
from curriculum.services.findings import LEVELS
from curriculum.services.sheet import said
from curriculum.views.common import own_session
from inventory.services.draw import session_draw
from inventory.views.item import may_write
from shared.http import render_fragment
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER)
def acetylene(request: AppRequest, pk: int) -> HttpResponse:
    """Hold the flow of all torches of a session against the manifold; empty without a torch."""
    found = session_draw(own_session(request, pk))
    context = {
        "found": found,
        "finding": _shown(found.draw.finding, units_of(request)) if found.draw else None,
        "may_write": may_write(request),
    }
    return render_fragment(request, "inventory/_acetylene.html", context)


def _shown(finding: Finding, units: str) -> dict[str, Any]:
    """Return what `curriculum/_finding.html` writes."""
    words = {"outside": _("outside"), "look": _("look again"), "ok": _("in limits")}
    return {
        "mark": LEVELS[finding.level][0],
        "word": words[finding.level],
        "message": said(finding.message, units),
        "source": said(finding.source),
    }
