"""What one attempt of a setup costs: a fragment under its figures."""

from __future__ import annotations

from decimal import Decimal

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from curriculum.core.usage import UsageError
from curriculum.models import ExerciseVersion
from curriculum.services import to_spec
from curriculum.services.sheet import pick_setup
from inventory.services import attempt_cost as costs
from shared.http import render_fragment
from shared.people.access import AppRequest, role_required
from shared.people.context import units_of
from shared.people.models import Role


@require_GET
@role_required(Role.INSTRUCTOR, Role.MANAGER, Role.CLERK)
def attempt_cost(request: AppRequest, pk: int, key: str) -> HttpResponse:
    """Show what an attempt costs, plate as it was last cut, each line with how it came about."""
    versions = ExerciseVersion.objects.visible_to(request.user).with_content()
    spec = to_spec(get_object_or_404(versions, pk=pk))
    try:
        lines = costs.attempt_cost(request.campus, spec, pick_setup(spec, key))
    except KeyError as error:
        raise Http404 from error
    except UsageError:
        lines = []  # the page around it says why
    context = {
        "lines": lines,
        "total": sum((line.cost for line in lines if line.cost is not None), Decimal(0)),
        "unknown": sum(line.cost is None for line in lines),
        "units": units_of(request),
    }
    return render_fragment(request, "inventory/_attempt_cost.html", context)
