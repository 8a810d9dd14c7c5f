"""What it takes: stock in integer base units, its ledger, and what is on order.

Base units: milligram, square millimetre, millilitre, piece, millimetre. Money is an integer of
ten-thousandths behind a `Decimal` property: sums of floats drift.
"""

from inventory.models.cutplans import CutPart, CutPiece, CutPlan
from inventory.models.cutting import CuttingMachine
from inventory.models.ledger import CylinderReading, Movement, OpenPack, SizedStock
from inventory.models.orders import ReceiptLine, Requisition, RequisitionLine
from inventory.models.stock import (
    MONEY_SCALE,
    QUANTITY_MAX,
    WEEKS_MAX,
    Pack,
    StockItem,
    Supplier,
    money_from_e4,
)

__all__ = [
    "MONEY_SCALE",
    "QUANTITY_MAX",
    "WEEKS_MAX",
    "CutPart",
    "CutPiece",
    "CutPlan",
    "CuttingMachine",
    "CylinderReading",
    "Movement",
    "OpenPack",
    "Pack",
    "ReceiptLine",
    "Requisition",
    "RequisitionLine",
    "SizedStock",
    "StockItem",
    "Supplier",
    "money_from_e4",
]
