"""Between the wall's clock and quarter-hours."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from apps.planning.clock import Clock, quarters, say_date

LONDON = ZoneInfo("Europe/London")


def clock(*moment):
    return Clock.starting(datetime(*moment, tzinfo=LONDON), "Europe/London")


def test_a_plan_begins_at_the_local_midnight_before_now():
    summer = clock(2026, 7, 6, 18, 40)

    assert summer.origin == datetime(2026, 7, 5, 23, 0, tzinfo=UTC)
    assert summer.say(0) == "Mon 6 Jul, 00:00"


def test_instants_are_rounded_outwards_or_inwards_as_asked():
    monday = clock(2026, 1, 5, 12, 0)
    seven_past = datetime(2026, 1, 5, 0, 7, tzinfo=UTC)

    assert (monday.floor(seven_past), monday.ceil(seven_past)) == (0, 1)
    assert monday.floor(monday.at(9)) == monday.ceil(monday.at(9)) == 9


def test_a_night_in_which_the_clocks_go_back_is_an_hour_longer():
    saturday = clock(2026, 10, 24, 9, 0)

    assert saturday.midnight(date(2026, 10, 26)) == (24 + 25) * 4
    assert saturday.on(saturday.midnight(date(2026, 10, 26))) == date(2026, 10, 26)


def test_minutes_count_as_the_quarter_hours_they_need():
    assert [quarters(minutes) for minutes in (1, 15, 16, 60)] == [1, 1, 2, 4]


def test_dates_are_said_without_a_leading_nought():
    assert say_date(date(2026, 12, 1)) == "Tue 1 Dec"
