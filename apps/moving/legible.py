"""Whether the answers that a house brings along can be shown: those that are kept as JSON, and that
no column's own rule looks into. A file may come from anybody; its pages must not fail of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rest_framework.serializers import Serializer

from apps.moving.manifest import Refused
from apps.planning.api.answers import (
    AlertSerializer,
    ChangeSerializer,
    LevelSerializer,
    MovedSerializer,
    ReasonSerializer,
    UnplacedSerializer,
)
from apps.planning.api.helping import ContradictionSerializer, UnreadySerializer
from apps.planning.api.odds import OddsSerializer
from apps.timber.api.cutting_answers import CutLevelSerializer, UnmetSerializer

LISTS: Mapping[str, type[Serializer[Any]]] = {
    "planning.Plan.objective": LevelSerializer,
    "planning.Plan.unplaced": UnplacedSerializer,
    "planning.Plan.unready": UnreadySerializer,
    "planning.Plan.contradictions": ContradictionSerializer,
    "planning.Plan.alerts": AlertSerializer,
    "planning.Plan.changes": ChangeSerializer,
    "timber.CuttingPlan.objective": CutLevelSerializer,
    "timber.CuttingPlan.unmet": UnmetSerializer,
}
ONES: Mapping[str, type[Serializer[Any]]] = {
    "planning.Plan.moved": MovedSerializer,
    "planning.Plan.odds": OddsSerializer,
    "planning.Stint.why_not_sooner": ReasonSerializer,
}
ADDED = {"from_plan": None}
"""What the API adds to what is kept."""


def refuse_illegible(rows: Mapping[str, list[dict[str, Any]]]) -> None:
    """Read every answer as the API does.

    Raises:
        Refused: one of them cannot be.
    """
    for column, form in (*LISTS.items(), *ONES.items()):
        label, _, name = column.rpartition(".")
        shown = form()
        for row in rows[label]:
            found = [row[name]] if column in ONES else row[name] or []
            if not isinstance(found, list) or not all(is_legible(one, shown) for one in found):
                raise Refused(f"{label}: what is in {name} makes no sense.")


def is_legible(value: Any, shown: Serializer[Any]) -> bool:
    if value is None:
        return True
    if not isinstance(value, dict):
        return False
    try:
        shown.to_representation({**ADDED, **value})
    except (AttributeError, KeyError, TypeError, ValueError):
        return False
    return True
