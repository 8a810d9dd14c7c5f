"""Gas in cylinders: what is in them as a real gas, and how fast acetylene may be drawn. Pure."""

from .cylinder import (
    ATMOSPHERE_PA,
    REFERENCE_K,
    Contents,
    by_gauge,
    by_weight,
    gauge_of,
    left_share,
    told_by,
)
from .draw import Draw, Manifold, acetylene_draw
from .errors import GasError

__all__ = [
    "ATMOSPHERE_PA",
    "REFERENCE_K",
    "Contents",
    "Draw",
    "GasError",
    "Manifold",
    "acetylene_draw",
    "by_gauge",
    "by_weight",
    "gauge_of",
    "left_share",
    "told_by",
]
