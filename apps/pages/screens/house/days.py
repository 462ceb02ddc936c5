"""Days that differ from the usual week: a day off, more hours, or other hours instead."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date
from itertools import groupby
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import HouseForm, clock_field, date_field
from apps.pages.screens.week.supposed import day_hours, hours_row, person_of
from apps.pages.visiting import Visiting, date_of, id_of
from apps.planning.clock import say_date
from apps.planning.day_hours import (
    DayHours,
    put_hours_back,
    said_of,
    take_day_off,
    work_longer,
)
from apps.planning.models import Person, WorkingTimeException
from apps.property.models import Property
from renovation.errors import Problem, field_problem

WAYS = [("off", "a day off"), ("more", "these hours more"), ("instead", "these hours instead")]


class NewDay(HouseForm):
    person = forms.ModelChoiceField(Person.objects.all(), label="Who", empty_label=None)
    on = date_field("Which day", required=True)
    way = forms.ChoiceField(label="It is", choices=WAYS, initial="off")
    starts = clock_field("From", "18:30", required=False, help_text="Not for a day off.")
    ends = clock_field("To", "21:00", required=False)
    note = forms.CharField(max_length=120, required=False, label="What for")

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if found.get("way") in {"more", "instead"}:
            for name, word in (("starts", "Say from when."), ("ends", "Say until when.")):
                if not found.get(name) and name not in self.errors:
                    self.add_error(name, word)
        return found


def save_day(found: Visiting, said: dict[str, Any]) -> Done:
    """One person's hours of one date, as the week's page and the planner set them."""
    person, on = said["person"], said["on"]
    if date_of(on.isoformat(), otherwise=date.min) is None:
        raise ValidationError({"on": "Pick a day within the calendar of this book."})
    if said["way"] == "off":
        before = take_day_off(person=person, on=on)
        words = f"{person} has {say_date(on)} off."
        if said["note"]:
            put_hours_back(person=person, on=on, hours=[DayHours(None, None, said["note"])])
    elif said["way"] == "more":
        before = work_longer(person=person, on=on, starts=said["starts"], ends=said["ends"])
        words = f"{person} works {stretch(said)} more on {say_date(on)}."
    else:
        before = said_of(person, on)
        hours = [DayHours(said["starts"], said["ends"], said["note"])]
        put_hours_back(person=person, on=on, hours=hours)
        words = f"{person} works {stretch(said)} on {say_date(on)}, and no other hours."
    return Done(words, back=reverse("house-days"), undo=undo_to(person, on, before))


def stretch(said: dict[str, Any]) -> str:
    return f"{said['starts']:%H:%M}–{said['ends']:%H:%M}"


def undo_to(person: Person, on: date, before: list[DayHours]) -> Undo:
    """The way back to what was said of a date before."""
    fields: dict[str, Any] = {
        "hours": json.dumps(hours_row(person, on, before)),
        "property": person.property_id,
    }
    return Undo(reverse("house-days-back"), fields)


@house_action
def back(request: HttpRequest, found: Visiting) -> Done:
    """Undo: exactly those hours on that date again."""
    try:
        key, on, rows = json.loads(request.POST.get("hours", ""))
        person, day = int(key), date.fromisoformat(on)
        hours = [day_hours(*row) for row in rows]
    except (TypeError, ValueError) as exc:
        raise field_problem("/hours", "This cannot be undone from here.") from exc
    put_hours_back(person=person_of(found.house, person), on=day, hours=hours)
    return Done(f"Undone: {say_date(day)} is as it was.", back=reverse("house-days"))


@house_action
def usual(request: HttpRequest, found: Visiting) -> Done:
    """The usual week again on one date."""
    on = date_of(request.POST.get("on", ""), otherwise=date.min)
    if on is None or on == date.min:
        raise field_problem("/on", "Say which day.")
    person = person_of(found.house, id_of(request.POST.get("person", "")) or 0)
    before = said_of(person, on)
    if not before:
        raise Problem("wrong-step", f"{say_date(on)} has {person}’s usual hours already.")
    put_hours_back(person=person, on=on, hours=[])
    words = f"{say_date(on)}: {person}’s usual hours again."
    return Done(words, back=reverse("house-days"), undo=undo_to(person, on, before))


def day_lines(house: Property) -> Iterable[Line]:
    """Dates to come, each with what is said of it; past ones are left out."""
    rows = (
        WorkingTimeException.objects.filter(person__property=house, date__gte=timezone.localdate())
        .select_related("person")
        .order_by("date", "person", "starts")
    )
    for (on, person), parts in groupby(rows, key=lambda row: (row.date, row.person)):
        said = list(parts)
        hours = [f"{row.starts:%H:%M} to {row.ends:%H:%M}" for row in said if row.starts]
        notes = [row.note for row in said if row.note]
        facts = ", ".join(hours) if hours else "a day off"
        yield Line(
            "day", said[0].pk, f"{person}, {say_date(on)}", "; ".join([facts, *notes]),
            remove=reverse("house-days-usual"),
            fields={"person": person.pk, "on": on.isoformat()},
        )  # fmt: skip
