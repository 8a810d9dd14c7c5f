"""Which classes a page about the forecast is of, and what the viewer may do there."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import Http404, QueryDict

from curriculum.models import ShopClass
from inventory.forms.order import ScopeForm
from inventory.services.forecast import Basis, forecast_basis, running_classes
from shared.people.access import AppRequest
from shared.people.context import units_of
from shared.people.models import Role

BUYERS = {Role.CLERK.value, Role.MANAGER.value}


@dataclass(frozen=True)
class Scope:
    """The classes chosen of those the viewer may look at."""

    basis: Basis
    form: ScopeForm
    chosen: ShopClass | None  # None: all of them together
    available: list[ShopClass]
    units: str
    may_buy: bool
    others: bool  # further classes of the campus take from the same shelf

    @property
    def query(self) -> str:
        """The choice as a query string, so that links keep it."""
        return urlencode({"class": self.chosen.pk}) if self.chosen else ""


def may_buy(request: AppRequest) -> bool:
    """Say whether the viewer buys here: clerk or manager."""
    return bool(request.roles & BUYERS)


def scope_of(request: AppRequest, given: QueryDict | None = None) -> Scope:
    """Return what is looked at: the buyer's campus, or an instructor's own classes.

    Raises Http404 for a class that is not theirs, or over.
    """
    as_of = request.campus.today()
    running = running_classes(request.campus, as_of)
    available = running
    if not may_buy(request):
        own = set(ShopClass.objects.taught_by(request.user).values_list("pk", flat=True))
        available = [row for row in running if row.pk in own]
    form = ScopeForm(request.GET if given is None else given, classes=available)
    if not form.is_valid():
        raise Http404
    picked = form.cleaned_data["class"]
    chosen = next((row for row in available if picked and row.pk == picked.pk), None)
    classes = [chosen] if chosen else available
    return Scope(
        basis=forecast_basis(classes, as_of, campus=request.campus),
        form=form,
        chosen=chosen,
        available=available,
        units=units_of(request),
        may_buy=may_buy(request),
        others=len(classes) < len(running),
    )
