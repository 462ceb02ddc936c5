"""What the pile holds, what the job wants of it, and how it is to be cut."""

from apps.timber.models.needs import Need, StockLength
from apps.timber.models.pieces import Defect, MoistureReading, Piece
from apps.timber.models.plans import Cut, CuttingBar, CuttingPlan

__all__ = [
    "Cut", "CuttingBar", "CuttingPlan", "Defect", "MoistureReading", "Need", "Piece", "StockLength",
]  # fmt: skip
