"""Suppositions: the same house with a visit moved or a task left out. Nothing is stored."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils import timezone

from apps.planning.loading.house import House
from apps.trades.models import Visit
from renovation.errors import field_problem

KEYS = {"visits", "drop_tasks"}


def read_what_if(value: Any) -> dict[str, Any]:
    """Check `{"visits": [{"id", "starts", "ends"}], "drop_tasks": [id]}`.

    Raises:
        Problem: 400 with a pointer into `/what_if`.
    """
    if not isinstance(value, dict) or not value or not set(value) <= KEYS:
        raise field_problem("/what_if", "Suppose visits (id, starts, ends) or drop_tasks (ids).")
    visits = value.get("visits", [])
    if not isinstance(visits, list):
        raise field_problem("/what_if/visits", "Give a list of visits.")
    for index, visit in enumerate(visits):
        pointer = f"/what_if/visits/{index}"
        if not isinstance(visit, dict) or set(visit) != {"id", "starts", "ends"}:
            raise field_problem(pointer, "A supposed visit has id, starts and ends.")
        starts, ends = instant(visit["starts"], pointer), instant(visit["ends"], pointer)
        if type(visit["id"]) is not int or starts >= ends:
            raise field_problem(pointer, "A visit ends after it starts.")
    drops = value.get("drop_tasks", [])
    if not isinstance(drops, list) or not all(type(pk) is int for pk in drops):
        raise field_problem("/what_if/drop_tasks", "Give a list of task ids.")
    return value


def instant(value: Any, pointer: str) -> datetime:
    try:
        found = datetime.fromisoformat(value)
    except (TypeError, ValueError) as exc:
        raise field_problem(pointer, "Write instants as 2026-01-31T18:30:00+00:00.") from exc
    if timezone.is_naive(found):
        raise field_problem(pointer, "Say the time zone too.")
    return found


def suppose(house: House, what_if: dict[str, Any]) -> None:
    """Change the rows as read. Ids of other houses change nothing: they were not read."""
    for supposed in what_if.get("visits", []):
        if visit := house.visits.get(supposed["id"]):
            visit.state = Visit.State.AGREED
            visit.starts = datetime.fromisoformat(supposed["starts"])
            visit.ends = datetime.fromisoformat(supposed["ends"])
    for pk in what_if.get("drop_tasks", []):
        if task := house.tasks.get(pk):
            task.status = task.Status.DROPPED
