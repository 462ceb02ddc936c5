"""From hours as people say them to windows as the planner counts them.

People say "Monday 18:30 to 21:00, not on the 5th"; the planner counts quarter-hours of
real elapsed time from an origin. Windows are half-open, sorted, disjoint and not touching.

A local time means the first instant at which the clock on the wall shows it or later:

- spring, the clocks jump from 01:00 to 02:00: 01:30 is the instant of the jump, so
  01:00–03:00 is one hour long, 01:00–01:45 is nothing at all;
- autumn, the hour from 01:00 to 02:00 comes twice: 01:30 is the first 01:30, so
  01:00–03:00 is three hours long and 01:15–01:45 is half an hour.

The first of two equal times is also the reading of RFC 5545 section 3.3.5.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from apps.planning.problem import QUARTER_MINUTES, Interval

Windows = tuple[Interval, ...]

_QUARTER = timedelta(minutes=QUARTER_MINUTES)
_ONE_DAY = timedelta(days=1)
_ONE_SECOND = timedelta(seconds=1)
_MIDNIGHT = time(0)
_Point = TypeVar("_Point", int, datetime)


class WeeklyHours(NamedTuple):
    """Hours of every week. `weekday` counts from Monday = 0, as `date.weekday()` does.

    `ends` not after `starts` means the next day; 00:00 to 00:00 is the whole day.
    """

    weekday: int
    starts: time
    ends: time


class DatedHours(NamedTuple):
    """Hours of one date in place of the week's; both None: no hours that day."""

    on: date
    starts: time | None
    ends: time | None


def windows_of(
    weekly: Iterable[WeeklyHours],
    dated: Iterable[DatedHours] = (),
    *,
    days_off: Collection[date] = (),
    timezone: str,
    origin: datetime,
    horizon: int,
) -> Windows:
    """Windows of these hours in [0, horizon), in quarter-hours from `origin`.

    Hours belong to the date they begin on, also when they run past midnight. Dated hours
    replace all weekly hours of their date; on a day off only dated hours count; "no hours"
    on a date beats any other hours on it. Hours that meet are joined before they are cut
    to whole quarter-hours, inward.

    Args:
        days_off: dates without weekly hours, e.g. bank holidays.
        timezone: name of the place's timezone, e.g. "Europe/London".
        origin: aware instant of quarter-hour 0.

    Raises:
        ValueError: the origin has no timezone; hours have one end only or no length.
        zoneinfo.ZoneInfoNotFoundError: no such timezone.
    """
    if origin.utcoffset() is None:
        raise ValueError("the origin of a plan needs a timezone")
    zone, origin = ZoneInfo(timezone), origin.astimezone(UTC)
    # The day before may run past midnight into the first day.
    first_on = origin.astimezone(zone).date() - _ONE_DAY
    last_on = (origin + horizon * _QUARTER).astimezone(zone).date()
    stretches = _joined(
        (
            first_instant(on, starts, zone),
            first_instant(on if ends > starts else on + _ONE_DAY, ends, zone),
        )
        for on, starts, ends in _hours_by_day(
            tuple(weekly), tuple(dated), days_off, first_on, last_on
        )
    )
    # Inward: starts are rounded up, ends down.
    quarters = tuple((-((origin - a) // _QUARTER), (b - origin) // _QUARTER) for a, b in stretches)
    return intersect(quarters, ((0, horizon),))


def first_instant(on: date, at: time, zone: ZoneInfo) -> datetime:
    """The first instant, in UTC, at which the clock on the wall shows this time or later."""
    local = datetime.combine(on, at, tzinfo=zone)
    instant = local.astimezone(UTC)
    if instant.astimezone(zone).replace(tzinfo=None) == local.replace(tzinfo=None):
        return instant
    # The time was skipped: the clocks jump somewhere between its two readings.
    before = local.utcoffset()
    early, late = local.replace(fold=1).astimezone(UTC), instant
    while late - early > _ONE_SECOND:
        middle = early + (late - early) // _ONE_SECOND // 2 * _ONE_SECOND
        if middle.astimezone(zone).utcoffset() == before:
            early = middle
        else:
            late = middle
    return late


def weekly_hours(rules: Iterable[Mapping[str, Any]]) -> tuple[WeeklyHours, ...]:
    """Hours as a property keeps them: `{"weekdays": [0, 1], "from": "08:00", "to": "18:00"}`.

    For loud work, outdoor work and the like. "24:00" is midnight at the end of the day.

    Raises:
        ValueError: a weekday is not 0 (Monday) to 6, or a time is not HH:MM.
    """
    hours = []
    for rule in rules:
        starts, ends = _clock_time(rule["from"]), _clock_time(rule["to"])
        for weekday in rule["weekdays"]:
            if weekday not in range(7):
                raise ValueError(f"weekday {weekday!r} is not 0 (Monday) to 6 (Sunday)")
            hours.append(WeeklyHours(weekday, starts, ends))
    return tuple(hours)


def union(*sets: Windows) -> Windows:
    """Where at least one of them is open."""
    return tuple(_joined(window for windows in sets for window in windows))


def intersect(first: Windows, *others: Windows) -> Windows:
    """Where all of them are open."""
    common = first
    for other in others:
        common = tuple(_overlaps(common, other))
    return common


def complement(windows: Windows, within: Interval) -> Windows:
    """Where none is open, from the start to the end of `within`."""
    position, end = within
    gaps = []
    for opens, closes in windows:
        if position < min(opens, end):
            gaps.append((position, min(opens, end)))
        position = max(position, closes)
    if position < end:
        gaps.append((position, end))
    return tuple(gaps)


def total(windows: Windows, within: Interval | None = None) -> int:
    """Quarter-hours that are open, altogether or `within` a stretch."""
    inside = windows if within is None else intersect(windows, (within,))
    return sum(closes - opens for opens, closes in inside)


def advance(start: int, working_quarters: int, windows: Windows) -> int | None:
    """The earliest time by which so much working time has passed since `start`.

    None when the windows hold less. Nothing to wait for is `start` itself, open or not.

    Raises:
        ValueError: `working_quarters` is negative.
    """
    if working_quarters < 0:
        raise ValueError(f"cannot wait for {working_quarters} quarter-hours")
    left = working_quarters
    if not left:
        return start
    for opens, closes in windows:
        begin = max(start, opens)
        if closes - begin >= left:
            return begin + left
        left -= max(0, closes - begin)
    return None


def _hours_by_day(
    weekly: Collection[WeeklyHours],
    dated: Collection[DatedHours],
    days_off: Collection[date],
    first_on: date,
    last_on: date,
) -> Iterator[tuple[date, time, time]]:
    instead, none_on = _exceptions(dated)
    for number in range((last_on - first_on).days + 1):
        on = first_on + number * _ONE_DAY
        if on in none_on:
            continue
        if on in instead:
            hours = instead[on]
        elif on in days_off:
            hours = []
        else:
            hours = [(starts, ends) for weekday, starts, ends in weekly if weekday == on.weekday()]
        for starts, ends in hours:
            if starts == ends != _MIDNIGHT:
                raise ValueError(f"hours on {on} begin and end at {starts:%H:%M}")
            yield on, starts, ends


def _exceptions(
    dated: Collection[DatedHours],
) -> tuple[dict[date, list[tuple[time, time]]], set[date]]:
    instead: dict[date, list[tuple[time, time]]] = {}
    none_on: set[date] = set()
    for on, starts, ends in dated:
        if starts is not None and ends is not None:
            instead.setdefault(on, []).append((starts, ends))
        elif starts is None and ends is None:
            none_on.add(on)
        else:
            raise ValueError(f"hours on {on} have only one end")
    return instead, none_on


def _joined(stretches: Iterable[tuple[_Point, _Point]]) -> Iterator[tuple[_Point, _Point]]:
    current: tuple[_Point, _Point] | None = None
    for starts, ends in sorted(stretches):
        if starts >= ends:
            continue
        if current is None:
            current = (starts, ends)
        elif starts <= current[1]:
            current = (current[0], max(current[1], ends))
        else:
            yield current
            current = (starts, ends)
    if current is not None:
        yield current


def _overlaps(left: Windows, right: Windows) -> Iterator[Interval]:
    i = j = 0
    while i < len(left) and j < len(right):
        opens, closes = max(left[i][0], right[j][0]), min(left[i][1], right[j][1])
        if opens < closes:
            yield opens, closes
        if left[i][1] <= right[j][1]:
            i += 1
        else:
            j += 1


def _clock_time(text: str) -> time:
    if text == "24:00":
        return _MIDNIGHT
    try:
        return datetime.strptime(text, "%H:%M").time()  # noqa: DTZ007  (a time of day only)
    except (TypeError, ValueError):
        raise ValueError(f"{text!r} is not a time of day such as 08:30") from None
