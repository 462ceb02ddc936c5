"""Which work opens the floor on a household route, from when to when."""

from __future__ import annotations

from collections.abc import Iterator

from apps.planning.ground import read_ground
from apps.planning.loading.house import OPEN_TASKS, House
from apps.planning.problem import RouteOpening
from apps.work.models import Task


def route_openings(house: House, aliases: dict[str, str]) -> tuple[RouteOpening, ...]:
    """For each lift that cuts a way the household needs: itself, with each task that fixes there.

    Boards that are up already are an opening without a beginning.
    """
    lifts = list(acting(house, Task.FloorAction.LIFT))
    fixes = list(acting(house, Task.FloorAction.FIX))
    up = frozenset(pk for pk, board in house.boards.items() if board.state in {"up", "missing"})
    if not lifts and not up:
        return ()
    ground = read_ground(house.record)
    if not ground.routes:
        return ()
    openings = [
        (None, up),
        *((aliases.get(f"task:{t.pk}"), house.touched["task", t.pk]) for t in lifts),
    ]
    found: list[RouteOpening] = []
    cut = ground.cut_with_up([boards for _, boards in openings])
    for (opens, boards), is_cut in zip(openings, cut, strict=True):
        if not is_cut:
            continue
        closing = [
            aliases[f"task:{task.pk}"]
            for task in fixes
            if house.touched["task", task.pk] & boards and f"task:{task.pk}" in aliases
        ]
        found += [RouteOpening(opens, key) for key in closing] or [RouteOpening(opens, None)]
    return tuple(dict.fromkeys(found))


def acting(house: House, action: Task.FloorAction) -> Iterator[Task]:
    """Open tasks that do this to boards that are known."""
    for task in house.tasks.values():
        known = ("task", task.pk) in house.touched
        if task.floor_action == action and task.status in OPEN_TASKS and known:
            yield task
