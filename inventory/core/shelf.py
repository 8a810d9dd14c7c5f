"""The shelf against demand, week by week: what a chart draws and the table beside it says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.core.forecast import Forecast
from inventory.core.orders import exceeds
from inventory.core.simulate import iso_week


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPoint:
    """One calendar week, figures at its end, in the item's unit."""

    week: str  # as in Forecast.weeks
    monday: date
    has_shop: bool  # False: a week without sessions between two with
    likely_in_week: float
    ample_in_week: float
    likely: float  # demand to date
    ample: float
    supply: float  # shelf with receipts due by then, nothing used
    left: float  # supply less ample demand; below 0 it is short
    p_run_out: float
    is_short: bool


def shelf_against_demand(forecast: Forecast, item: str) -> list[ShelfPoint]:
    """Return one point a week from the first to the last week with sessions.

    Weeks between them without shop are there too, with nothing used and the shelf of the week
    before, so that time runs evenly along a chart. KeyError if the forecast has no such item.
    """
    found = forecast.item(item)
    weeks = [iso_week(day) for day in forecast.sessions]
    points: list[ShelfPoint] = []
    for n, week in enumerate(forecast.weeks):
        last = len(weeks) - 1 - weeks[::-1].index(week)
        day = forecast.sessions[last]
        monday = day - timedelta(days=day.weekday())
        while points and points[-1].monday + timedelta(weeks=1) < monday:
            points.append(_week_off(points))
        ample, supply = found.cumulative.ample[last], found.supply[last]
        points.append(
            ShelfPoint(
                week=week,
                monday=monday,
                has_shop=True,
                likely_in_week=found.weekly.likely[n],
                ample_in_week=found.weekly.ample[n],
                likely=found.cumulative.likely[last],
                ample=ample,
                supply=supply,
                left=supply - ample,
                p_run_out=found.run_out[last],
                is_short=exceeds(ample, supply),
            )
        )
    return points


def _week_off(points: Sequence[ShelfPoint]) -> ShelfPoint:
    before = points[-1]
    monday = before.monday + timedelta(weeks=1)
    return ShelfPoint(
        week=iso_week(monday),
        monday=monday,
        has_shop=False,
        likely_in_week=0.0,
        ample_in_week=0.0,
        likely=before.likely,
        ample=before.ample,
        supply=before.supply,
        left=before.left,
        p_run_out=before.p_run_out,
        is_short=before.is_short,
    )
