"""The addresses of this app."""

from __future__ import annotations

from apps.repairs.api.repairs import RepairViewSet

ROUTES: tuple[tuple[str, type], ...] = (("repairs", RepairViewSet),)
