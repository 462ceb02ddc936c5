"""The checks over HTTP: calculators that keep nothing."""

from __future__ import annotations

from typing import Any

from apps.checks.api.calculator import viewset_of
from apps.checks.api.calculators import CALCULATORS
from apps.checks.api.settings_list import SettingsListViewSet

ROUTES: tuple[tuple[str, Any], ...] = (
    *((f"checks/{one.name}", viewset_of(one)) for one in CALCULATORS),
    ("checks/settings", SettingsListViewSet),
)
