"""When something is due that happens at a time of day of a house's own clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def day_due(now: datetime, zone: ZoneInfo, at: time, *, within: timedelta) -> date | None:
    """The house's day on which the time has come, and is no longer ago than `within`.

    A time that the clocks skip comes when they have been put on, one that they show twice comes
    the first time; either way once on that day.

    Args:
        now: any instant; "now" is an argument.
        zone: the house's.
        at: the time of day, on the house's clock.
        within: later than this it is left out until the next day.
    """
    on = now.astimezone(zone).date()
    due = moment(on, at, zone)
    return on if due <= now < due + within else None


def moment(on: date, at: time, zone: ZoneInfo) -> datetime:
    """When a house's clock shows a time of a day; the first time, if twice."""
    return datetime.combine(on, at, zone).astimezone(UTC)


def replan_at(now: datetime, first: datetime, delay: timedelta, *, waits: int) -> datetime:
    """When to plan for edits: after a pause of `delay`, but `waits` times that from the first on
    at the latest, so that somebody who never pauses has a plan too."""
    return min(now + delay, first + waits * delay)
