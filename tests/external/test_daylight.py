"""Sunrise, sunset and the length of the day against published almanac values for London.

Sources: day lengths of 2024 from the table "Dagens lengde i London" (stjerneskinn.com); sunset of
3 and 4 November 2018, 16:31 and 16:29, and day length of 22 December 2007, 7 h 49 min 40 s, with
sunset at 15:53, as told in two Londoners' diaries (diamondgeezer.blogspot.com, 4 November 2018;
flat36.blogspot.com, October 2007). Rounded to the minute there. The midnight sun and the dark time
at Tromsø (69.65° N) are from memory.
"""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from apps.planning.daylight import daylight

LONDON = 51.5, -0.12, ZoneInfo("Europe/London")
TROMSO = 69.65, 18.96, ZoneInfo("Europe/Oslo")
MINUTE = timedelta(minutes=1)


def on(place, *ymd):
    latitude, longitude, zone = place
    (found,) = daylight(latitude, longitude, [date(*ymd)], zone)
    return found


@pytest.mark.parametrize(
    ("day", "hours", "minutes"),
    [
        ((2024, 1, 1), 7, 55), ((2024, 1, 15), 8, 20), ((2024, 1, 29), 9, 0),
        ((2024, 2, 1), 9, 9), ((2024, 2, 15), 9, 59), ((2007, 12, 22), 7, 49.67),
    ],
)  # fmt: skip
def test_the_length_of_a_london_day_is_that_of_the_published_table(day, hours, minutes):
    light = on(LONDON, *day)

    assert abs(light.sets - light.rises - timedelta(hours=hours, minutes=minutes)) <= 1.5 * MINUTE


@pytest.mark.parametrize(
    ("day", "sunset"),
    [((2018, 11, 3), "16:31"), ((2018, 11, 4), "16:29"), ((2007, 12, 22), "15:53")],
)
def test_the_sun_sets_on_london_when_the_almanac_says(day, sunset):
    sets = on(LONDON, *day).sets.astimezone(LONDON[2])

    hours, minutes = map(int, sunset.split(":"))
    told = sets.replace(hour=hours, minute=minutes, second=0, microsecond=0)
    assert abs(sets - told) <= 1.5 * MINUTE


def test_beyond_the_polar_circle_midsummer_is_light_and_midwinter_dark_all_day():
    summer, winter = on(TROMSO, 2026, 6, 21), on(TROMSO, 2026, 12, 21)

    assert summer.sets - summer.rises == timedelta(days=1)
    assert winter.rises is None
    assert winter.sets is None


def test_the_day_east_and_west_of_greenwich_is_the_local_one():
    for latitude, longitude, zone in (
        (-41.3, 174.8, "Pacific/Auckland"), (21.3, -157.9, "Pacific/Honolulu"),
    ):  # fmt: skip
        light = on((latitude, longitude, ZoneInfo(zone)), 2026, 6, 21)
        assert light.rises.astimezone(ZoneInfo(zone)).date() == date(2026, 6, 21)
        assert light.sets.astimezone(ZoneInfo(zone)).date() == date(2026, 6, 21)
        assert light.rises < light.sets
