"""How much of a task is left, and the rest of the plan moved to fit it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from apps.pages.actions import Done, house_action, moment
from apps.pages.base import Undo
from apps.pages.screens.tonight.tasks import LONGEST_MINUTES, saying, task_of
from apps.pages.visiting import Visiting, id_of
from apps.pages.wording import duration
from apps.planning.follow import follow_day
from apps.work.services import say_minutes_left
from renovation.errors import field_problem


@house_action
def say_left(request: HttpRequest, found: Visiting, task_id: int) -> Done:
    """Say how much is left, whatever it was meant to take; nothing written takes that back."""
    task, at = task_of(found, task_id), moment(request, found)
    written = request.POST.get("left", "").strip()
    minutes = id_of(written) if written else None
    if written and (minutes is None or not 1 <= minutes <= LONGEST_MINUTES):
        raise field_problem("/left", f"Minutes are a whole number, 1 to {LONGEST_MINUTES}.")
    before = task.minutes_left
    with saying(task):
        say_minutes_left(task=task, minutes_left=minutes, at=at)
    words = "counted from its estimate again" if minutes is None else f"{duration(minutes)} left"
    return Done(
        f"{task}: {words}. The plan moves when you say so below.",
        back=reverse("tonight"),
        undo=Undo(reverse("task-left", args=[task.pk]), {"left": "" if before is None else before}),
    )


@house_action
def follow(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Move the rest of the plan at once; the last plan gives way only where it must."""
    follow_day(house=found.house, as_of=found.now, requested_by=found.user)
    return redirect(reverse("tonight"))
