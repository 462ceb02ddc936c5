"""Notice of work, counted by hand on a calendar.

Sources:
- Building Regulations 2010 (SI 2010/2214, England) regulation 16(1), as in force from
  1 October 2023: work may start when at least two days have elapsed since the end of the
  day on which the notice was given. Regulation 2: a day is a period of 24 hours from
  midnight, not a Saturday, a Sunday, Good Friday, Christmas Day or a bank holiday
  (regulation 2 from memory).
- Bank holidays as published: see test_bank_holidays_published.py.

Check the dates with the building control body all the same: it may have written its own
times under regulation 16(2).
"""

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest
from holidays import country_holidays

from apps.inspections.notices import (
    is_working_day,
    last_working_day_within,
    working_days_after,
    working_days_before,
)

LIST = Path(__file__).parent / "data" / "bank_holidays_england_and_wales.csv"
with LIST.open(encoding="utf-8", newline="") as rows:
    DAYS_OFF = frozenset(date.fromisoformat(row["date"]) for row in csv.DictReader(rows))


# Start of work, and the last day for a notice of two working days.
@pytest.mark.parametrize(
    ("starts_on", "notice_on", "why"),
    [
        ("2026-06-05", "2026-06-02", "Friday: Wednesday and Thursday elapse"),
        ("2026-06-06", "2026-06-03", "Saturday: Thursday and Friday elapse"),
        ("2026-06-07", "2026-06-03", "Sunday: nothing more elapses on Saturday"),
        ("2026-06-08", "2026-06-03", "Monday: Thursday and Friday elapse"),
        ("2026-06-09", "2026-06-04", "Tuesday: Friday and Monday elapse"),
        ("2026-05-28", "2026-05-22", "Thursday after the spring bank holiday of 25 May"),
        ("2026-04-08", "2026-04-01", "Wednesday after Easter: Thursday and Tuesday elapse"),
        ("2026-12-30", "2026-12-23", "between the years: 24 and 29 December elapse"),
        ("2027-01-05", "2026-12-30", "31 December and 4 January elapse"),
        ("2027-12-30", "2027-12-23", "two days in lieu, 27 and 28 December, do not count"),
    ],
)
def test_notice_of_two_days_before_work_starts(starts_on, notice_on, why):
    found = working_days_before(date.fromisoformat(starts_on), 2, DAYS_OFF)

    assert found == date.fromisoformat(notice_on), why


@pytest.mark.parametrize(
    ("notice_on", "starts_on", "why"),
    [
        ("2026-06-02", "2026-06-05", "Tuesday: Wednesday and Thursday elapse"),
        ("2026-06-04", "2026-06-09", "Thursday: Friday and Monday elapse"),
        ("2026-05-22", "2026-05-28", "the bank holiday of 25 May does not count"),
        ("2026-04-01", "2026-04-08", "Good Friday and Easter Monday do not count"),
        ("2026-12-23", "2026-12-30", "24 and 29 December elapse"),
    ],
)
def test_work_starts_when_two_days_have_elapsed(notice_on, starts_on, why):
    found = working_days_after(date.fromisoformat(notice_on), 2, DAYS_OFF)

    assert found == date.fromisoformat(starts_on), why


# Regulation 16(4): notice of completion not more than five days after completion.
@pytest.mark.parametrize(
    ("done_on", "told_by"),
    [
        ("2026-06-01", "2026-06-08"),
        ("2026-05-21", "2026-05-29"),  # over the bank holiday of 25 May
        ("2026-12-23", "2027-01-04"),  # 24, 29, 30, 31 December and 4 January
    ],
)
def test_completion_is_told_within_five_days(done_on, told_by):
    found = last_working_day_within(date.fromisoformat(done_on), 5, DAYS_OFF)

    assert found == date.fromisoformat(told_by)


def test_every_working_day_of_four_years_is_one_for_the_holidays_library_too():
    library = country_holidays("GB", subdiv="ENG", years=range(2024, 2028))
    days = [date(2024, 1, 1) + timedelta(days=n) for n in range(4 * 365 + 1)]

    assert [day for day in days if is_working_day(day, DAYS_OFF)] == [
        day for day in days if library.is_working_day(day)
    ]


@pytest.mark.parametrize("working_days", [1, 2, 5, 10])
def test_the_last_day_to_tell_is_the_working_day_the_holidays_library_counts(working_days):
    library = country_holidays("GB", subdiv="ENG", years=range(2025, 2029))
    days = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]

    ours = [last_working_day_within(day, working_days, DAYS_OFF) for day in days]

    assert ours == [library.get_nth_working_day(day, working_days) for day in days]
