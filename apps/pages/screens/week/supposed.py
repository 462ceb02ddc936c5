"""A supposition in words, and what makes it true: the services that the API calls."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from apps.pages.visiting import Visiting
from apps.planning.clock import say, say_date
from apps.planning.day_hours import DayHours, put_hours_back, take_day_off, work_longer
from apps.planning.models import Person, Plan
from apps.property.models import Property
from apps.trades import services as trade_services
from apps.trades.models import Visit
from apps.work import services as work_services
from apps.work.models import Task
from renovation.errors import Problem, field_problem

GONE = "Something of this is not in the book any more. Try it again from the week."


def in_words(house: Property, what_if: Mapping[str, Any]) -> list[str]:
    """What is supposed, a sentence each."""
    zone = ZoneInfo(house.timezone)
    found = []
    for one in what_if.get("visits", []):
        visit = Visit.objects.filter(property=house, pk=one["id"]).first()
        starts, ends = (
            datetime.fromisoformat(one[name]).astimezone(zone) for name in ("starts", "ends")
        )
        found.append(f"{visit or 'A visit'} comes {say(starts)}–{ends:%H:%M}.")
    found += [
        f"{name_of(house, off['person'])} has {say_date(date.fromisoformat(off['date']))} off."
        for off in what_if.get("days_off", [])
    ]
    for more in what_if.get("more_hours", []):
        on = say_date(date.fromisoformat(more["date"]))
        found.append(
            f"{name_of(house, more['person'])} works {more['starts'][:5]}–{more['ends'][:5]} more "
            f"on {on}."
        )
    for pk in what_if.get("drop_tasks", []):
        task = Task.objects.filter(package__property=house, pk=pk).first()
        found.append(f"“{task or 'A task'}” is left out.")
    return found


def day_meant(what_if: Mapping[str, Any], zone: ZoneInfo) -> str:
    """The first day that a supposition is about, as an address has it; empty for none."""
    visits = [datetime.fromisoformat(one["starts"]) for one in what_if.get("visits", [])]
    days = [f"{at.astimezone(zone):%Y-%m-%d}" for at in visits]
    days += [one["date"] for name in ("days_off", "more_hours") for one in what_if.get(name, [])]
    return min(days, default="")


def name_of(house: Property, person_id: int) -> str:
    person = Person.objects.filter(property=house, pk=person_id).first()
    return str(person or "Somebody")


def make_true(found: Visiting, plan: Plan) -> str:
    """Do what a plan supposes. Answers what was before, as the field that undoes it.

    Raises:
        Problem: `not-found` for what has gone since, and whatever the services refuse.
    """
    what_if = plan.what_if or {}
    before: dict[str, list[Any]] = {"visits": [], "hours": [], "tasks": []}
    for one in what_if.get("visits", []):
        visit = theirs(Visit.objects.filter(property=found.house, pk=one["id"]).first())
        before["visits"].append([visit.pk, visit.state, written(visit.starts), written(visit.ends)])
        trade_services.agree_visit(
            visit=visit,
            starts=datetime.fromisoformat(one["starts"]),
            ends=datetime.fromisoformat(one["ends"]),
        )
    for off in what_if.get("days_off", []):
        person, on = person_of(found.house, off["person"]), date.fromisoformat(off["date"])
        before["hours"].append(hours_row(person, on, take_day_off(person=person, on=on)))
    for more in what_if.get("more_hours", []):
        person, on = person_of(found.house, more["person"]), date.fromisoformat(more["date"])
        starts, ends = (time.fromisoformat(more[name]) for name in ("starts", "ends"))
        was = work_longer(person=person, on=on, starts=starts, ends=ends)
        before["hours"].append(hours_row(person, on, was))
    for pk in what_if.get("drop_tasks", []):
        task = theirs(Task.objects.filter(package__property=found.house, pk=pk).first())
        work_services.drop_task(task=task, at=found.now, noted_by=found.user)
        before["tasks"].append(task.pk)
    return json.dumps(before)


def put_back(found: Visiting, kept: str) -> None:
    """Undo `make_true`, from the field that it answered.

    Raises:
        Problem: `invalid` for a field that is not ours, else as the services.
    """
    try:
        before = json.loads(kept)
        visits = [(int(pk), str(s), read(a), read(b)) for pk, s, a, b in before["visits"]]
        hours = [
            (int(pk), date.fromisoformat(on), [day_hours(*row) for row in rows])
            for pk, on, rows in before["hours"]
        ]
        tasks = [int(pk) for pk in before["tasks"]]
    except (KeyError, TypeError, ValueError) as exc:
        raise field_problem("/before", "This cannot be undone from here.") from exc
    for pk, state, starts, ends in visits:
        visit = theirs(Visit.objects.filter(property=found.house, pk=pk).first())
        visit_back(visit, state, starts, ends)
    # The last first: two stretches of one date were added one on top of the other.
    for pk, on, rows in reversed(hours):
        put_hours_back(person=person_of(found.house, pk), on=on, hours=rows)
    for pk in tasks:
        task = theirs(Task.objects.filter(package__property=found.house, pk=pk).first())
        work_services.reopen_task(task=task)


def visit_back(visit: Visit, state: str, starts: datetime | None, ends: datetime | None) -> None:
    """A visit as it was: agreed for another time, asked for, wanted, or missed."""
    if starts is not None and ends is not None:
        trade_services.agree_visit(visit=visit, starts=starts, ends=ends)
        if state == Visit.State.MISSED:
            trade_services.miss_visit(visit=visit)
        return
    trade_services.withdraw_visit(visit=visit)
    if state == Visit.State.ASKED:
        trade_services.ask_for_visit(visit=visit)


def theirs(row: Any) -> Any:
    if row is None:
        raise Problem("not-found", GONE, status_code=404)
    return row


def person_of(house: Property, pk: int) -> Person:
    person: Person = theirs(
        Person.objects.filter(property=house, pk=pk).select_related("property").first()
    )
    return person


def hours_row(person: Person, on: date, hours: list[DayHours]) -> list[Any]:
    rows = [[written(one.starts), written(one.ends), one.note] for one in hours]
    return [person.pk, on.isoformat(), rows]


def day_hours(starts: str | None, ends: str | None, note: str) -> DayHours:
    return DayHours(
        time.fromisoformat(starts) if starts else None,
        time.fromisoformat(ends) if ends else None,
        str(note),
    )


def written(at: datetime | time | None) -> str | None:
    return at.isoformat() if at else None


def read(at: str | None) -> datetime | None:
    found = datetime.fromisoformat(at) if at else None
    if found is not None and found.tzinfo is None:
        raise ValueError(at)
    return found
