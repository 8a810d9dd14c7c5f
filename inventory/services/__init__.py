from .forecast import (
    Basis,
    class_forecast_case,
    class_named,
    default_pack,
    forecast_basis,
    reckon,
    running_classes,
)
from .ledger import (
    AlreadyReversed,
    LeftoverReturned,
    ShelfOverflow,
    count_shelf,
    finish_pack,
    move,
    open_pack,
    receive_packs,
    reverse,
)
from .scales import pack_size, scale_of

__all__ = [
    "AlreadyReversed",
    "Basis",
    "LeftoverReturned",
    "ShelfOverflow",
    "class_forecast_case",
    "class_named",
    "count_shelf",
    "default_pack",
    "finish_pack",
    "forecast_basis",
    "move",
    "open_pack",
    "pack_size",
    "receive_packs",
    "reckon",
    "reverse",
    "running_classes",
    "scale_of",
]
