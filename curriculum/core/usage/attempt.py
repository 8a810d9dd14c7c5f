"""One attempt put together: the weld, the times, every item and what comes out of the wall."""

from __future__ import annotations

from curriculum.core.defaults import Defaults
from curriculum.core.defaults import defaults as table_defaults
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup
from curriculum.core.usage.filler import filler_items
from curriculum.core.usage.model import Usage, UsageError
from curriculum.core.usage.plate import plate_items
from curriculum.core.usage.runs import runs
from curriculum.core.usage.shop import gas_items, tungsten_item, wear_items
from curriculum.core.usage.supplies import air, energy
from curriculum.core.usage.times import times_of
from curriculum.core.usage.weld import weld_length, weld_of

WEEKS_MOST = 60


def usage(
    exercise: Exercise,
    setup: Setup,
    *,
    defaults: Defaults | None = None,
    week: int | None = None,
) -> Usage:
    """Return what one attempt of `setup` takes: metal, times, and each item with its steps.

    Parameters
    ----------
    exercise : Exercise
        Its process, position and booth minutes are used.
    setup : Setup
        Of a range its working value is used (start, else middle, else bound).
    defaults : Defaults, optional
        Planning figures for what the setup does not state; the project's table if not given.
    week : int, optional
        Week of the term, 1 to 60, for what hands grow out of (regrinds, stuck electrodes); the
        mean over a term if not given.

    Raises
    ------
    UsageError
        If something needed is missing or cannot be; `where` names its key within the setup.
    """
    if week is not None and not 1 <= week <= WEEKS_MOST:
        told = _("must lie between 1 and %(most)s, got %(got)s", most=WEEKS_MOST, got=week)
        raise UsageError("week", told, ("2",))
    figures = defaults or table_defaults()
    found = runs(exercise, setup)
    length = weld_length(setup)
    weld, metals = weld_of(exercise, setup, found, length, figures)
    times = times_of(exercise, setup, found, length, figures)
    items = [
        *plate_items(setup, figures),
        *filler_items(exercise, setup, found, metals, figures, week),
        *gas_items(exercise, setup, times, figures),
        *tungsten_item(exercise, setup, figures, week),
        *wear_items(exercise, setup, times, figures),
    ]
    supplies = (energy(exercise, found, times, figures), air(setup, times.time.gas, figures))
    return Usage(
        weld=weld,
        time=times.time,
        items=tuple(items),
        supplies=tuple(one for one in supplies if one is not None),
    )
