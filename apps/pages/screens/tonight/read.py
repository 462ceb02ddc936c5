"""Tonight as the page shows it: the planner's answer in reading order and plain words."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from apps.pages.base import address_of
from apps.pages.planner import latest_plan
from apps.pages.screens.trade_link.read import open_replies
from apps.pages.wording import boards_by_floor, duration, way_back, why_not_sooner
from apps.planning import selectors
from apps.planning.models import Person, Plan, WorkingTime
from apps.planning.tonight import tonight
from apps.property.models import Property, Room
from apps.work.models import Finding, Task

LONG_MINUTES = 8 * 60
"""A clock that ran longer was probably forgotten: the page asks how long it really was."""


def shown(house: Property, *, now: datetime) -> dict[str, Any]:
    """Everything the page needs, for its template."""
    found = tonight(house, now=now)
    latest = latest_plan(house)
    today = selectors.local_today(house, now)
    stops = [row for row in selectors.alerts(house, now=now) if row["severity"] == "stop"]
    steps = first_steps(house) if found["plan"] is None else []
    return {
        **found,
        "title": title(found, today),
        "pending": latest is not None and latest.state in {Plan.State.QUEUED, Plan.State.SOLVING},
        "failure": latest.failure if latest and latest.state == Plan.State.FAILED else "",
        "stops": stops,
        "todo": [card(row, found["boards"], now) for row in found["todo"]],
        "left": [card(row, found["boards"], now) for row in found["left"]],
        "replies": open_replies(house, now=now),
        "ways": [way(row) for row in found["ways"]],
        "due_measures": [row for row in found["measures"] if row["due"]],
        "other_measures": [row for row in found["measures"] if not row["due"]],
        "kinds": [(value, word.capitalize()) for value, word in Finding.Kind.choices],
        "rooms": Room.objects.filter(property=house).order_by("storey__level", "name"),
        "first_steps": steps,
        "can_plan": all(step["there"] for step in steps),
    }


def title(found: dict[str, Any], today: Any) -> str:
    """ "Tonight", or "Today" when there is work by daylight, or the day that comes next."""
    if found["on"] is None:
        return "Tonight"
    if found["on"] != today:
        return f"Next: {found['on']:%A} {found['on'].day} {found['on']:%B}"
    return "Today" if any(row["starts"].hour < 16 for row in found["hours"]) else "Tonight"


def card(row: dict[str, Any], boards: dict[int, list[str]], now: datetime) -> dict[str, Any]:
    task: Task = row["task"]
    running = task.clock_from
    planned = row["minutes"]
    return {
        **row,
        "state": "running" if running else "idle",
        "began": task.status == Task.Status.DOING,
        "forgotten": running is not None and now - running > timedelta(minutes=LONG_MINUTES),
        "length": duration(planned or row["left_minutes"]),
        "all_of_it": duration(row["left_minutes"])
        if planned and row["left_minutes"] > planned
        else "",
        "why": why(row),
        "verb": {"lift": "Lift", "fix": "Fix"}.get(task.floor_action, ""),
        "marks": boards.get(task.pk, []),
    }


def why(row: dict[str, Any]) -> str:
    """Why it is not sooner; of what could start when the plan was made, nothing."""
    reason = row["why_not_sooner"]
    at_once = reason and reason["code"] == "not_before" and not reason["by"] and row["at_once"]
    return "" if at_once else why_not_sooner(row)


def way(row: dict[str, Any]) -> dict[str, Any]:
    return {
        "name": row["route"]["name"],
        "way_back": way_back(row),
        "lay_now": row["lay_now"],
        "lay_now_words": boards_by_floor(row["lay_now"]),
    }


def first_steps(house: Property) -> list[dict[str, Any]]:
    """What a first plan needs, each with where it is set up and whether it is there.

    With all three a plan has something to place. Floors are for boards, and can come later.
    """
    steps = (
        ("house-rooms", "The rooms you work in", Room.objects.filter(property=house)),
        ("house-tasks", "Something you do yourself", Task.objects.filter(
            package__property=house, trade=None,
            status__in=(Task.Status.TO_DO, Task.Status.DOING))),
        ("house-hours", "When you have time", WorkingTime.objects.filter(
            person__property=house, person__role=Person.Role.CREW)),
    )  # fmt: skip
    return [
        {"address": address_of(name, "house"), "words": words, "there": rows.exists()}
        for name, words, rows in steps
    ]
