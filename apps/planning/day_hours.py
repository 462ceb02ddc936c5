"""One person's hours on one date: a day off, more hours, and back to what was said before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, time

from django.db import transaction

from apps.planning.models import Person, WorkingTimeException
from apps.property.bank_holidays import bank_holidays
from renovation.errors import field_problem


@dataclass(frozen=True, slots=True)
class DayHours:
    """A stretch that replaces the usual hours of a date; without times it is a day off."""

    starts: time | None
    ends: time | None
    note: str = ""


@transaction.atomic
def take_day_off(*, person: Person, on: date) -> list[DayHours]:
    """Give somebody a date off. Answers what was said of the date before, for `put_hours_back`."""
    before = said_of(person, on)
    put_hours_back(person=person, on=on, hours=[DayHours(None, None)])
    return before


@transaction.atomic
def work_longer(*, person: Person, on: date, starts: time, ends: time) -> list[DayHours]:
    """Add a stretch to a person's hours of a date. Answers what was said of it before.

    Raises:
        Problem: `invalid` unless it ends after it starts.
    """
    if starts >= ends:
        raise field_problem("/ends", "It ends after it starts, on the same day.")
    before = said_of(person, on)
    longer = [DayHours(*stretch) for stretch in merged([*stretches_on(person, on), (starts, ends)])]
    put_hours_back(person=person, on=on, hours=longer)
    return before


@transaction.atomic
def put_hours_back(*, person: Person, on: date, hours: Sequence[DayHours]) -> None:
    """Have exactly these dated hours on a date; none: the usual week again."""
    Person.objects.select_for_update().get(pk=person.pk)
    WorkingTimeException.objects.filter(person=person, date=on).delete()
    for row in hours:
        said = WorkingTimeException(
            person=person, date=on, starts=row.starts, ends=row.ends, note=row.note
        )
        said.full_clean()
        said.save()


def said_of(person: Person, on: date) -> list[DayHours]:
    """What is said of a date in particular."""
    rows = WorkingTimeException.objects.filter(person=person, date=on).order_by("starts", "pk")
    return [DayHours(row.starts, row.ends, row.note) for row in rows]


def stretches_on(person: Person, on: date) -> list[tuple[time, time]]:
    """The hours a person works on a date as things stand."""
    dated = said_of(person, on)
    if dated:
        off = any(row.starts is None for row in dated)
        return [] if off else [(r.starts, r.ends) for r in dated if r.starts and r.ends]
    house = person.property
    holiday = not house.work_on_bank_holidays and on in bank_holidays(
        house.country, house.subdivision, on, on
    )
    usual = person.working_times.filter(weekday=on.weekday()).order_by("starts")
    return [] if holiday else [(row.starts, row.ends) for row in usual]


def merged(stretches: Iterable[tuple[time, time]]) -> list[tuple[time, time]]:
    """Stretches in order, those that meet or overlap joined."""
    found: list[tuple[time, time]] = []
    for starts, ends in sorted(stretches):
        if found and starts <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], ends))
        else:
            found.append((starts, ends))
    return found
