"""Trades, visits with their links and answers, access needs and temporary measures over HTTP;
sign-offs too, since they release boards."""

from __future__ import annotations

from apps.trades.api.access import AccessNeedViewSet, TemporaryMeasureViewSet
from apps.trades.api.links import VisitLinkViewSet, VisitReplyViewSet
from apps.trades.api.served import SignOffViewSet
from apps.trades.api.visits import TradeViewSet, VisitViewSet

ROUTES: tuple[tuple[str, type], ...] = (
    ("sign-offs", SignOffViewSet),
    ("trades", TradeViewSet),
    ("visits", VisitViewSet),
    ("visit-links", VisitLinkViewSet),
    ("visit-replies", VisitReplyViewSet),
    ("access-needs", AccessNeedViewSet),
    ("temporary-measures", TemporaryMeasureViewSet),
)
