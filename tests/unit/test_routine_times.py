"""When something is due at a time of day, also where the clocks change.

Changes of the clock: IANA time zone database (Europe/London 2026: 29 March and 25 October at 01:00
UTC; Africa/Cairo 2026: 24 April at midnight).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.planning.routine.times import day_due, replan_at

FOUR, SIX_HOURS = time(4), timedelta(hours=6)
LONDON = ZoneInfo("Europe/London")
BEAT = timedelta(minutes=5)


def utc(*parts):
    return datetime(*parts, tzinfo=UTC)


@pytest.mark.parametrize(
    ("now", "on"),
    [
        (utc(2026, 1, 5, 3, 59), None),
        (utc(2026, 1, 5, 4, 0), date(2026, 1, 5)),
        (utc(2026, 1, 5, 9, 59), date(2026, 1, 5)),
        (utc(2026, 1, 5, 10, 0), None),
        # In summer four in London is three of UTC.
        (utc(2026, 7, 6, 2, 59), None),
        (utc(2026, 7, 6, 3, 0), date(2026, 7, 6)),
        # The days on which the clocks change.
        (utc(2026, 3, 29, 3, 0), date(2026, 3, 29)),
        (utc(2026, 10, 25, 3, 59), None),
        (utc(2026, 10, 25, 4, 0), date(2026, 10, 25)),
    ],
)
def test_four_in_the_morning_is_by_the_houses_clock(now, on):
    assert day_due(now, LONDON, FOUR, within=SIX_HOURS) == on


def test_each_zone_has_a_four_of_its_own():
    now = utc(2026, 1, 5, 19, 0)

    assert day_due(now, ZoneInfo("Asia/Tokyo"), FOUR, within=SIX_HOURS) == date(2026, 1, 6)
    assert day_due(now, LONDON, FOUR, within=SIX_HOURS) is None


@pytest.mark.parametrize(
    ("zone", "at", "on", "first"),
    [
        # 01:30 does not exist that day: it comes when the clocks have been put on.
        (LONDON, time(1, 30), date(2026, 3, 29), utc(2026, 3, 29, 1, 30)),
        # 01:30 is shown twice: the first counts.
        (LONDON, time(1, 30), date(2026, 10, 25), utc(2026, 10, 25, 0, 30)),
        (ZoneInfo("Africa/Cairo"), time(0, 30), date(2026, 4, 24), utc(2026, 4, 23, 22, 30)),
    ],
)
def test_a_time_that_is_skipped_or_shown_twice_comes_once(zone, at, on, first):
    begins = datetime.combine(on, time(0), zone).astimezone(UTC) - timedelta(hours=2)
    beats = [begins + n * BEAT for n in range(12 * 30)]

    due = [now for now in beats if day_due(now, zone, at, within=timedelta(hours=2)) == on]

    assert due
    assert first <= due[0] < first + timedelta(hours=1) + BEAT
    assert due == [due[0] + n * BEAT for n in range(len(due))]


@given(
    st.datetimes(min_value=datetime(2020, 1, 1), max_value=datetime(2035, 1, 1)),
    st.sampled_from(["Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"]),
    st.times(),
)
def test_no_day_is_missed_and_none_comes_twice(begins, name, at):
    zone = ZoneInfo(name)
    start = begins.replace(tzinfo=UTC)
    beats = [start + n * timedelta(minutes=30) for n in range(48 * 3)]

    found = [day_due(now, zone, at, within=timedelta(hours=1)) for now in beats]
    days = [on for on in found if on is not None]

    # Longer than a beat, so each day is seen; whoever sends once a day keeps the day.
    whole = {start.astimezone(zone).date() + timedelta(days=n) for n in (1,)}
    late = at >= time(23)
    assert late or whole <= set(days)
    assert days == sorted(days)


def test_a_plan_waits_for_a_pause_but_not_for_ever():
    first, delay = utc(2026, 1, 5, 10, 0), timedelta(minutes=10)

    assert replan_at(first, first, delay, waits=6) == utc(2026, 1, 5, 10, 10)
    later = first + timedelta(minutes=9)
    assert replan_at(later, first, delay, waits=6) == utc(2026, 1, 5, 10, 19)
    much_later = first + timedelta(minutes=55)
    assert replan_at(much_later, first, delay, waits=6) == utc(2026, 1, 5, 11, 0)
