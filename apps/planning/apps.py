from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.utils import timezone

from renovation.written import house_written


class PlanningConfig(AppConfig):
    name = "apps.planning"
    label = "planning"

    def ready(self) -> None:
        house_written.connect(edited, dispatch_uid="planning")


def edited(*, house_id: int, **kwargs: Any) -> None:
    """Something of a house was changed: a plan may be due."""
    from apps.planning.routine.replanning import note_edit  # noqa: PLC0415 (needs models)

    note_edit(house_id=house_id, now=timezone.now())
