"""Reads of the work that are more than a queryset."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from apps.work.models import Task, TimeEntry

LEAST_LEFT_MINUTES = 15
OPEN_STATES = (Task.Status.TO_DO, Task.Status.DOING)


def remaining_minutes(tasks: Iterable[Task]) -> dict[int, int]:
    """What is likely left to do on each task, by its id [min]. One query.

    The likely minutes less those noted; or, where somebody said how much is left, that less
    what was worked from then on. At least a quarter of an hour while the task is open:
    whatever the clock says, somebody still has to end it. Done and dropped leave 0.
    """
    rows = {task.pk: task for task in tasks}
    worked = dict.fromkeys(rows, 0)
    entries = TimeEntry.objects.filter(task__in=rows).order_by()
    for pk, starts, minutes in entries.values_list("task", "starts", "minutes"):
        worked[pk] += minutes_since(rows[pk].minutes_left_at, starts, minutes)
    return {
        pk: max(LEAST_LEFT_MINUTES, (task.minutes_left or task.likely_minutes) - worked[pk])
        if task.status in OPEN_STATES
        else 0
        for pk, task in rows.items()
    }


def minutes_since(said_at: datetime | None, starts: datetime, minutes: int) -> int:
    """How much of a time entry lies after somebody said what is left: of one that began before
    that, its part after it. What is taken back counts as much as it did when it was noted."""
    if said_at is None or starts >= said_at:
        return minutes
    after = (starts + timedelta(minutes=abs(minutes)) - said_at) // timedelta(minutes=1)
    return max(0, after) if minutes > 0 else -max(0, after)
