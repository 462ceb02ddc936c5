"""Read a house-year file (JSON) into the planner's own vocabulary. One unit there is one here.

The layout: half-hour units from a Monday 00:00; the crew's slots; trades with the days they
come and the hours of a visit; tasks of the crew (carried on over breaks once begun) and visits;
links with shortest and longest waits on the wall clock; floors that lie open between two
tasks; one jack that stays under for a time. `tests/benchmarks/house_year.md` has it whole.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from apps.planning.problem import (
    Activity,
    Calendar,
    Hold,
    Interval,
    Link,
    OpenSpan,
    Problem,
    Ref,
    Resource,
)

ORIGIN = datetime(2024, 1, 1, tzinfo=UTC)  # a Monday
WEEK_DAYS = 7
SATURDAY = 5


def read_house_year(text: str) -> Problem:
    """The problem of one file. ValueError, with a sentence, where the text makes no sense."""
    try:
        house = json.loads(text)
    except json.JSONDecodeError as wrong:
        raise ValueError(f"Line {wrong.lineno}: this is not JSON ({wrong.msg}).") from wrong
    if not isinstance(house, dict):
        raise ValueError("Line 1: a house is one JSON object.")  # noqa: TRY004 (of the text)
    try:
        return _problem(house)
    except KeyError as wrong:
        raise ValueError(f"Something lacks {wrong}.") from wrong
    except (TypeError, AttributeError) as wrong:
        raise ValueError(f"Something is of the wrong kind: {wrong}.") from wrong


def _problem(house: Mapping[str, Any]) -> Problem:
    horizon = _whole(house["horizon"], "The horizon")
    tasks = house["tasks"]
    names = [str(task["id"]) for task in tasks]
    if len(set(names)) < len(names):
        raise ValueError("Two tasks have the same id.")
    jack = house.get("jack", {"tasks": [], "held_units": 0})
    jacked = set(_known(jack["tasks"], names, "The jack"))
    hold = (Hold("jack", int(jack["held_units"])),)
    activities = tuple(
        _activity(task, house, hold if name in jacked else ())
        for name, task in zip(names, tasks, strict=True)
    )
    return Problem(
        origin=ORIGIN,
        horizon=horizon,
        activities=activities,
        links=tuple(_link(link, names) for link in house["links"]),
        calendars=tuple(_calendars(house, horizon)),
        resources=(
            Resource("crew", "the crew", "crew"),
            *(Resource(trade, trade, "trade") for trade in house["trade_days"]),
            Resource("jack", "the jack", "tool"),
        ),
        open_spans=tuple(_floor(floor, names) for floor in house["open_floors"]),
        working_calendar="crew",
    )


def _activity(
    task: Mapping[str, Any], house: Mapping[str, Any], holds: tuple[Hold, ...]
) -> Activity:
    name, by = str(task["id"]), str(task["by"])
    effort = _whole(task["units"], f"Task {name}: its length")
    crew = by == "crew"
    if not crew and by not in house["trade_days"]:
        raise ValueError(f"Task {name}: nobody knows the days of {by}.")
    fixed = task.get("fixed_start")
    return Activity(
        key=name,
        ref=Ref("task", int(name), f"task {name}"),
        effort=effort,
        uses=(by,),
        mode="carried_on" if crew else "stints",
        within="weekends" if task.get("one_weekend") else None,
        holds=holds,
        calendars=(by,),
        splittable=crew and not task.get("unbroken", False),
        due=task.get("due"),
        due_weight=int(task.get("late_weight", 1)),
        fixed=None if fixed is None else (int(fixed), int(fixed) + effort),
    )


def _link(link: Mapping[str, Any], names: list[str]) -> Link:
    before, after = _known((link["before"], link["after"]), names, "A link")
    return Link(before, after, min_lag=int(link["min_lag"]), max_lag=link.get("max_lag"))


def _floor(floor: Mapping[str, Any], names: list[str]) -> OpenSpan:
    opens, closes = _known((floor["opens_with"], floor["closes_with"]), names, "A floor")
    return OpenSpan(opens, closes, tuple(_known(floor["not_during"], names, "A floor")))


def _calendars(house: Mapping[str, Any], horizon: int) -> Iterable[Calendar]:
    day = _whole(house["units_a_day"], "The units of a day")
    slots = ((int(begin), int(end)) for begin, end in house["crew_slots"])
    yield Calendar("crew", "no_working_time", "The crew has its hours.", _joined(slots))
    opens, closes = house["visit_hours"]
    for trade, days in house["trade_days"].items():
        hours = _joined((at * day + opens, at * day + closes) for at in days)
        yield Calendar(trade, "visit", f"{trade} comes on some days.", hours)
    week = WEEK_DAYS * day
    weekends = tuple((monday + SATURDAY * day, monday + week) for monday in range(0, horizon, week))
    yield Calendar("weekends", "helper_away", "Help comes at weekends.", weekends)


def _joined(windows: Iterable[Interval]) -> tuple[Interval, ...]:
    joined: list[Interval] = []
    for begin, end in sorted(windows):
        if joined and begin <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(end, joined[-1][1])
        elif begin < end:
            joined.append((begin, end))
    return tuple(joined)


def _known(ids: Iterable[Any], names: list[str], whose: str) -> list[str]:
    known = [str(one) for one in ids]
    for name in known:
        if name not in names:
            raise ValueError(f"{whose} names task {name}, which is not there.")
    return known


def _whole(number: Any, what: str) -> int:
    if not isinstance(number, int) or isinstance(number, bool) or number < 1:
        raise ValueError(f"{what} is {number!r}, not a whole number of 1 or more.")
    return number
