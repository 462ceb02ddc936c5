"""The pile, what the job wants of timber and what can be bought, over HTTP."""

from __future__ import annotations

from typing import Any

from apps.timber.api.cutting import CuttingPlanViewSet, CutViewSet
from apps.timber.api.needs import NeedViewSet
from apps.timber.api.pieces import PieceViewSet
from apps.timber.api.readings import MoistureReadingViewSet
from apps.timber.api.stock import StockLengthViewSet

ROUTES: tuple[tuple[str, Any], ...] = (
    ("timber-pieces", PieceViewSet),
    ("moisture-readings", MoistureReadingViewSet),
    ("timber-needs", NeedViewSet),
    ("stock-lengths", StockLengthViewSet),
    ("cutting-plans", CuttingPlanViewSet),
    ("cuts", CutViewSet),
)
