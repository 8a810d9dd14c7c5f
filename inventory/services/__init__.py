from .ledger import (
    AlreadyReversed,
    count_shelf,
    finish_pack,
    move,
    open_pack,
    receive_packs,
    reverse,
)

__all__ = [
    "AlreadyReversed",
    "count_shelf",
    "finish_pack",
    "move",
    "open_pack",
    "receive_packs",
    "reverse",
]
