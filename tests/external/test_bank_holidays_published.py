"""Bank holidays against the published list and against the Act.

Sources:
- `data/bank_holidays_england_and_wales.csv`: GOV.UK, bank holidays of England and Wales
  (https://www.gov.uk/bank-holidays.json), Open Government Licence v3.0, read in stored
  copies of the file that cover 2018 to 2026 and 2024 to 2027.
- Banking and Financial Dealings Act 1971, schedule 1 paragraph 1 (legislation.gov.uk):
  Easter Monday; the last Monday in May; the last Monday in August; 26 December, if it be
  not a Sunday; 27 December in a year in which 25 or 26 December is a Sunday. New Year's Day
  and the first Monday in May are proclaimed each year, as are the days in lieu (section 1).
- Dates of Easter Day from 2026 to 2030: from memory.
"""

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest

from apps.property.bank_holidays import bank_holidays

LIST = Path(__file__).parent / "data" / "bank_holidays_england_and_wales.csv"
EASTER = {2026: (4, 5), 2027: (3, 28), 2028: (4, 16), 2029: (4, 1), 2030: (4, 21)}


def published():
    """Dates of the list, by year."""
    years = {}
    with LIST.open(encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows):
            on = date.fromisoformat(row["date"])
            years.setdefault(on.year, set()).add(on)
    return years


def last_monday(year, month, last_day):
    end = date(year, month, last_day)
    return end - timedelta(days=end.weekday())


@pytest.mark.parametrize(("year", "dates"), published().items())
def test_the_weekdays_off_are_the_published_ones(year, dates):
    found = bank_holidays("GB", "ENG", date(year, 1, 1), date(year, 12, 31))

    # The published list leaves out the weekend day that a day in lieu stands for.
    assert {on for on in found if on.weekday() < 5} == dates


@pytest.mark.parametrize("year", EASTER)
def test_the_bank_holidays_of_the_act_are_among_the_days_off(year):
    easter = date(year, *EASTER[year])
    christmas, boxing = date(year, 12, 25), date(year, 12, 26)
    by_the_act = {
        easter + timedelta(days=1),
        last_monday(year, 5, 31),
        last_monday(year, 8, 31),
        date(year, 12, 27) if 6 in (christmas.weekday(), boxing.weekday()) else boxing,
    }

    found = bank_holidays("GB", "ENG", date(year, 1, 1), date(year, 12, 31))

    assert by_the_act <= set(found)
    assert easter - timedelta(days=2) in found
    assert christmas in found


def test_no_weekday_off_in_2028_is_left_unexplained():
    # Beyond the published list: the Act, the two common-law days, the two proclaimed days,
    # and Monday 3 January in lieu of Saturday 1 January.
    expected = {(1, 3), (4, 14), (4, 17), (5, 1), (5, 29), (8, 28), (12, 25), (12, 26)}

    found = bank_holidays("GB", "ENG", date(2028, 1, 1), date(2028, 12, 31))

    assert {(on.month, on.day) for on in found if on.weekday() < 5} == expected
