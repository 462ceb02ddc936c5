"""Changes of the work: tasks begin and end, links are added. Their time is in `clock.py`."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from apps.property.models import Property
from apps.work import links
from apps.work.clock import note_clock
from apps.work.models import Link, Task
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem, field_problem

TASK_STEPS: Steps = {
    "to_do": {"start": "doing", "finish": "done", "drop": "dropped"},
    "doing": {"finish": "done", "drop": "dropped", "reopen": "to_do"},
    "done": {"reopen": "doing"},
    "dropped": {"reopen": "to_do"},
}

# Saying what is left changes no state, and only open tasks have something left.
LEFT_STEPS: Steps = {
    state: {**ways, "left": state} if "finish" in ways else ways
    for state, ways in TASK_STEPS.items()
}


@transaction.atomic
def start_task(*, task: Task, at: datetime) -> Task:
    """Begin a task.

    Raises:
        Problem: `wrong-step` unless it is to do.
    """
    lock(task)
    status = next_state(TASK_STEPS, task.status, "start", name=str(task))
    task.change(status=status, started_at=at, clock_from=at)
    return task


@transaction.atomic
def finish_task(
    *, task: Task, at: datetime, minutes: int | None = None, noted_by: Any = None
) -> Task:
    """End a task, and note the minutes it took: those given, else those on its clock.

    Finishing what nobody started is fine: it began `minutes` earlier.

    Raises:
        Problem: `wrong-step` when it is done or dropped; `invalid` when it would end before
            it began.
    """
    lock(task)
    status = next_state(TASK_STEPS, task.status, "finish", name=str(task))
    started_at = task.started_at or at - timedelta(minutes=minutes or 0)
    if at < started_at:
        raise field_problem("/at", f"{task} was started at {started_at:%Y-%m-%d %H:%M} UTC.")
    note_clock(task=task, at=at, minutes=minutes, noted_by=noted_by)
    task.change(status=status, started_at=started_at, clock_from=None, finished_at=at)
    return task


@transaction.atomic
def drop_task(
    *, task: Task, at: datetime, minutes: int | None = None, noted_by: Any = None
) -> Task:
    """Decide against a task; minutes spent on it so far are noted: those given, else those on
    its clock.

    Raises:
        Problem: `wrong-step` when it is done or dropped.
    """
    lock(task)
    status = next_state(TASK_STEPS, task.status, "drop", name=str(task))
    note_clock(task=task, at=at, minutes=minutes, noted_by=noted_by)
    task.change(status=status, clock_from=None)
    return task


@transaction.atomic
def say_minutes_left(*, task: Task, minutes_left: int | None, at: datetime, note: str = "") -> Task:
    """Say how much of a task is left, whatever it was meant to take; None takes that back.

    A later word replaces an earlier one. Time worked from `at` on is counted off it.

    Raises:
        Problem: `wrong-step` when it is done or dropped.
    """
    lock(task)
    next_state(LEFT_STEPS, task.status, "left", name=str(task))
    said = minutes_left is not None
    task.change(
        minutes_left=minutes_left,
        minutes_left_at=at if said else None,
        minutes_left_note=note if said else "",
    )
    return task


@transaction.atomic
def reopen_task(*, task: Task) -> Task:
    """Undo the last step: done is being done again, started or dropped is to do again.

    Time that was noted stays: it was spent. A slip is taken back by an entry of minus minutes.

    Raises:
        Problem: `wrong-step` when it is to do.
    """
    lock(task)
    status = next_state(TASK_STEPS, task.status, "reopen", name=str(task))
    started_at = task.started_at if status == Task.Status.DOING else None
    task.change(status=status, started_at=started_at, clock_from=None, finished_at=None)
    return task


@transaction.atomic
def refuse_circle(*, before: Task, after: Task, kind: str, link_id: int | None = None) -> None:
    """Refuse a link that would have tasks wait for each other in a ring.

    Args:
        link_id: the link that is being changed: its old ends do not count.

    Raises:
        Problem: `link-circle`, naming the tasks in the order they would wait.
    """
    house = before.house_id()
    # Two links added at once could each be harmless and close a circle together.
    Property.objects.select_for_update().get(pk=house)
    rows = Link.objects.filter(before__package__property=house)
    if link_id is not None:
        rows = rows.exclude(pk=link_id)
    ties = (links.Tie(*row) for row in rows.values_list("before", "after", "kind"))
    if circle := links.circle_closed_by(links.Tie(before.pk, after.pk, kind), ties):
        titles = Task.objects.in_bulk(circle)
        way = " → ".join(titles[key].title for key in (*circle, circle[0]))
        raise Problem(
            "link-circle",
            f"These would wait for each other: {way}.",
            tasks=[{"id": key, "title": titles[key].title} for key in circle],
        )
