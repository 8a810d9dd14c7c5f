"""The heat input of a coupon as it was logged, beside what its setup gives."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from curriculum.core import spec
from curriculum.core.heat_input import against, by_pass, notes, overall, pass_heat
from curriculum.services.sheet import said

if TYPE_CHECKING:
    from grading.models import Attempt


def heat_context(attempt: Attempt, exercise: spec.Exercise, setup: spec.Setup) -> dict[str, Any]:
    """Return what `grading/_heat_used.html` shows; nothing where no current was logged.

    A voltage that was not logged is the one the setup states, and the page says so.
    """
    if attempt.used_current is None:
        return {}
    used = pass_heat(
        exercise,
        voltage=attempt.used_voltage or setup.voltage,
        current=attempt.used_current,
        travel_speed=attempt.used_travel_speed,
    )
    stated = by_pass(exercise, setup)
    if used is None:
        return {}
    return {
        "heat_used": used,
        "heat_voltage_of_setup": attempt.used_voltage is None and setup.voltage is not None,
        "heat_stated": overall(stated),
        "heat_where": against(used, stated),
        "heat_notes": [said(note) for note in notes(setup)],
    }
