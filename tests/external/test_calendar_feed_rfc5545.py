"""The calendar feed against RFC 5545 (iCalendar, Desruisseaux, 2009) and RFC 7986 (new properties,
Daboo, 2016): read by a strict reader of our own (`tests/rfc5545.py`, from the RFC's text, from
memory), and by the library's parser for the round trip."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.feeds.memory import Event, Told
from apps.planning.feeds.writing import calendar_text
from tests import rfc5545

SPACE = UUID("6f1f9a52-3d0c-4a57-8f0e-0d5c7a1b2c3d")
AT = datetime(2026, 3, 2, 18, 30, tzinfo=UTC)
HOSTILE = [
    "Lift; lay, fix \\ again",
    "Boards\r\nEND:VEVENT\r\nEND:VCALENDAR\r\nBEGIN:VCALENDAR",
    "Line\u2028end\u0085and\x0bmore\x00\x07\x1f\x7f",
    '"quoted":;,=\\n',
    "ü€😀" * 60,
    " leading blank and a tab\t",
    "\\",
]


def event(**fields):
    plain = {
        "kind": "task", "about": 7, "starts": AT, "ends": AT + timedelta(hours=2),
        "title": "Lift the hall boards",
    }  # fmt: skip
    return Event(**{**plain, **fields})


def told(number=1, *, sequence=0, cancelled_at=None, **fields):
    return Told(event(**fields), number, sequence, AT - timedelta(days=1), cancelled_at)


def written(*rows, name="14 Tidemill Lane: Mar Penhale"):
    return calendar_text(name, rows, uid_space=SPACE)


def test_a_feed_keeps_to_the_grammar_and_says_what_it_should():
    calendar = rfc5545.read(
        written(
            told(place="Hall", note="Tools: jack"),
            told(2, sequence=3, cancelled_at=AT),
            told(kind="visit", tentative=True),
            told(kind="notice", all_day=True, starts=datetime(2026, 3, 3, tzinfo=UTC),
                 ends=datetime(2026, 3, 4, tzinfo=UTC)),
        )
    )  # fmt: skip

    first, gone, visit, notice = calendar.events
    assert calendar["NAME"] == "14 Tidemill Lane: Mar Penhale"
    assert calendar["REFRESH-INTERVAL"] == "PT1H"
    assert (first["SUMMARY"], first["LOCATION"], first["DESCRIPTION"]) == (
        "Lift the hall boards", "Hall", "Tools: jack",
    )  # fmt: skip
    assert (first["DTSTART"], first["DTEND"]) == (AT, AT + timedelta(hours=2))
    assert first["DTSTAMP"] == first["LAST-MODIFIED"] == AT - timedelta(days=1)
    assert [e["STATUS"] for e in calendar.events] == [
        "CONFIRMED", "CANCELLED", "TENTATIVE", "CONFIRMED",
    ]  # fmt: skip
    assert (gone["SEQUENCE"], gone["TRANSP"]) == (3, "TRANSPARENT")
    assert visit["UID"] != first["UID"]
    assert (notice["DTSTART"], notice["DTEND"]) == (date(2026, 3, 3), date(2026, 3, 4))


def test_a_feed_without_events_is_a_calendar_all_the_same():
    calendar = rfc5545.read(written())

    assert calendar.events == []
    assert icalendar.Calendar.from_ical(written()).events == []


@pytest.mark.parametrize("title", HOSTILE)
def test_no_title_breaks_out_of_its_line(title):
    text = written(told(title=title, place=title, note=title), name=title)

    calendar = rfc5545.read(text)
    again = icalendar.Calendar.from_ical(text)

    (only,) = calendar.events
    words = [only["SUMMARY"], only["LOCATION"], only["DESCRIPTION"], calendar["NAME"]]
    assert words == [as_kept(title)] * 4
    assert str(again.events[0]["SUMMARY"]) == as_kept(title)


def as_kept(title):
    """Line ends as one sign, and a blank for each other control character (section 3.1)."""
    unix = title.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(
        " " if (ord(sign) < 32 and sign not in "\t\n") or sign == "\x7f" else sign for sign in unix
    )


@settings(max_examples=60, deadline=None)
@given(
    st.text(st.characters(codec="utf-8"), max_size=120),
    st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1)),
    st.integers(1, 2000),
)
def test_whatever_is_written_is_read_back_the_same(title, starts, minutes):
    starts = starts.replace(tzinfo=UTC, microsecond=0)
    row = told(title=title, starts=starts, ends=starts + timedelta(minutes=minutes))

    text = written(row)

    (mine,) = rfc5545.read(text).events
    (theirs,) = icalendar.Calendar.from_ical(text).events
    assert mine["SUMMARY"] == str(theirs["SUMMARY"]) == as_kept(title)
    assert mine["DTSTART"] == theirs.start == starts
    assert mine["DTEND"] == theirs.end == row.event.ends


def test_an_evening_stays_at_half_past_six_when_the_clocks_change():
    """Clocks in England go forward on Sunday 29 March 2026 at 01:00 UTC (the last Sunday of March:
    Summer Time Order 2002, article 2)."""
    london = ZoneInfo("Europe/London")
    evenings = [datetime(2026, 3, day, 18, 30, tzinfo=london) for day in (28, 29, 30)]
    rows = [
        told(n, starts=at.astimezone(UTC), ends=(at + timedelta(hours=2)).astimezone(UTC))
        for n, at in enumerate(evenings, start=1)
    ]

    starts = [row["DTSTART"] for row in rfc5545.read(written(*rows)).events]

    assert [f"{at:%H:%M}" for at in starts] == ["18:30", "17:30", "17:30"]
    assert [at.astimezone(london).hour for at in starts] == [18, 18, 18]


def test_a_night_across_the_change_of_clocks_has_its_real_length():
    london = ZoneInfo("Europe/London")
    begins = datetime(2026, 10, 25, 0, 30, tzinfo=london).astimezone(UTC)
    ends = datetime(2026, 10, 25, 2, 30, tzinfo=london).astimezone(UTC)

    (only,) = icalendar.Calendar.from_ical(written(told(starts=begins, ends=ends))).events

    assert only.end - only.start == timedelta(hours=3)


def test_uids_are_uuids_that_name_no_host_and_stay_the_same():
    """RFC 7986 section 5.3: a UUID, and nothing that tells of the machine."""
    one, again = (rfc5545.read(written(told(), told(2))).events for _ in range(2))
    elsewhere = calendar_text("x", [told()], uid_space=UUID(int=7))

    assert [e["UID"] for e in one] == [e["UID"] for e in again]
    assert [str(UUID(str(e["UID"]))) for e in one] == [e["UID"] for e in one]
    assert rfc5545.read(elsewhere).events[0]["UID"] != one[0]["UID"]


@pytest.mark.parametrize(
    ("broken", "section"),
    [
        (b"SUMMARY:a;b", "3.3.11"),
        (b"SUMMARY:" + b"x" * 80, "3.1"),
        (b"DTEND:20260302T100000Z", "3.8.2.2"),
        (b"DTEND:20260302T200000", "3.3.5"),
        (b"DTSTAMP:20260302T200000Z", "3.6"),
        (b"SUMMARY:a\x07", "3.1"),
    ],
)
def test_the_reader_itself_refuses_what_the_rfc_does_not_allow(broken, section):
    plain = [
        b"BEGIN:VCALENDAR", b"PRODID:x", b"VERSION:2.0", b"BEGIN:VEVENT", b"UID:1",
        b"DTSTAMP:20260302T183000Z", b"DTSTART:20260302T183000Z", b"END:VEVENT", b"END:VCALENDAR",
    ]  # fmt: skip
    rfc5545.read(b"\r\n".join(plain) + b"\r\n")
    plain.insert(7, broken)

    with pytest.raises(AssertionError, match=f"^{section}"):
        rfc5545.read(b"\r\n".join(plain) + b"\r\n")
