"""A ready notice for whoever looks: what, where, from when, which reference, who to ring."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta

from apps.inspections.notices import is_working_day, working_days_after

A_YEAR = 366


@dataclass(frozen=True, slots=True)
class Notice:
    """What a notice says. Dates and times are the house's own."""

    what: str
    places: Sequence[str]
    house: str
    address: str
    reference: str
    note: str
    working_days: int
    earliest_on: date
    from_time: time
    to_time: time
    contact: str


def earliest_look(
    given_on: date,
    working_days: int,
    visiting_days: Collection[int],
    days_off: Collection[date] = (),
    *,
    office_days_only: bool = True,
) -> date:
    """The first day for a look when notice is given `given_on`.

    Args:
        visiting_days: weekdays they come, Monday = 0; empty: any.
        office_days_only: no look on a weekend or holiday, unless `visiting_days` names it.

    Raises:
        ValueError: they never come.

    Source: as `notices.working_days_after`.
    """
    day = working_days_after(given_on, working_days, days_off)
    for _ in range(A_YEAR):
        comes = not visiting_days or day.weekday() in visiting_days
        open_then = is_working_day(day, days_off) or not office_days_only
        if comes and (open_then or (visiting_days and day not in days_off)):
            return day
        day += timedelta(days=1)
    raise ValueError("there is no day on which they come")


def notice_text(notice: Notice) -> str:
    """The notice as plain text, ready to be sent or read out."""
    days = notice.working_days
    clear = "no notice" if not days else f"{days} clear working day{'s' if days > 1 else ''}"
    hours = f"{notice.from_time:%H:%M} to {notice.to_time:%H:%M}"
    lines = [
        f"Notice: {notice.what}",
        "",
        f"Where: {', '.join(part for part in (notice.house, notice.address) if part)}",
        f"Part of the house: {', '.join(notice.places)}" if notice.places else "",
        f"Reference: {notice.reference}" if notice.reference else "Reference: none yet",
        f"To be seen: {notice.note}" if notice.note else "",
        f"Ready to be seen from {say(notice.earliest_on)} ({clear} after today), {hours}.",
        "The work stays open until it has been seen.",
        f"Contact: {notice.contact}",
    ]
    # One empty line stays, after the title.
    kept = [lines[0], "", *(line for line in lines[2:] if line)]
    return "\n".join(kept) + "\n"


def say(on: date) -> str:
    """Tue 1 Dec 2026."""
    return f"{on:%a} {on.day} {on:%b %Y}"
