"""Reads of the work that are more than a queryset."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Sum

from apps.work.models import Task, TimeEntry

LEAST_LEFT_MINUTES = 15
OPEN_STATES = (Task.Status.TO_DO, Task.Status.DOING)


def spent_minutes(tasks: Iterable[Task]) -> dict[int, int]:
    """Minutes noted on each task, by its id; 0 where none are. One query."""
    ids = [task.pk for task in tasks]
    sums = TimeEntry.objects.filter(task__in=ids).order_by().values_list("task")
    return dict.fromkeys(ids, 0) | dict(sums.annotate(Sum("minutes")))


def remaining_minutes(tasks: Iterable[Task]) -> dict[int, int]:
    """What is likely left to do on each task, by its id. One query.

    The likely minutes less those noted, but at least a quarter of an hour while the task is
    open: whatever the clock says, somebody still has to end it. Done and dropped leave 0.
    """
    rows = list(tasks)
    spent = spent_minutes(rows)
    return {
        task.pk: max(LEAST_LEFT_MINUTES, task.likely_minutes - spent[task.pk])
        if task.status in OPEN_STATES
        else 0
        for task in rows
    }
