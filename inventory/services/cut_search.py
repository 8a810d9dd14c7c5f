"""The longer search for a better cutting plan, in the background, best so far always usable.

A thread of the server's own process does it, with its state in the row of the part: the shop's
one-command start has no second process to keep alive, and a search is lost for nothing when the
server stops, because what it had found is stored. Whoever holds the row's `search` may write; who
takes it away ends the search at its next report.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from threading import Thread
from uuid import UUID, uuid4

from django.db import connection, transaction
from django.utils import timezone

from inventory.core.cutting import Plan, check_plan, plan_as_json, plan_of_json, solve
from inventory.models import CutPart, CutPlan
from inventory.services.cutplans import NotOpen, problem_of

LONGER = 300.0  # seconds
logger = logging.getLogger(__name__)


def launch(work: Callable[[], None]) -> None:
    """Run `work` beside the request."""

    def beside() -> None:
        try:
            work()
        finally:
            connection.close()

    Thread(target=beside, daemon=True, name="cutting search").start()


@transaction.atomic
def begin_search(*, part: CutPart, seconds: float = LONGER) -> None:
    """Search for a better plan of a part; one that is searched for already goes on.

    Raises NotOpen where it is done, given up, or has no plan to better.
    """
    locked = CutPart.objects.select_for_update(of=("self",)).select_related("plan").get(pk=part.pk)
    now = timezone.now()
    if not locked.can_be_cut or locked.plan.state != CutPlan.State.OPEN:
        raise NotOpen
    if locked.searching(now):
        return
    locked.search = uuid4()
    locked.search_beat, locked.search_ends = now, now + timedelta(seconds=seconds)
    locked.save(update_fields=["search", "search_beat", "search_ends"])
    work = partial(_run, locked.pk, locked.search, seconds)
    transaction.on_commit(lambda: launch(work))


def end_search(*, part: CutPart) -> None:
    """End the search of a part; the best plan so far stands already."""
    CutPart.objects.filter(pk=part.pk).update(search=None)


def _run(pk: int, run: UUID, seconds: float) -> None:
    try:
        search(pk, run, seconds)
    except Exception:
        logger.exception("the search for a better cutting plan of part %s broke off", pk)
    finally:
        CutPart.objects.filter(pk=pk, search=run).update(search=None)


def search(pk: int, run: UUID, seconds: float) -> None:
    """Search and store each better plan, as long as the part's `search` is `run`."""
    part = CutPart.objects.get(pk=pk)
    problem, best = problem_of(part), plan_of_json(part.answer or {})

    def report(plan: Plan) -> bool:
        """Store what is found; a true answer ends the search."""
        nonlocal best
        mine = CutPart.objects.filter(pk=pk, search=run, done_at=None)
        if plan == best:
            return not mine.update(search_beat=timezone.now())
        check_plan(problem, plan)
        best = plan
        return not mine.update(search_beat=timezone.now(), answer=plan_as_json(plan))

    report(solve(problem, seconds=seconds, progress=report, start=best))
