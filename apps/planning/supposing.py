"""A house as read, with a supposition made of it. Nothing is stored, nothing is asked twice.

What was supposed was checked before (`what_if.py`); a row that has gone since changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time
from typing import Any

from apps.planning.ground import touched_by
from apps.planning.loading.house import House, SupposedHours
from apps.planning.what_if import supposed_task
from apps.trades.models import Visit
from apps.work.models import Link, Task, Tool


def suppose(house: House, what_if: Mapping[str, Any]) -> None:
    """Change the rows as read."""
    suppose_visits(house, what_if.get("visits", []))
    suppose_hours(house, what_if)
    for pk in what_if.get("drop_tasks", []):
        if task := house.tasks.get(pk):
            task.status = Task.Status.DROPPED
            house.minutes_left[pk] = 0
    suppose_tasks(house, what_if.get("add_tasks", []))


def suppose_visits(house: House, visits: Iterable[Mapping[str, Any]]) -> None:
    for supposed in visits:
        if visit := house.visits.get(supposed["id"]):
            visit.state = Visit.State.AGREED
            visit.starts = datetime.fromisoformat(supposed["starts"])
            visit.ends = datetime.fromisoformat(supposed["ends"])


def suppose_hours(house: House, what_if: Mapping[str, Any]) -> None:
    for off in what_if.get("days_off", []):
        hours = house.supposed_hours.setdefault(off["person"], SupposedHours())
        hours.days_off.add(date.fromisoformat(off["date"]))
    for more in what_if.get("more_hours", []):
        hours = house.supposed_hours.setdefault(more["person"], SupposedHours())
        hours.more.append(
            (
                date.fromisoformat(more["date"]),
                time.fromisoformat(more["starts"]),
                time.fromisoformat(more["ends"]),
            )
        )


def suppose_tasks(house: House, added: list[Mapping[str, Any]]) -> None:
    """Put the added tasks and their links among the house's own."""
    tools = Tool.objects.in_bulk({pk for item in added for pk in item.get("tools", [])})
    for index, item in enumerate(added):
        task = supposed_task(item, index)
        wanted = [tools[pk] for pk in item.get("tools", []) if pk in tools]
        # As if read with its tools: there is no row that could be asked for them.
        task._prefetched_objects_cache = {"tools": wanted}  # type: ignore[attr-defined]  # noqa: SLF001
        house.tasks[task.pk] = task
        house.minutes_left[task.pk] = task.likely_minutes
        if task.floor_action != Task.FloorAction.NONE:
            key = ("task", task.pk)
            house.touched |= touched_by(house.boards.values(), [(key, task)])
    for index, item in enumerate(added):
        own = -1 - index
        pairs = [
            *((other, own) for other in item.get("after", [])),
            *((own, other) for other in item.get("before", [])),
        ]
        house.links += [
            Link(pk=-1 - len(house.links) - n, before=house.tasks[before], after=house.tasks[after])
            for n, (before, after) in enumerate(pairs)
            if before in house.tasks and after in house.tasks
        ]
