"""Which of the things that happen by themselves are due."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta


class Timetable:
    """When each thing was last begun, and which has to be begun again.

    It goes by the clock on the wall, since that goes on while a laptop sleeps. What was missed is
    done once, not as often as it was missed. Nothing is remembered beyond the process: at first
    everything is due, and whatever may happen only once has a row that says it has happened.

    Args:
        every_seconds: how often each is to be done, by its name; the first comes first.
    """

    def __init__(self, every_seconds: Mapping[str, float]) -> None:
        self.every = {name: timedelta(seconds=it) for name, it in every_seconds.items()}
        self.begun_at: dict[str, datetime] = {}

    def due(self, now: datetime) -> Iterator[str]:
        """Their names, in order."""
        for name in self.every:
            if self.due_at(name, now) <= now:
                yield name

    def begun(self, name: str, now: datetime) -> None:
        self.begun_at[name] = now

    def due_at(self, name: str, now: datetime) -> datetime:
        last = self.begun_at.get(name)
        # Begun later than now: the clock was put back, by how much nobody knows.
        return now if last is None or last > now else last + self.every[name]

    def seconds_left(self, now: datetime) -> float:
        """Until the next is due."""
        return min(
            ((self.due_at(name, now) - now).total_seconds() for name in self.every), default=0
        )
