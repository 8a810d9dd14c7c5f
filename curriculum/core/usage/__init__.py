"""What one attempt of a setup takes, computed from the setup's own numbers.

usage(exercise, setup) → Usage(weld, time, items, supplies); each figure with the steps to it
blanks(setup)          → the pieces to hand out
rods_to_lay_out(usage) → rods and electrodes, rounded up
usual(exercise, setup) → booth time and first coupons that pass, as planned for such a weld
weekly()               → what goes by student and week, not by coupon
"""

from curriculum.core.usage.attempt import usage
from curriculum.core.usage.flame import neutral_ratio
from curriculum.core.usage.least import least_passes
from curriculum.core.usage.model import (
    Item,
    LayOut,
    LeastPasses,
    PassMetal,
    Supply,
    Time,
    Usage,
    UsageError,
    Weld,
    rods_to_lay_out,
)
from curriculum.core.usage.plate import Blank, blanks, cut_of
from curriculum.core.usage.runs import pass_shares
from curriculum.core.usage.usual import Weekly, usual, weekly, weekly_of

__all__ = [
    "Blank",
    "Item",
    "LayOut",
    "LeastPasses",
    "PassMetal",
    "Supply",
    "Time",
    "Usage",
    "UsageError",
    "Weekly",
    "Weld",
    "blanks",
    "cut_of",
    "least_passes",
    "neutral_ratio",
    "pass_shares",
    "rods_to_lay_out",
    "usage",
    "usual",
    "weekly",
    "weekly_of",
]
