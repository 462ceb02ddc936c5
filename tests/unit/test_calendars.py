"""Hours to windows by hand, and windows against sets of quarter-hours."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.planning.calendars import (
    DatedHours,
    WeeklyHours,
    advance,
    complement,
    first_instant,
    intersect,
    total,
    union,
    weekly_hours,
    windows_of,
)
from apps.property.bank_holidays import bank_holidays

LONDON = "Europe/London"
MONDAY_NIGHT = datetime(2026, 6, 1, tzinfo=ZoneInfo(LONDON))  # 00:00, Monday
SPRING_NIGHT = datetime(2026, 3, 29, tzinfo=UTC)  # Sunday; 01:00 jumps to 02:00
AUTUMN_NIGHT = datetime(2026, 10, 24, 23, tzinfo=UTC)  # Sunday 00:00; 02:00 falls back to 01:00
DAY = 96


def hours(text):
    """ "18:30-21:00" as two times."""
    return tuple(time.fromisoformat(part) for part in text.split("-"))


def one_day(text, origin, *, dated=(), days_off=(), horizon=DAY + 4):
    """Windows of the same hours every day, counted from a midnight in London."""
    weekly = [WeeklyHours(weekday, *hours(text)) for weekday in range(7)]
    return windows_of(
        weekly, dated, days_off=days_off, timezone=LONDON, origin=origin, horizon=horizon
    )


def test_an_evening_is_counted_in_quarter_hours_from_midnight():
    weekly = [WeeklyHours(0, *hours("18:30-21:00"))]

    windows = windows_of(weekly, timezone=LONDON, origin=MONDAY_NIGHT, horizon=8 * DAY)

    assert windows == ((74, 84), (7 * DAY + 74, 7 * DAY + 84))


def test_a_dated_exception_replaces_the_hours_of_its_day():
    tuesday = DatedHours(date(2026, 6, 2), *hours("12:00-13:00"))

    windows = one_day("08:00-09:00", MONDAY_NIGHT, dated=[tuesday], horizon=2 * DAY)

    assert windows == ((32, 36), (DAY + 48, DAY + 52))


def test_a_day_away_has_no_hours_whatever_else_is_said():
    on = date(2026, 6, 1)
    dated = [DatedHours(on, None, None), DatedHours(on, *hours("12:00-13:00"))]

    assert one_day("08:00-09:00", MONDAY_NIGHT, dated=dated, horizon=DAY) == ()


def test_a_bank_holiday_is_off_unless_hours_are_given_for_it():
    on = date(2026, 6, 1)
    worked = DatedHours(on, *hours("12:00-13:00"))

    assert one_day("08:00-09:00", MONDAY_NIGHT, days_off={on}, horizon=DAY) == ()
    assert one_day("08:00-09:00", MONDAY_NIGHT, days_off={on}, dated=[worked], horizon=DAY) == (
        (48, 52),
    )


def test_hours_past_midnight_belong_to_the_day_they_begin_on():
    windows = one_day("22:00-02:00", MONDAY_NIGHT, dated=[DatedHours(date(2026, 6, 1), None, None)])

    assert windows == ((0, 8),)  # Sunday's, which run into Monday


def test_midnight_to_midnight_is_the_whole_day():
    assert one_day("00:00-00:00", MONDAY_NIGHT, horizon=3 * DAY) == ((0, 3 * DAY),)


def test_hours_that_meet_are_one_window():
    weekly = [WeeklyHours(0, *hours("08:00-10:10")), WeeklyHours(0, *hours("10:10-12:00"))]

    windows = windows_of(weekly, timezone=LONDON, origin=MONDAY_NIGHT, horizon=DAY)

    assert windows == ((32, 48),)


def test_hours_off_the_quarter_are_cut_inward():
    assert one_day("08:10-09:50", MONDAY_NIGHT, horizon=DAY) == ((33, 39),)
    assert one_day("08:10-08:20", MONDAY_NIGHT, horizon=DAY) == ()


def test_windows_end_at_the_horizon_and_begin_at_the_origin():
    noon = MONDAY_NIGHT + timedelta(hours=12)

    assert one_day("08:00-20:00", noon, horizon=8) == ((0, 8),)


# Each row: hours on the night of the change, and quarter-hours from midnight.
@pytest.mark.parametrize(
    ("text", "windows"),
    [
        ("01:00-03:00", ((4, 8),)),  # one hour: 01:00 to 02:00 does not exist
        ("00:30-01:30", ((2, 4),)),  # ends when the clocks jump
        ("01:30-02:30", ((4, 6),)),  # begins when the clocks jump
        ("01:15-01:45", ()),  # never happens
        ("09:00-10:00", ((32, 36),)),  # an hour nearer to midnight
    ],
)
def test_hours_on_the_night_the_clocks_go_forward(text, windows):
    assert one_day(text, SPRING_NIGHT, horizon=92) == windows


@pytest.mark.parametrize(
    ("text", "windows"),
    [
        ("01:00-03:00", ((4, 16),)),  # three hours
        ("00:30-01:30", ((2, 6),)),  # until the first 01:30
        ("01:30-02:30", ((6, 14),)),  # from the first 01:30
        ("01:15-01:45", ((5, 7),)),  # only once
        ("09:00-10:00", ((40, 44),)),  # an hour further from midnight
    ],
)
def test_hours_on_the_night_the_clocks_go_back(text, windows):
    assert one_day(text, AUTUMN_NIGHT, horizon=100) == windows


def test_a_date_that_a_country_skips_has_no_hours():
    # Samoa went from 29 to 31 December 2011 when it crossed the date line.
    origin = datetime(2011, 12, 29, tzinfo=ZoneInfo("Pacific/Apia"))
    daily = [WeeklyHours(weekday, *hours("09:00-10:00")) for weekday in range(7)]

    windows = windows_of(daily, timezone="Pacific/Apia", origin=origin, horizon=2 * DAY)

    assert windows == ((36, 40), (DAY + 36, DAY + 40))


def test_a_skipped_time_is_the_instant_of_the_jump():
    skipped = first_instant(date(2026, 3, 29), time(1, 20), ZoneInfo(LONDON))

    assert skipped == datetime(2026, 3, 29, 1, tzinfo=UTC)


def test_an_origin_without_timezone_is_refused():
    with pytest.raises(ValueError, match="needs a timezone"):
        one_day("08:00-09:00", datetime(2026, 6, 1))


def test_an_unknown_timezone_is_refused():
    with pytest.raises(ZoneInfoNotFoundError):
        windows_of([], timezone="Europe/Tidemill", origin=MONDAY_NIGHT, horizon=DAY)


def test_hours_with_one_end_are_refused():
    with pytest.raises(ValueError, match="2026-06-01 have only one end"):
        one_day("08:00-09:00", MONDAY_NIGHT, dated=[DatedHours(date(2026, 6, 1), time(8), None)])


def test_hours_without_length_are_refused():
    with pytest.raises(ValueError, match="begin and end at 08:00"):
        one_day("08:00-08:00", MONDAY_NIGHT)


def test_loud_hours_are_read_as_a_property_keeps_them():
    rules = [
        {"weekdays": [0, 4], "from": "08:00", "to": "18:00"},
        {"weekdays": [5], "from": "08:00", "to": "24:00"},
    ]

    assert weekly_hours(rules) == (
        WeeklyHours(0, time(8), time(18)),
        WeeklyHours(4, time(8), time(18)),
        WeeklyHours(5, time(8), time(0)),
    )


@pytest.mark.parametrize(
    ("rule", "complaint"),
    [
        ({"weekdays": [7], "from": "08:00", "to": "18:00"}, "weekday 7"),
        ({"weekdays": ["mon"], "from": "08:00", "to": "18:00"}, "weekday 'mon'"),
        ({"weekdays": [0], "from": "8 am", "to": "18:00"}, "'8 am' is not a time"),
        ({"weekdays": [0], "from": "08:00", "to": 18}, "18 is not a time"),
    ],
)
def test_loud_hours_that_cannot_be_read_are_refused(rule, complaint):
    with pytest.raises(ValueError, match=complaint):
        weekly_hours([rule])


def test_bank_holidays_are_named_and_in_range():
    found = bank_holidays("GB", "ENG", date(2026, 12, 26), date(2027, 1, 1))

    assert list(found) == [date(2026, 12, 26), date(2026, 12, 28), date(2027, 1, 1)]
    assert found[date(2027, 1, 1)] == "New Year's Day"


def test_a_part_of_the_country_has_its_own_bank_holidays():
    andrew = date(2026, 11, 30)

    assert andrew in bank_holidays("GB", "SCT", andrew, andrew)
    assert andrew not in bank_holidays("GB", None, andrew, andrew)


@pytest.mark.parametrize("place", [("XX", None), ("GB", "QQ")])
def test_an_unknown_place_has_no_bank_holidays(place):
    with pytest.raises(ValueError, match=place[1] or place[0]):
        bank_holidays(*place, date(2026, 1, 1), date(2026, 1, 2))


def test_waiting_counts_only_working_time():
    windows = ((10, 14), (20, 24))

    assert advance(0, 3, windows) == 13
    assert advance(12, 3, windows) == 21
    assert advance(10, 4, windows) == 14
    assert advance(30, 0, windows) == 30
    assert advance(12, 7, windows) is None


def test_waiting_a_negative_time_is_refused():
    with pytest.raises(ValueError, match="-1 quarter-hours"):
        advance(0, -1, ())


# Sets of quarter-hours are the oracle for everything done to windows.

SPAN = 40
quarter_sets = st.sets(st.integers(0, SPAN - 1))


def windows_from(quarters):
    """Windows that hold exactly these quarter-hours."""
    edges = [q for q in range(SPAN + 1) if (q in quarters) != (q - 1 in quarters)]
    return tuple(zip(edges[::2], edges[1::2], strict=True))


@given(quarter_sets, quarter_sets, quarter_sets)
def test_windows_behave_like_sets_of_quarter_hours(a, b, c):
    windows = [windows_from(quarters) for quarters in (a, b, c)]

    assert union(*windows) == windows_from(a | b | c)
    assert intersect(*windows) == windows_from(a & b & c)
    assert complement(windows[0], (0, SPAN)) == windows_from(set(range(SPAN)) - a)
    assert total(windows[0]) == len(a)


@given(quarter_sets, st.integers(0, SPAN), st.integers(0, SPAN))
def test_a_stretch_counts_only_what_is_inside_it(quarters, begin, end):
    inside = set(range(begin, end))

    assert total(windows_from(quarters), (begin, end)) == len(quarters & inside)
    assert complement(windows_from(quarters), (begin, end)) == windows_from(inside - quarters)


@given(quarter_sets, st.integers(0, SPAN), st.integers(1, SPAN))
def test_waiting_ends_with_the_last_quarter_hour_of_working_time(quarters, start, wait):
    working = sorted(quarter for quarter in quarters if quarter >= start)

    reached = advance(start, wait, windows_from(quarters))

    assert reached == (working[wait - 1] + 1 if wait <= len(working) else None)
