"""The audit: who did what, to be read, searched and handed on."""

from datetime import datetime, time, timedelta
from typing import Any

from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shared.http import csv_response, render_page
from shared.people.access import AppRequest, role_required
from shared.people.audit import audit as note
from shared.people.forms import AuditFilter
from shared.people.models import AuditEntry, Role
from shared.text import fold

ROWS = 50


def _entries(request: AppRequest, chosen: dict[str, Any]) -> QuerySet[AuditEntry]:
    """Those of this campus and of the whole installation that fit the filter."""
    found = AuditEntry.objects.select_related("actor").filter(
        Q(campus=request.campus) | Q(campus=None)
    )
    if chosen.get("action"):
        found = found.filter(action__icontains=chosen["action"])
    if chosen.get("who"):
        found = found.filter(actor__search_name__contains=fold(chosen["who"]))
    if chosen.get("kind"):
        found = found.filter(target_type__icontains=chosen["kind"])
    if chosen.get("number"):
        found = found.filter(target_id=chosen["number"])
    midnight = time(tzinfo=request.campus.zone)
    if chosen.get("since"):
        found = found.filter(at__gte=datetime.combine(chosen["since"], midnight))
    if chosen.get("until"):
        found = found.filter(at__lt=datetime.combine(chosen["until"] + timedelta(days=1), midnight))
    return found


def _in_words(detail: dict[str, Any]) -> str:
    def word(value: Any) -> str:
        return (", ".join(map(str, value)) or "–") if isinstance(value, list) else str(value)

    # PostgreSQL keeps no order of keys; what was there before is read first
    keys = sorted(detail, key=lambda key: (key != "before", key))
    return "; ".join(f"{key}: {word(detail[key])}" for key in keys)


@require_GET
@role_required(Role.MANAGER)
def audit(request: AppRequest) -> HttpResponse:
    form = AuditFilter(request.GET)
    valid = form.is_valid()
    found = _entries(request, form.cleaned_data) if valid else AuditEntry.objects.none()
    page = Paginator(found, ROWS).get_page(request.GET.get("page"))
    rows = [(entry, _in_words(entry.detail)) for entry in page]
    context = {"form": form, "page": page, "rows": rows}
    return render_page(
        request, "people/audit.html", "people/_audit_rows.html", context, 200 if valid else 422
    )


# A download leaves its page and key where they are, so a second tap is a second export: both are
# made and both are noted, outside the once guard.
@require_POST
@role_required(Role.MANAGER)
@transaction.atomic
def audit_export(request: AppRequest) -> HttpResponse:
    """Hand out the filtered entries as CSV, and note that it was done."""
    form = AuditFilter(request.POST)
    if not form.is_valid():
        return HttpResponse(_("Put the dates right first."), status=422, content_type="text/plain")
    entries = list(_entries(request, form.cleaned_data))
    note(request.user, "audit.exported", campus=request.campus, detail={"rows": len(entries)})
    header = ["at", "action", "by", "by_id", "kind", "number", "detail"]
    rows = (
        [
            timezone.localtime(each.at).isoformat(timespec="seconds"),
            each.action,
            each.actor.name if each.actor else "",
            each.actor_id,
            each.target_type,
            each.target_id,
            _in_words(each.detail),
        ]
        for each in entries
    )
    return csv_response(f"audit-{request.campus.today()}.csv", header, rows)
