"""The time that tasks take: the clock that runs while somebody is at one, and the log of it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Sum

from apps.work.models import Task, TimeEntry
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem, field_problem

LONGEST_ENTRY_MINUTES = 1440
CLOCK_STEPS: Steps = {
    "on the clock": {"stop": "doing"},
    "doing": {"carry-on": "on the clock"},
    "to_do": {"start": "on the clock"},
    "done": {"reopen": "doing"},
    "dropped": {"reopen": "to_do"},
}


@transaction.atomic
def stop_clock(
    *, task: Task, at: datetime, minutes: int | None = None, noted_by: Any = None
) -> TimeEntry | None:
    """Leave a task for now, and note how long it was: the minutes given, else those on its clock.

    Returns:
        What was noted; None for less than half a minute.

    Raises:
        Problem: `wrong-step` when nobody is at it; `invalid` for a time before the clock began
            or a stretch longer than a day.
    """
    lock(task)
    next_state(CLOCK_STEPS, clock_state(task), "stop", name=str(task))
    noted = note_clock(task=task, at=at, minutes=minutes, noted_by=noted_by)
    task.change(clock_from=None)
    return noted


@transaction.atomic
def carry_on(*, task: Task, at: datetime) -> Task:
    """Be at a started task again. With the start of an entry that was taken back as `at`, it
    undoes a stop.

    Raises:
        Problem: `wrong-step` unless it was started and nobody is at it.
    """
    lock(task)
    next_state(CLOCK_STEPS, clock_state(task), "carry-on", name=str(task))
    task.change(clock_from=at)
    return task


def clock_state(task: Task) -> str:
    return "on the clock" if task.clock_from is not None else task.status


def note_clock(*, task: Task, at: datetime, minutes: int | None, noted_by: Any) -> TimeEntry | None:
    """Note the minutes given as ending at `at`; without any, those that are on the clock.

    Raises:
        Problem: `invalid` at `/at` before the clock began; at `/minutes` for longer than a day.
    """
    if minutes is None:
        if task.clock_from is None or noted_by is None:
            return None
        minutes = minutes_on_clock(task, at)
    if not minutes:
        return None
    starts = at - timedelta(minutes=minutes)
    return note_time(task=task, starts=starts, minutes=minutes, noted_by=noted_by)


def minutes_on_clock(task: Task, at: datetime) -> int:
    """How long somebody has been at a task, to the nearest minute; 0 when nobody is.

    Raises:
        Problem: `invalid`, as `note_clock`.
    """
    if task.clock_from is None:
        return 0
    if at < task.clock_from:
        raise field_problem(
            "/at", f"{task} is on the clock since {task.clock_from:%Y-%m-%d %H:%M} UTC."
        )
    minutes = round((at - task.clock_from) / timedelta(minutes=1))
    if minutes > LONGEST_ENTRY_MINUTES:
        raise field_problem(
            "/minutes",
            f"{task} is on the clock since {task.clock_from:%Y-%m-%d %H:%M} UTC, longer than a "
            "day; say how many minutes it was.",
        )
    return minutes


@transaction.atomic
def take_back(*, entry: TimeEntry, noted_by: Any) -> TimeEntry:
    """Take back a time entry that was a slip: the log keeps it, with another that undoes it.

    Raises:
        Problem: `wrong-step` when it was taken back before, or takes back another itself.
    """
    lock(entry.task)
    if entry.takes_back_id is not None:
        raise Problem("wrong-step", "That entry takes back another one; note the time anew.")
    if TimeEntry.objects.filter(takes_back=entry).exists():
        raise Problem("wrong-step", f"{entry} was taken back already.")
    return note_time(
        task=entry.task, starts=entry.starts, minutes=-entry.minutes, noted_by=noted_by,
        note="Taken back", takes_back=entry,
    )  # fmt: skip


@transaction.atomic
def note_time(
    *, task: Task, starts: datetime, minutes: int, noted_by: Any, note: str = "",
    takes_back: TimeEntry | None = None,
) -> TimeEntry:  # fmt: skip
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
        task=task, starts=starts, minutes=minutes, note=note, noted_by=noted_by,
        takes_back=takes_back,
    )  # fmt: skip
