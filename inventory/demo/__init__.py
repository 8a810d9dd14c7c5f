"""Stock of the demo: suppliers, shelves, five weeks of movements, and an order on its way."""

from . import shelf, ledger, sizes, order, outlook  # noqa: I001 - their steps run in this order

__all__ = ["ledger", "order", "outlook", "shelf", "sizes"]
