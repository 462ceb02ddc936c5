"""A feed as iCalendar text: RFC 5545, with the calendar's name and refreshing of RFC 7986.

Times are written in UTC, which needs no time zone rules and is right across a change of clocks;
a calendar shows them in its own zone. Whole days are dates, and no zone's.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from icalendar import Calendar, Event, Timezone, TimezoneStandard
from icalendar.prop import vText

from apps.planning.feeds.memory import Told

PRODUCT = "-//Lifted Boards//Calendar//EN"
READ_AGAIN_AFTER = timedelta(hours=1)
WORDS = {"task": "Work", "visit": "Visit", "inspection": "Inspection", "notice": "Notice"}
# RFC 5545 section 3.1: of the control characters only the tab may stand in a text; a line's end
# is written as \n by the library.
CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


def calendar_text(name: str, told: Sequence[Told], *, uid_space: UUID) -> bytes:
    """The whole feed. The same for the same arguments, whenever and wherever it is asked for."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("uid", str(uid_space))
    calendar.add("name", plain(name))
    calendar.add("refresh-interval", READ_AGAIN_AFTER, parameters={"VALUE": "DURATION"})
    if told:
        calendar.add("last-modified", max(row.changed_at for row in told))
    for row in told:
        calendar.add_component(event_of(row, uid_space))
    if not told:
        calendar.add_component(no_event())
    text: bytes = calendar.to_ical()
    return text


def no_event() -> Timezone:
    """What stands in a calendar without events: RFC 5545 section 3.6 asks for one component."""
    rules, zone = TimezoneStandard(), Timezone()
    rules.add("dtstart", datetime(1970, 1, 1))  # noqa: DTZ001 (local time, by section 3.6.5)
    rules.add("tzoffsetfrom", timedelta(0))
    rules.add("tzoffsetto", timedelta(0))
    zone.add("tzid", "UTC")
    zone.add_component(rules)
    return zone


def event_of(told: Told, uid_space: UUID) -> Event:
    event, row = told.event, Event()
    row.add("uid", uid_of(uid_space, told))
    # Without METHOD the stamp says when the event was last revised: RFC 5545 section 3.8.7.2.
    row.add("dtstamp", told.changed_at)
    row.add("last-modified", told.changed_at)
    row.add("sequence", told.sequence)
    row.add("status", status_of(told))
    row.add("dtstart", event.starts.date() if event.all_day else second(event.starts))
    row.add("dtend", event.ends.date() if event.all_day else second(event.ends))
    row.add("summary", plain(event.title))
    if event.place:
        row.add("location", plain(event.place))
    if event.note:
        row.add("description", plain(event.note))
    row.add("categories", [WORDS[event.kind]])
    free = event.all_day or told.cancelled_at is not None
    row.add("transp", "TRANSPARENT" if free else "OPAQUE")
    return row


def uid_of(uid_space: UUID, told: Told) -> str:
    """A name for the event that is the same on every host and at every reading: RFC 7986 section
    5.3 asks for a UUID and for nothing that tells of the host."""
    return str(uuid5(uid_space, f"{told.event.kind}:{told.event.about}:{told.number}"))


def status_of(told: Told) -> str:
    if told.cancelled_at is not None:
        return "CANCELLED"
    return "TENTATIVE" if told.event.tentative else "CONFIRMED"


def second(at: datetime) -> datetime:
    return at.replace(microsecond=0)


def plain(text: str) -> vText:
    """A text that nobody's title can break out of."""
    unix = text.replace("\r\n", "\n").replace("\r", "\n")
    return vText(CONTROLS.sub(" ", unix))
