"""Making and stopping a feed's address, and reading the feed."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from apps.planning.feeds.events import events_of
from apps.planning.feeds.memory import Event, Told, changes, is_shown
from apps.planning.feeds.models import CalendarFeed, FeedEntry
from apps.planning.models import Person
from apps.work.models import Trade
from apps.work.steps import lock
from renovation.errors import Problem
from renovation.secrets import digest_of, fresh_part

TOLD_OF_AN_EVENT = (
    "starts", "ends", "all_day", "tentative", "title", "place", "note", "sequence", "changed_at",
    "cancelled_at",
)  # fmt: skip


@transaction.atomic
def feed_of(*, whose: Person | Trade, made_by: Any) -> CalendarFeed:
    """The feed of a person or a trade; a new one without an address when there is none."""
    name = "person" if isinstance(whose, Person) else "trade"
    feed, _ = CalendarFeed.objects.get_or_create(
        **{name: whose}, defaults={"property": whose.property, "made_by": made_by}
    )
    return feed


@transaction.atomic
def make_feed_address(*, feed: CalendarFeed, made_by: Any, at: datetime) -> str:
    """Make the secret part of a feed's address. It is told here and never again; the address
    before it, if any, stops."""
    lock(feed)
    part = fresh_part()
    feed.change(digest=digest_of(part), address_made_at=at, made_by=made_by)
    return part


@transaction.atomic
def revoke_feed_address(*, feed: CalendarFeed) -> CalendarFeed:
    """Stop a feed's address. Not undone: nobody has it any more; make a new one.

    Raises:
        Problem: `wrong-step` when it has none.
    """
    lock(feed)
    if feed.digest is None:
        raise Problem("wrong-step", f"{feed} has no address that could be stopped.")
    feed.change(digest=None, address_made_at=None)
    return feed


def as_webcal(address: str) -> str:
    """The address as phones know it for "subscribe to this calendar"."""
    return f"webcal{address[address.index(':') :]}"


@transaction.atomic
def read_feed(*, part: str, now: datetime) -> bytes | None:
    """The feed behind an address as iCalendar text; None when the address leads nowhere.

    What is new since the last reading is noted first, so that the next one can tell a move from
    a new event. Reading again without a change in the house writes nothing.
    """
    # The library and the geometry behind it take their time: only when a feed is read.
    from apps.planning.feeds.writing import calendar_text  # noqa: PLC0415 (large library)

    rows = CalendarFeed.objects.select_related("property", "person", "trade")
    feed = rows.filter(digest=digest_of(part)).first()
    if feed is None:
        return None
    # Two readers at once would both number a new event: the feed's row makes one wait.
    CalendarFeed.objects.select_for_update().get(pk=feed.pk)
    kept = {(row.kind, row.about, row.number): row for row in feed.entries.all()}
    told = {key: told_of(row) for key, row in kept.items()}
    for change in changes([*told.values()], events_of(feed, now=now), now=now):
        key = (change.event.kind, change.event.about, change.number)
        keep(feed, kept.get(key), change)
        told[key] = change
    shown = [row for row in told.values() if is_shown(row, now=now)]
    shown.sort(key=lambda row: (row.event.starts, row.event.kind, row.event.about, row.number))
    name = f"{feed.property}: {feed.person or feed.trade}"
    return calendar_text(name, shown, uid_space=feed.uid_space)


def told_of(row: FeedEntry) -> Told:
    event = Event(
        row.kind, row.about, row.starts, row.ends, row.title, row.place, row.note,  # type: ignore[arg-type]
        row.tentative, row.all_day,
    )  # fmt: skip
    return Told(event, row.number, row.sequence, row.changed_at, row.cancelled_at)


def keep(feed: CalendarFeed, row: FeedEntry | None, told: Told) -> None:
    """Store one event as it is told from now on."""
    event = told.event
    row = row or FeedEntry(feed=feed, kind=event.kind, about=event.about, number=told.number)
    for name in TOLD_OF_AN_EVENT:
        setattr(row, name, getattr(event if hasattr(event, name) else told, name))
    row.save()
