"""Changes of the work: tasks begin and end, time is noted, links and packages are added."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Sum

from apps.property.models import Property
from apps.work import links
from apps.work.models import Link, Task, TimeEntry
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem, field_problem

TASK_STEPS: Steps = {
    "to_do": {"start": "doing", "finish": "done", "drop": "dropped"},
    "doing": {"finish": "done", "drop": "dropped", "reopen": "to_do"},
    "done": {"reopen": "doing"},
    "dropped": {"reopen": "to_do"},
}


@transaction.atomic
def start_task(*, task: Task, at: datetime) -> Task:
    """Begin a task.

    Raises:
        Problem: `wrong-step` unless it is to do.
    """
    lock(task)
    status = next_state(TASK_STEPS, task.status, "start", name=str(task))
    task.change(status=status, started_at=at)
    return task


@transaction.atomic
def finish_task(
    *, task: Task, at: datetime, minutes: int | None = None, noted_by: Any = None
) -> Task:
    """End a task, and note the minutes it took when they are given.

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
    note_minutes_until(task=task, at=at, minutes=minutes, noted_by=noted_by)
    task.change(status=status, started_at=started_at, finished_at=at)
    return task


@transaction.atomic
def drop_task(
    *, task: Task, at: datetime, minutes: int | None = None, noted_by: Any = None
) -> Task:
    """Decide against a task; minutes spent on it so far may be noted.

    Raises:
        Problem: `wrong-step` when it is done or dropped.
    """
    lock(task)
    status = next_state(TASK_STEPS, task.status, "drop", name=str(task))
    note_minutes_until(task=task, at=at, minutes=minutes, noted_by=noted_by)
    task.change(status=status)
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
    task.change(status=status, started_at=started_at, finished_at=None)
    return task


def note_minutes_until(*, task: Task, at: datetime, minutes: int | None, noted_by: Any) -> None:
    if minutes:
        note_time(
            task=task, starts=at - timedelta(minutes=minutes), minutes=minutes, noted_by=noted_by
        )


@transaction.atomic
def note_time(
    *, task: Task, starts: datetime, minutes: int, noted_by: Any, note: str = ""
) -> TimeEntry:
    """Note time spent on a task, or take some back with negative minutes.

    Raises:
        Problem: `invalid` when more would be taken back than was noted.
    """
    lock(task)
    if minutes < 0:
        noted = TimeEntry.objects.filter(task=task).aggregate(sum=Sum("minutes"))["sum"] or 0
        if noted + minutes < 0:
            raise field_problem("/minutes", f"Only {noted} minutes are noted on {task}.")
    return TimeEntry.objects.create(
        task=task, starts=starts, minutes=minutes, note=note, noted_by=noted_by
    )


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
