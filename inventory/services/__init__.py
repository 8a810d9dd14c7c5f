from .ledger import (
    AlreadyReversed,
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
    "count_shelf",
    "finish_pack",
    "move",
    "open_pack",
    "pack_size",
    "receive_packs",
    "reverse",
    "scale_of",
]
