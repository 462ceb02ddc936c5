"""Hours to windows, against a clock on the wall that is walked minute by minute."""

from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from hypothesis import example, given, settings
from hypothesis import strategies as st

from apps.planning.calendars import DatedHours, WeeklyHours, windows_of

DAY = 96
DAYS = 4
CHANGES = [
    ("Europe/London", datetime(2026, 3, 28, tzinfo=UTC)),
    ("Europe/London", datetime(2026, 10, 24, tzinfo=UTC)),
    ("America/New_York", datetime(2026, 10, 31, 4, tzinfo=UTC)),
    ("Australia/Lord_Howe", datetime(2026, 4, 4, tzinfo=UTC)),  # half an hour
    ("Australia/Lord_Howe", datetime(2026, 10, 3, tzinfo=UTC)),
    ("Asia/Kathmandu", datetime(2026, 6, 1, tzinfo=UTC)),  # 45 minutes off the hour
    ("Africa/Cairo", datetime(2026, 4, 23, tzinfo=UTC)),  # jumps at midnight
]
clock_times = st.builds(time, st.integers(0, 23), st.sampled_from([0, 10, 15, 30, 37, 45]))
small_hours = st.builds(time, st.integers(0, 3), st.sampled_from([0, 15, 20, 30, 45]))
spans = st.tuples(*[clock_times | small_hours] * 2).filter(
    lambda span: span[0] != span[1] or span[0] == time(0)
)
weekly_patterns = st.lists(st.tuples(st.integers(0, 6), spans), max_size=6)
exceptions = st.lists(st.tuples(st.integers(-1, DAYS), st.none() | spans), max_size=3)
offs = st.sets(st.integers(-1, DAYS), max_size=2)


def hours(text):
    """ "18:30-21:00" as two times."""
    return tuple(time.fromisoformat(part) for part in text.split("-"))


def walked(weekly, dated, days_off, zone, origin):
    """Open quarter-hours: the clock has shown the start of some hours but not yet their end."""
    stretches = []
    first_on = origin.astimezone(zone).date()
    for n in range(-2, DAYS + 2):
        on = first_on + timedelta(days=n)
        said = [(starts, ends) for day, starts, ends in dated if day == on]
        if not said and on not in days_off:
            said = [(starts, ends) for day, starts, ends in weekly if day == on.weekday()]
        if (None, None) not in said:
            for starts, ends in said:
                until = on if starts < ends else on + timedelta(days=1)
                stretches.append((datetime.combine(on, starts), datetime.combine(until, ends)))
    furthest, open_minutes = datetime.min, set()  # what the clock shows
    for minute in range(-2 * 1440, DAYS * 1440):
        shown = (origin + timedelta(minutes=minute)).astimezone(zone).replace(tzinfo=None)
        furthest = max(furthest, shown)
        if any(starts <= furthest < ends for starts, ends in stretches):
            open_minutes.add(minute)
    return {
        quarter
        for quarter in range(DAYS * DAY)
        if all(15 * quarter + minute in open_minutes for minute in range(15))
    }


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(CHANGES), weekly_patterns, exceptions, offs)
@example(CHANGES[0], [(6, hours("01:00-03:00")), (6, hours("00:15-01:20"))], [], set())
@example(CHANGES[1], [(6, hours("01:00-03:00")), (5, hours("22:00-01:30"))], [], set())
def test_windows_are_what_the_clock_on_the_wall_shows(change, weekly, exceptions, offs):
    timezone, origin = change
    first_on = origin.astimezone(ZoneInfo(timezone)).date()
    weekly = [WeeklyHours(weekday, *span) for weekday, span in weekly]
    dated = [
        DatedHours(first_on + timedelta(days=n), *(span or (None, None))) for n, span in exceptions
    ]
    days_off = {first_on + timedelta(days=n) for n in offs}

    windows = windows_of(
        weekly, dated, days_off=days_off, timezone=timezone, origin=origin, horizon=DAYS * DAY
    )

    open_quarters = {quarter for window in windows for quarter in range(*window)}
    assert open_quarters == walked(weekly, dated, days_off, ZoneInfo(timezone), origin)
    assert all(one[1] < two[0] for one, two in pairwise(windows))
