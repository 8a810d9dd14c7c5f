"""What one attempt of a setup takes, computed from the setup's own numbers.

usage(exercise, setup) → Usage(weld, time, items); each figure with the steps to it
blanks(setup)          → the pieces to hand out
rods_to_lay_out(usage) → rods and electrodes, rounded up
"""

from curriculum.core.usage.attempt import usage
from curriculum.core.usage.model import (
    Item,
    LayOut,
    Time,
    Usage,
    UsageError,
    Weld,
    rods_to_lay_out,
)
from curriculum.core.usage.plate import Blank, blanks
from curriculum.core.usage.runs import pass_shares

__all__ = [
    "Blank",
    "Item",
    "LayOut",
    "Time",
    "Usage",
    "UsageError",
    "Weld",
    "blanks",
    "pass_shares",
    "rods_to_lay_out",
    "usage",
]
