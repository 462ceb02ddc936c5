"""Weekly hours fall on the weekdays that the standard gives to the dates.

Source: ISO 8601 week dates around the turn of the year: a week begins on Monday (day 1),
week 01 holds the year's first Thursday. The pairs are the well-known published examples
(as collected in the encyclopedia article "ISO week date").
"""

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from apps.planning.calendars import WeeklyHours, windows_of

WEEK_DATES = [
    ("2005-01-01", "2004-W53-6"),
    ("2005-01-02", "2004-W53-7"),
    ("2005-12-31", "2005-W52-6"),
    ("2006-01-02", "2006-W01-1"),
    ("2006-12-31", "2006-W52-7"),
    ("2007-01-01", "2007-W01-1"),
    ("2008-12-28", "2008-W52-7"),
    ("2008-12-29", "2009-W01-1"),
    ("2010-01-03", "2009-W53-7"),
    ("2012-12-31", "2013-W01-1"),
    ("2019-12-30", "2020-W01-1"),
    ("2022-12-31", "2022-W52-6"),
]


@pytest.mark.parametrize(("on", "week_date"), WEEK_DATES)
def test_hours_of_a_weekday_fall_on_the_date_the_standard_gives(on, week_date):
    year, week, weekday = int(week_date[:4]), int(week_date[6:8]), int(week_date[-1])
    monday = date.fromisocalendar(year, week, 1)
    hours = [WeeklyHours(weekday - 1, time(8), time(9))]

    windows = windows_of(
        hours,
        timezone="Europe/London",
        origin=datetime.combine(monday, time(), ZoneInfo("Europe/London")),
        horizon=7 * 96,
    )

    day_start = 96 * (date.fromisoformat(on) - monday).days
    assert windows == ((day_start + 32, day_start + 36),)
