"""A task dropped or taken up again, and what it comes after."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.http import Http404, HttpRequest
from django.urls import reverse
from django.utils.dateparse import parse_datetime

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.tasks import STANDS
from apps.pages.screens.house.writing import refuse_changed, write
from apps.pages.screens.tonight.tasks import last_entry, was_state
from apps.pages.visiting import Visiting, id_of
from apps.trades import services as trade_services
from apps.work import clock
from apps.work import services as work_services
from apps.work.models import Task, TimeEntry
from renovation.errors import field_problem

LONGEST_WAIT_HOURS = 16_000


def task_of(found: Visiting, task_id: int) -> Task:
    task: Task = KINDS["task"].row(found.house, task_id)
    return task


def page_of(task: Task) -> str:
    return reverse("house-tasks-one", args=[task.pk])


@house_action
def drop(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """Decide against a task; the time on its clock is noted."""
    task = task_of(found, task_id)
    refuse_changed(request, task, now=STANDS[Task.Status(task.status)].lower())
    was, since, before = was_state(task), task.clock_from, last_entry(task)
    fields: dict[str, Any] = {"was": was, "property": found.house.pk}
    if task.started_at:
        fields["started"] = task.started_at.isoformat()
    if since:
        fields["since"] = since.isoformat()
    work_services.drop_task(task=task, at=found.now, noted_by=found.user)
    entry = last_entry(task)
    if entry is not None and entry != before:
        fields["entry"] = entry.pk
    undo = Undo(reverse("house-task-undrop", args=[task.pk]), fields)
    return Done(f"Dropped: {task}. It is no longer planned.", back=page_of(task), undo=undo)


@house_action
def undrop(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """Undo a drop, or take up again what was dropped long ago: begun as it was before."""
    task = task_of(found, task_id)
    was = request.POST.get("was", "to_do")
    trade_services.reopen_task(task=task)
    if number := id_of(request.POST.get("entry", "")):
        entry = TimeEntry.objects.filter(task=task, pk=number).first()
        if entry is None:
            raise Http404
        clock.take_back(entry=entry, noted_by=found.user)
    if was in {"still", "running"}:
        work_services.start_task(task=task, at=moment_in(request, found, "started"))
        clock.stop_clock(task=task, at=found.now, minutes=0)
    if was == "running":
        clock.carry_on(task=task, at=moment_in(request, found, "since"))
    return Done(f"{task} is to be done again.", back=page_of(task))


def moment_in(request: HttpRequest, found: Visiting, name: str) -> datetime:
    try:
        at = parse_datetime(request.POST.get(name, ""))
    except ValueError:
        at = None
    if at is None or at.tzinfo is None or at > found.now:
        raise field_problem(f"/{name}", "That is no time in the past.")
    return at


class AfterForm(forms.Form):
    """What a task comes after, and how long it waits then."""

    before = forms.IntegerField(
        min_value=1, error_messages={"required": "Choose the task that comes first."}
    )
    hours = forms.DecimalField(
        required=False, min_value=0, max_value=LONGEST_WAIT_HOURS, decimal_places=2
    )
    reason = forms.CharField(required=False, max_length=200)


@house_action
def comes_after(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """Have a task wait for another one, and perhaps for drying on top."""
    task, form = task_of(found, task_id), AfterForm(request.POST)
    if not form.is_valid():
        name, errors = next(iter(form.errors.items()))
        raise field_problem(f"/{name}", str(errors[0]))
    said = form.cleaned_data
    first = task_of(found, said["before"])
    fields = {
        "before": first, "after": task, "reason": said["reason"],
        "min_lag_minutes": round((said["hours"] or 0) * 60),
    }  # fmt: skip
    link = write(KINDS["link"], found, fields)
    undo = Undo(
        reverse("house-remove"),
        {"kind": "link", "ids": link.pk, "property": found.house.pk, "back": page_of(task),
         "added": 1},
    )  # fmt: skip
    return Done(f"{task} comes after {first}.", back=page_of(task), undo=undo)
