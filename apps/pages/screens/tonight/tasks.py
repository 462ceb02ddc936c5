"""Start, stop, done, add time: the services of the API, each with its way back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from apps.inspections import services as inspection_services
from apps.pages.actions import Done, house_action, moment
from apps.pages.base import Undo
from apps.pages.visiting import Visiting, id_of
from apps.pages.wording import duration
from apps.planning.clock import say
from apps.trades import services as trade_services
from apps.work import clock
from apps.work.models import Task, TimeEntry
from renovation.errors import Problem, field_problem

LONGEST_MINUTES = clock.LONGEST_ENTRY_MINUTES


def task_of(found: Visiting, task_id: int) -> Task:
    task = Task.objects.filter(package__property=found.house, pk=task_id).first()
    if task is None:
        raise Http404
    return task


@house_action
def start(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """Begin a task, or carry on with one that was left."""
    task, at = task_of(found, task_id), moment(request, found)
    was = was_state(task)
    with saying(task):
        if was == "still":
            clock.carry_on(task=task, at=at)
        else:
            inspection_services.start_task(task=task, at=at)
    word = "At it again" if was == "still" else "Started"
    return done_with(task, f"{word}: {task}.", was=was)


@house_action
def stop(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """Leave a task for now; the time on its clock is noted."""
    task, at, minutes = task_of(found, task_id), moment(request, found), minutes_of(request)
    since = task.clock_from
    with saying(task):
        entry = clock.stop_clock(task=task, at=at, minutes=minutes, noted_by=found.user)
    noted = f"; {duration(entry.minutes)} noted" if entry else ""
    return done_with(task, f"Stopped: {task}{noted}.", was="running", since=since, entry=entry)


@house_action
def done(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """End a task; the time on its clock is noted, and boards held until then are released."""
    task, at, minutes = task_of(found, task_id), moment(request, found), minutes_of(request)
    was, since = was_state(task), task.clock_from
    before = last_entry(task)
    with saying(task):
        trade_services.finish_task(task=task, at=at, minutes=minutes, noted_by=found.user)
    entry = last_entry(task)
    entry = None if entry == before else entry
    noted = f"; {duration(entry.minutes)} noted" if entry else ""
    return done_with(task, f"Done: {task}{noted}.", was=was, since=since, entry=entry)


@house_action
def add_time(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """Note time that no clock counted."""
    task, at, minutes = task_of(found, task_id), moment(request, found), minutes_of(request)
    if minutes is None:
        raise field_problem("/minutes", "Say how many minutes.")
    with saying(task):
        entry = clock.note_clock(task=task, at=at, minutes=minutes, noted_by=found.user)
    return done_with(task, f"{duration(minutes)} noted on {task}.", was="", entry=entry)


@house_action
def back(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """Undo one of the above: the task is as it `was`, and the time it noted is taken back."""
    task, was = task_of(found, task_id), request.POST.get("was", "")
    with saying(task):
        if task.status == Task.Status.DONE:
            trade_services.reopen_task(task=task)
        elif was == "still":
            clock.stop_clock(task=task, at=found.now, minutes=0)
        if was == "to_do":
            trade_services.reopen_task(task=task)
        if number := id_of(request.POST.get("entry", "")):
            entry = TimeEntry.objects.filter(task=task, pk=number).first()
            if entry is None:
                raise Http404
            clock.take_back(entry=entry, noted_by=found.user)
        if was == "running":
            clock.carry_on(task=task, at=since_of(request, found))
    return Done(f"Undone: {task} is as it was.", back=reverse("tonight"))


def was_state(task: Task) -> str:
    """`running` on the clock, `still` begun and left, else the status."""
    if task.clock_from is not None:
        return "running"
    return "still" if task.status == Task.Status.DOING else task.status


def last_entry(task: Task) -> TimeEntry | None:
    return TimeEntry.objects.filter(task=task).order_by("-pk").first()


def minutes_of(request: HttpRequest) -> int | None:
    """The form's minutes; None when it gives none.

    Raises:
        Problem: `invalid` at `/minutes`.
    """
    written = request.POST.get("minutes", "").strip()
    if not written:
        return None
    minutes = id_of(written)
    if minutes is None or not 1 <= minutes <= LONGEST_MINUTES:
        raise field_problem("/minutes", f"Minutes are a whole number, 1 to {LONGEST_MINUTES}.")
    return minutes


def since_of(request: HttpRequest, found: Visiting) -> datetime:
    written = request.POST.get("since", "")
    try:
        since = parse_datetime(written)
    except ValueError:
        since = None
    if since is None or since.tzinfo is None or since > found.now:
        raise field_problem("/since", "That is no time in the past.")
    return since


def done_with(
    task: Task, sentence: str, *, was: str, since: datetime | None = None,
    entry: TimeEntry | None = None,
) -> Done:  # fmt: skip
    fields: dict[str, Any] = {"was": was}
    if since:
        fields["since"] = since.isoformat()
    if entry:
        fields["entry"] = entry.pk
    undo = Undo(reverse("task-back", args=[task.pk]), fields)
    return Done(sentence, back=reverse("tonight"), undo=undo)


@contextmanager
def saying(task: Task) -> Iterator[None]:
    """Let a refusal tell what the book has of a task, beside what the person wanted."""
    try:
        yield
    except Problem as problem:
        problem.extra.setdefault("current", current(Task.objects.get(pk=task.pk)))
        raise


def current(task: Task) -> dict[str, str]:
    """What the book says of a task, in words."""
    said = {"status": task.get_status_display().lower()}
    for name, at in (
        ("on the clock since", task.clock_from),
        ("finished", task.finished_at),
    ):
        if at:
            local = timezone.localtime(at)
            said[name] = say(local)
    return said
