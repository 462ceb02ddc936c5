"""Between the wall's clock and the planner's quarter-hours."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from apps.planning.problem import QUARTER_MINUTES


@dataclass(frozen=True, slots=True)
class Clock:
    """A plan's origin and the house's zone.

    `origin` is the local midnight before the plan's "now", so that today's visits have a
    place on the axis even when they have begun.
    """

    origin: datetime
    zone: ZoneInfo

    @classmethod
    def starting(cls, as_of: datetime, timezone: str) -> Clock:
        zone = ZoneInfo(timezone)
        midnight = datetime.combine(as_of.astimezone(zone).date(), time(0), zone)
        return cls(midnight.astimezone(UTC), zone)

    def floor(self, instant: datetime) -> int:
        """The quarter-hour that has begun at an instant."""
        return int((instant - self.origin) // timedelta(minutes=QUARTER_MINUTES))

    def ceil(self, instant: datetime) -> int:
        """The first quarter-hour that begins at or after an instant."""
        return -int((self.origin - instant) // timedelta(minutes=QUARTER_MINUTES))

    def at(self, quarter: int) -> datetime:
        """The instant of a quarter-hour, in UTC."""
        return self.origin + timedelta(minutes=QUARTER_MINUTES * quarter)

    def local(self, instant: datetime) -> datetime:
        return instant.astimezone(self.zone)

    def midnight(self, on: date) -> int:
        """The quarter-hour at which a local date begins."""
        return self.ceil(datetime.combine(on, time(0), self.zone).astimezone(UTC))

    def on(self, quarter: int) -> date:
        return self.local(self.at(quarter)).date()

    def say(self, quarter: int) -> str:
        """ "Thu 3 Dec, 18:30", in the house's own time."""
        return say(self.local(self.at(quarter)))


def say(local: datetime) -> str:
    return f"{local:%a} {local.day} {local:%b}, {local:%H:%M}"


def say_date(on: date) -> str:
    return f"{on:%a} {on.day} {on:%b}"


def quarters(minutes: int) -> int:
    """Minutes as quarter-hours, rounded up."""
    return -(-minutes // QUARTER_MINUTES)
