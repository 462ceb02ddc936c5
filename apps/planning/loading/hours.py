"""Who works when, and when loud work, outdoor work and outsiders' visits may be."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import time, timedelta
from itertools import pairwise
from typing import Any

from apps.inspections.models import Inspection
from apps.planning import calendars
from apps.planning.daylight import daylight
from apps.planning.loading.house import SIGNED_OFF, House, SupposedHours, ref
from apps.planning.models import Person
from apps.planning.problem import Calendar, ReasonCode, Resource
from apps.work.models import Trade

CREW = "crew"
LOUD = "loud"
OUTDOORS = "outdoors"
DAYLIGHT = "daylight"
WORKING_WEEK = range(5)
DAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def house_calendars(house: House) -> list[Calendar]:
    """Who works when, and when loud or outdoor work may be done."""
    crew = [person for person in house.people if person.role == Person.Role.CREW]
    helpers = [person for person in house.people if person.role == Person.Role.HELPER]
    found = [
        Calendar(
            CREW,
            "no_working_time",
            f"{crew_name(house)} has no hours before that.",
            calendars.union(*(person_windows(house, person) for person in crew)),
            tuple(ref(person) for person in crew),
        ),
        clock_calendar(house, LOUD, "quiet_hours", "Loud work", house.record.loud_work_hours),
        clock_calendar(
            house, OUTDOORS, "no_working_time", "Outdoor work", house.record.outdoor_work_hours
        ),
    ]
    if (light := daylight_calendar(house)) is not None:
        found.append(light)
    found += helper_calendars(house, helpers)
    found += [trade_calendar(house, trade) for trade in trades_of(house)]
    found += [
        visiting_calendar(house, row)
        for row in house.inspections.values()
        if row.by != Inspection.By.OWN_CHECK and row.state not in SIGNED_OFF
    ]
    return found


def daylight_calendar(house: House) -> Calendar | None:
    """When it is light at the house; None where nobody said where it stands."""
    record = house.record
    if record.latitude_deg is None or record.longitude_deg is None:
        return None
    first = house.clock.on(0)
    dates = [first + timedelta(days=n) for n in range(-1, house.axis_days + 1)]
    windows: list[tuple[int, int]] = []
    said: list[tuple[str, str]] = []
    for day in daylight(record.latitude_deg, record.longitude_deg, dates, house.clock.zone):
        if day.rises is None or day.sets is None:
            continue
        opens, closes = house.clock.ceil(day.rises), house.clock.floor(day.sets)
        opens, closes = max(0, opens), min(house.horizon, closes)
        rises, sets = house.clock.local(day.rises), house.clock.local(day.sets)
        words = f"It is dark outside until {rises:%H:%M}.", f"It is dark outside from {sets:%H:%M}."
        if windows and opens <= windows[-1][1] and closes > opens:
            # Midsummer near a pole: one long day.
            windows[-1], said[-1] = (windows[-1][0], closes), (said[-1][0], words[1])
        elif closes > opens:
            windows.append((opens, closes))
            said.append(words)
    return Calendar(
        DAYLIGHT, "no_working_time", "It is dark outside.", tuple(windows), said=tuple(said)
    )


def helper_calendars(house: House, helpers: list[Person]) -> list[Calendar]:
    """One calendar for each number of helpers that some task takes."""
    windows = [person_windows(house, person) for person in helpers]
    counts = sorted({task.people - 1 for task in house.tasks.values() if task.people > 1})
    return [
        Calendar(
            helpers_key(count),
            "helper_away",
            helper_sentence(helpers, count),
            at_least(windows, count),
            tuple(ref(person) for person in helpers),
        )
        for count in counts
    ]


def visiting_calendar(house: House, row: Inspection) -> Calendar:
    hours = f"{row.visiting_from:%H:%M} to {row.visiting_to:%H:%M}"
    days = row.visiting_days or WORKING_WEEK
    return Calendar(
        f"inspection:{row.pk}",
        "no_working_time",
        f"Visits are {say_weekdays(list(days))} {hours}, not on bank holidays.",
        weekly(house, days, row.visiting_from, row.visiting_to),
        (ref(row),),
    )


def helpers_key(count: int) -> str:
    return f"helpers:{count}"


def helper_sentence(helpers: list[Person], count: int) -> str:
    if not helpers:
        return "It takes a helper, and nobody is down to help."
    if count > 1:
        return f"It takes {count} helpers at once."
    return f"It takes a helper: {', '.join(person.name for person in helpers)}."


def at_least(windows: Sequence[calendars.Windows], count: int) -> calendars.Windows:
    """When at least `count` of several people are there."""
    edges = sorted({edge for one in windows for window in one for edge in window})
    busy = [
        (a, b)
        for a, b in pairwise(edges)
        if sum(any(w[0] <= a and b <= w[1] for w in one) for one in windows) >= count
    ]
    return calendars.union(tuple(busy))


def person_windows(house: House, person: Person) -> calendars.Windows:
    weekly_ = [
        calendars.WeeklyHours(row.weekday, row.starts, row.ends)
        for row in person.working_times.all()
    ]
    dated = [
        calendars.DatedHours(row.date, row.starts, row.ends) for row in person.exceptions.all()
    ]
    supposed = house.supposed_hours.get(person.pk, SupposedHours())
    dated += [calendars.DatedHours(on, None, None) for on in supposed.days_off]
    usual, more = (
        calendars.windows_of(
            week,
            days,
            days_off=() if house.record.work_on_bank_holidays else house.days_off,
            timezone=house.record.timezone,
            origin=house.clock.origin,
            horizon=house.horizon,
        )
        for week, days in (
            (weekly_, dated),
            ((), [calendars.DatedHours(*hours) for hours in supposed.more]),
        )
    )
    return calendars.union(usual, more)


def say_weekly(what: str, rules: list[dict[str, Any]]) -> str:
    """ "Loud work only Mon–Fri 08:00–18:00, Sat 08:00–13:00."."""
    said = [f"{say_weekdays(rule['weekdays'])} {rule['from']}–{rule['to']}" for rule in rules]
    return f"{what} only {', '.join(said)}."


def say_weekdays(weekdays: list[int]) -> str:
    """ "Mon–Fri" for a run of days, "Mon, Wed" otherwise."""
    days = sorted(set(weekdays))
    if len(days) > 2 and days[-1] - days[0] == len(days) - 1:
        return f"{DAY_NAMES[days[0]]}–{DAY_NAMES[days[-1]]}"
    return ", ".join(DAY_NAMES[day] for day in days)


def clock_calendar(
    house: House, key: str, code: ReasonCode, what: str, rules: list[dict[str, Any]]
) -> Calendar:
    """Loud or outdoor hours; no rule means any time."""
    windows: calendars.Windows = ((0, house.horizon),)
    if rules:
        windows = calendars.windows_of(
            calendars.weekly_hours(rules),
            timezone=house.record.timezone,
            origin=house.clock.origin,
            horizon=house.horizon,
        )
    return Calendar(key, code, say_weekly(what, rules), windows)


def weekly(house: House, weekdays: Iterable[int], starts: time, ends: time) -> calendars.Windows:
    """Outsiders' days: never on bank holidays."""
    return calendars.windows_of(
        [calendars.WeeklyHours(day, starts, ends) for day in weekdays],
        days_off=house.days_off,
        timezone=house.record.timezone,
        origin=house.clock.origin,
        horizon=house.horizon,
    )


def trades_of(house: House) -> list[Trade]:
    """Every trade that has a visit or a task, once."""
    visiting = (visit.trade for visit in house.visits.values())
    named = (task.trade for task in house.tasks.values() if task.trade is not None)
    return [trade for _, trade in sorted({t.pk: t for t in (*visiting, *named)}.items())]


def trade_calendar(house: House, trade: Trade) -> Calendar:
    return Calendar(
        f"trade:{trade.pk}", "visit",
        f"{trade} comes on other days or at other hours.",
        weekly(house, trade.days or WORKING_WEEK, trade.from_time, trade.to_time), (ref(trade),),
    )  # fmt: skip


def crew_name(house: House) -> str:
    return next((p.name for p in house.people if p.role == Person.Role.CREW), "The crew")


def resources(house: House) -> tuple[Resource, ...]:
    return (
        Resource(CREW, crew_name(house), "crew"),
        *(Resource(f"tool:{t.pk}", t.name, "tool", t.quantity, ref(t)) for t in house.tools),
        *(
            Resource(f"trade:{trade.pk}", trade.name, "trade", 1, ref(trade))
            for trade in trades_of(house)
        ),
        *(
            Resource(f"inspection:{row.pk}", str(row), "inspector", 1, ref(row))
            for row in house.inspections.values()
        ),
    )
