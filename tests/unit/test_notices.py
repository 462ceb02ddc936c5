"""Working-day counts for notices: edges and refusals. Dated examples are in tests/external."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.inspections.notices import (
    is_working_day,
    last_working_day_within,
    working_days_after,
    working_days_before,
)

MONDAY, TUESDAY, WEDNESDAY, THURSDAY, FRIDAY, SATURDAY, SUNDAY = (
    date(2026, 6, day) for day in range(1, 8)
)
days = st.dates(date(2026, 1, 1), date(2027, 12, 31))
days_off = st.frozensets(days, max_size=40)
lengths = st.integers(0, 12)


def test_weekends_and_days_off_are_not_working_days():
    days_off = {WEDNESDAY}

    working = [day for day in (TUESDAY, WEDNESDAY, SATURDAY) if is_working_day(day, days_off)]

    assert working == [TUESDAY]


def test_two_whole_working_days_lie_between_the_notice_and_the_start():
    assert working_days_before(FRIDAY, 2) == TUESDAY
    assert working_days_after(TUESDAY, 2) == FRIDAY


def test_a_weekend_does_not_count_towards_the_notice():
    assert working_days_before(MONDAY + timedelta(days=7), 2) == WEDNESDAY
    assert working_days_after(THURSDAY, 2) == TUESDAY + timedelta(days=7)


def test_a_day_off_pushes_the_notice_back():
    assert working_days_before(FRIDAY, 2, {WEDNESDAY}) == MONDAY


def test_work_may_start_on_a_saturday_once_the_days_have_passed():
    assert working_days_after(WEDNESDAY, 2) == SATURDAY


def test_a_notice_left_on_a_sunday_counts_as_given_on_monday():
    sunday_before = MONDAY - timedelta(days=1)

    assert working_days_after(sunday_before, 2) == working_days_after(MONDAY, 2) == THURSDAY


def test_no_notice_at_all_still_means_the_day_before():
    assert working_days_before(MONDAY, 0) == MONDAY - timedelta(days=3)
    assert working_days_after(MONDAY, 0) == TUESDAY


def test_the_day_something_was_done_is_not_counted():
    assert last_working_day_within(FRIDAY, 1) == MONDAY + timedelta(days=7)
    assert last_working_day_within(FRIDAY, 5) == FRIDAY + timedelta(days=7)
    assert last_working_day_within(SATURDAY, 1) == MONDAY + timedelta(days=7)


@pytest.mark.parametrize("count", [working_days_before, working_days_after])
def test_a_negative_notice_is_refused(count):
    with pytest.raises(ValueError, match="-1 working days"):
        count(MONDAY, -1)


def test_a_notice_within_no_days_is_refused():
    with pytest.raises(ValueError, match="no day to give it"):
        last_working_day_within(MONDAY, 0)


def between(earlier, later, days_off):
    """Working days strictly between two dates, counted one by one."""
    inside = (earlier + timedelta(days=n) for n in range(1, (later - earlier).days))
    return sum(day.weekday() < 5 and day not in days_off for day in inside)


@given(days, lengths, days_off)
def test_the_last_day_for_a_notice_is_in_time_and_the_next_working_day_is_not(on, n, off):
    notice_on = working_days_before(on, n, off)

    later = (notice_on + timedelta(days=d) for d in range(1, (on - notice_on).days))
    assert is_working_day(notice_on, off)
    assert between(notice_on, on, off) >= n
    assert all(between(day, on, off) < n for day in later if is_working_day(day, off))


@given(days, lengths, days_off)
def test_work_may_start_on_the_day_after_a_notice_and_not_one_day_sooner(on, n, off):
    starts_on = working_days_after(on, n, off)

    assert between(on, starts_on, off) >= n
    if is_working_day(on, off):
        assert (
            starts_on == on + timedelta(days=1)
            or between(on, starts_on - timedelta(days=1), off) == n - 1
        )


@given(days, lengths, days_off)
def test_a_notice_on_the_last_day_lets_work_start_in_time(on, n, off):
    assert working_days_after(working_days_before(on, n, off), n, off) <= on


@given(days, st.integers(1, 12), days_off)
def test_the_last_day_to_tell_of_something_done_is_that_working_day(on, n, off):
    told_on = last_working_day_within(on, n, off)

    assert is_working_day(told_on, off)
    assert between(on, told_on, off) == n - 1
