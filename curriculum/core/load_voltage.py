"""The arc voltage that goes with a current, where none is stated: a convention, not a reading."""

from __future__ import annotations

from curriculum.core.defaults import sourced, table
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop


def load_voltage(process: str, current: Input | Step) -> Input | Step:
    """Return the conventional load voltage of IEC 60974-1 in V.

    A straight line with the current in A, up to the largest voltage of the process.

    Raises
    ------
    ValueError
        If `current` is negative, or `process` has no arc.
    """
    if not current.value >= 0:
        raise ValueError(f"current must be 0 or more, got {current.value}")
    for row in table("consumables")["arc_voltage"]:
        if process not in row["processes"]:
            continue
        source = sourced(row)
        if row["base_v"] + row["slope_v_a"] * current.value > row["most_v"]:
            return Input(row["most_v"], "V", source)
        return Worksheet().add(
            gettext_noop("Arc voltage by the current"),
            "base + slope * current",
            "V",
            base=Input(row["base_v"], "V", source),
            slope=Input(row["slope_v_a"], "V/A", source),
            current=current,
        )
    raise ValueError(f"process must be that of an arc, got {process!r}")
