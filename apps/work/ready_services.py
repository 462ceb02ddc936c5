"""Adding a ready package: one package, its tasks and links, in one go or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db import transaction

from apps.floors.models import Floor
from apps.property.models import Room
from apps.work.models import Link, Task, Trade, WorkPackage
from apps.work.places import area_mm2
from apps.work.ready import READY, ReadyTask
from renovation.errors import field_problem

MM2_PER_M2 = 1_000_000


@dataclass(frozen=True)
class ReadyRows:
    """The rows of a ready package, saved or as they would be."""

    package: WorkPackage
    tasks: list[Task]
    links: list[Link]


@transaction.atomic
def add_ready_package(**wanted: Any) -> ReadyRows:
    """Add a ready package. Arguments and refusals as for `ready_rows`."""
    rows = ready_rows(**wanted)
    rows.package.save()
    for row in (*rows.tasks, *rows.links):
        row.save()
    return rows


def ready_rows(
    *,
    kind: str,
    floor: Floor,
    area: list[list[int]] | None = None,
    route: list[list[int]] | None = None,
    clearance_mm: int = 150,
    room: Room | None = None,
    trade: Trade | None = None,
    title: str = "",
) -> ReadyRows:
    """The rows that a ready package would have, none of them saved.

    Args:
        kind: a key of `READY`.
        area: closed ring [mm] where the work touches the floor, or else
        route: the line of a pipe or cable [mm], with `clearance_mm` each side.

    Raises:
        Problem: `invalid` when the place is missing.
        ValidationError: when the place is not on the floor, or too large for one task.
    """
    ready = READY[kind]
    place = area or route
    if ready.needs_place and not place:
        raise field_problem("/area", "Say where on the floor: an area or a route.")
    package = WorkPackage(
        property=floor.property,
        title=title or f"{ready.title}, {floor.name}"[:120],
        kind=ready.kind,
        note=ready.note,
    )
    area_m2 = area_mm2(place, clearance_mm) / MM2_PER_M2 if place else 0.0
    on_floor = {"area": area, "route": route, "clearance_mm": clearance_mm}
    tasks = {
        row.step: Task(
            package=package,
            floor=floor,
            room=room,
            trade=trade if row.by_trade else None,
            **(on_floor if row.floor_action != "none" else {}),
            **task_fields(row, area_m2),
        )
        for row in ready.tasks
    }
    for task in tasks.values():
        task.clean()
        task.validate_constraints()
    links = [
        Link(
            before=tasks[link.before],
            after=tasks[link.after],
            min_lag_minutes=link.min_lag_minutes,
            reason=link.reason,
        )
        for link in ready.all_links()
    ]
    return ReadyRows(package, list(tasks.values()), links)


def task_fields(row: ReadyTask, area_m2: float) -> dict[str, Any]:
    """What the table says of a task, for an area [m²]."""
    low, likely, high = row.effort.low_likely_high(area_m2)
    return {
        "title": row.title,
        "low_minutes": low,
        "likely_minutes": likely,
        "high_minutes": high,
        "floor_action": row.floor_action,
        "loud": row.loud,
        "outdoors": row.outdoors,
    }
