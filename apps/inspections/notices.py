"""When a notice must be given, and when work may start after it: working-day counts.

A working day is Monday to Friday and not a bank holiday, as "day" is defined for
notices in England (Building Regulations 2010, regulation 2). The length of each notice
differs from place to place and belongs to the record, not to this module: ask the
building control body.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta

_SATURDAY = 5
_ONE_DAY = timedelta(days=1)


def is_working_day(on: date, days_off: Collection[date] = ()) -> bool:
    """Whether the office that takes the notice counts this day."""
    return on.weekday() < _SATURDAY and on not in days_off


def working_days_before(on: date, working_days: int, days_off: Collection[date] = ()) -> date:
    """The last day to give notice of work that starts `on`.

    `working_days` whole working days lie between the day of the notice and `on`; neither
    of the two is counted. The day returned is itself a working day, so that someone is
    there to take the notice. `on` may be any day.

    Raises:
        ValueError: `working_days` is negative.

    Source: Building Regulations 2010 (England) regulation 16(1), as in force from
        1 October 2023: two days have fully elapsed after the day the notice is given.
    """
    _refuse_negative(working_days)
    day = on - _ONE_DAY
    left = working_days
    while left or not is_working_day(day, days_off):
        left -= is_working_day(day, days_off)
        day -= _ONE_DAY
    return day


def working_days_after(on: date, working_days: int, days_off: Collection[date] = ()) -> date:
    """The first day on which work may start after a notice given `on`.

    `working_days` whole working days lie between `on` and the day returned, which may be
    a Saturday or a holiday: the rule asks that days have passed, not that the start is one.
    A notice given on a day that is not a working day counts as given on the next working
    day (common practice, no source).

    Raises:
        ValueError: `working_days` is negative.

    Source: as `working_days_before`.
    """
    _refuse_negative(working_days)
    day = on
    while not is_working_day(day, days_off):
        day += _ONE_DAY
    day += _ONE_DAY
    left = working_days
    while left:
        left -= is_working_day(day, days_off)
        day += _ONE_DAY
    return day


def last_working_day_within(
    done_on: date, working_days: int, days_off: Collection[date] = ()
) -> date:
    """The last day to tell of something done `done_on`, not more than so many days after.

    The day it was done is not counted: one working day after a Friday is Monday.

    Raises:
        ValueError: `working_days` is not at least 1.

    Source: Building Regulations 2010 (England) regulation 16(4), completion, not more than
        five days after (read in a council's notice page, not in the regulation).
    """
    if working_days < 1:
        raise ValueError(f"a notice within {working_days} working days leaves no day to give it")
    day = done_on
    left = working_days
    while left:
        day += _ONE_DAY
        left -= is_working_day(day, days_off)
    return day


def _refuse_negative(working_days: int) -> None:
    if working_days < 0:
        raise ValueError(f"a notice cannot be {working_days} working days long")
