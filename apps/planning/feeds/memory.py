"""What a calendar was told before, set against what it is to be told now.

An event keeps its number, and with the number its UID, for as long as it can: a re-plan that
moves one stretch of a task changes one event and leaves the others alone. What falls out of the
plan is cancelled, not passed over, since a calendar that reads an address may keep what it no
longer finds there. What has passed stays as it was: it is the diary.

RFC 5545 sections 3.8.4.7 (UID), 3.8.7.4 (SEQUENCE), 3.8.1.11 (STATUS), 3.8.7.3 (LAST-MODIFIED).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

Kind = Literal["task", "visit", "inspection", "notice"]

SHOWN_AFTER = timedelta(weeks=4)
"""How long a cancelled event is still told, and how far back the diary goes."""


@dataclass(frozen=True, slots=True)
class Event:
    """Something with a time. An all-day event runs from midnight UTC to midnight UTC."""

    kind: Kind
    about: int
    starts: datetime
    ends: datetime
    title: str
    place: str = ""
    note: str = ""
    tentative: bool = False
    all_day: bool = False


@dataclass(frozen=True, slots=True)
class Told:
    """An event as it was told last.

    Attributes:
        number: which stretch of its task, visit or inspection it is, from 1.
        sequence: counts its moves, its cancellation and its coming back.
    """

    event: Event
    number: int
    sequence: int
    changed_at: datetime
    cancelled_at: datetime | None = None


def changes(before: Sequence[Told], wanted: Iterable[Event], *, now: datetime) -> list[Told]:
    """What is to be told anew: new events, changed ones and cancelled ones; empty when a
    calendar that has `before` knows all of it.

    Args:
        before: all that was ever told, at most one of each kind, id and number.
        wanted: what stands now.
    """
    old: dict[tuple[str, int], list[Told]] = defaultdict(list)
    for told in sorted(before, key=lambda told: told.number):
        old[told.event.kind, told.event.about].append(told)
    new: dict[tuple[str, int], list[Event]] = defaultdict(list)
    for event in sorted(wanted, key=lambda event: (event.starts, event.ends)):
        new[event.kind, event.about].append(event)
    return [
        told for key in sorted({*old, *new}) for told in changes_of_one(old[key], new[key], now=now)
    ]


def changes_of_one(old: Sequence[Told], new: Sequence[Event], *, now: datetime) -> list[Told]:
    """The same for the stretches of one thing, `old` by number and `new` by time."""
    left, found = list(old), []
    moved = []
    for event in new:
        same = next((told for told in left if at_same_time(told.event, event)), None)
        if same is None:
            moved.append(event)
            continue
        left.remove(same)
        found += told_again(same, event, now=now)
    # Those that stand first, so that what was cancelled stays cancelled where it can.
    free = [told for told in left if told.cancelled_at is None and told.event.ends > now]
    free += [told for told in left if told.cancelled_at is not None]
    last = max((told.number for told in old), default=0)
    for event in moved:
        if free:
            told = free.pop(0)
            left.remove(told)
            found += told_again(told, event, now=now)
        else:
            last += 1
            found.append(Told(event, last, 0, now))
    found += [
        replace(told, sequence=told.sequence + 1, changed_at=now, cancelled_at=now)
        for told in left
        if told.cancelled_at is None and told.event.ends > now
    ]
    return found


def at_same_time(one: Event, other: Event) -> bool:
    return (one.starts, one.ends) == (other.starts, other.ends)


def told_again(told: Told, event: Event, *, now: datetime) -> list[Told]:
    """The event with what is new of it; nothing when nothing is."""
    stands = told.cancelled_at is None
    if stands and told.event == event:
        return []
    kept = stands and at_same_time(told.event, event) and told.event.tentative == event.tentative
    return [Told(event, told.number, told.sequence + (not kept), now)]


def is_shown(told: Told, *, now: datetime) -> bool:
    """Whether a reader is still told of it."""
    return now - (told.cancelled_at or told.event.ends) < SHOWN_AFTER
