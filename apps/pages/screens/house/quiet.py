"""When the house may be loud, and when there is work outdoors: hours of the week."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.http import HttpRequest
from django.urls import reverse

from apps.pages.actions import Done, house_action, refuse_stale
from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.editing import put_back_by
from apps.pages.screens.house.fields import DAYS, HouseForm, clock_field, days_field
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import as_it_is, write
from apps.pages.visiting import Visiting, id_of
from apps.property.models import Property
from renovation.errors import Problem

WHAT = {"loud_work_hours": "Loud work", "outdoor_work_hours": "Work outdoors"}


class NewQuiet(HouseForm):
    what = forms.ChoiceField(label="These hours are for", choices=list(WHAT.items()))
    days = days_field()
    starts = clock_field("From", "08:00")
    ends = clock_field("To", "18:00")


def save_quiet(found: Visiting, said: dict[str, Any]) -> Done:
    """Hours in which loud or outdoor work may be planned; with none, any hour will do."""
    name = said["what"]
    row = {
        "weekdays": said["days"],
        "from": f"{said['starts']:%H:%M}",
        "to": f"{said['ends']:%H:%M}",
    }
    house = locked(found)
    rows = [*getattr(house, name), row]
    return with_hours(found, house, name, rows, f"Added: {WHAT[name]}, {in_words(row)}.")


@house_action
def remove(request: HttpRequest, found: Visiting) -> Done:
    """Take one stretch out."""
    name, number = request.POST.get("what", ""), id_of(request.POST.get("number", ""))
    house = locked(found)
    refuse_stale(request, house)
    rows = getattr(house, name) if name in WHAT else []
    if number is None or number >= len(rows):
        raise Problem("not-found", "There are no such hours any more.", status_code=404)
    gone = rows[number]
    rest = [row for place, row in enumerate(rows) if place != number]
    return with_hours(found, house, name, rest, f"Taken out: {WHAT[name]}, {in_words(gone)}.")


def locked(found: Visiting) -> Property:
    """The house's row, so that two phones do not each write their own list."""
    house: Property = KINDS["house"].row(found.house, found.house.pk, locked=True)
    return house


def with_hours(found: Visiting, house: Property, name: str, rows: list[Any], sentence: str) -> Done:
    kind = KINDS["house"]
    before = as_it_is(kind, found, house, {name: rows})
    house = write(kind, found, {name: rows}, house)
    undo = put_back_by(found, "house", house, before)
    return Done(sentence, back=reverse("house-quiet"), undo=undo)


def in_words(row: dict[str, Any]) -> str:
    """ "Mon to Fri, 08:00 to 18:00" """
    days = sorted(row["weekdays"])
    names = [DAYS[day][:3] for day in days]
    together = len(days) > 2 and days == list(range(days[0], days[-1] + 1))
    said = f"{names[0]} to {names[-1]}" if together else ", ".join(names)
    return f"{said or 'no day'}, {row['from']} to {row['to']}"


def quiet_lines(house: Property) -> Iterable[Line]:
    for name, word in WHAT.items():
        for number, row in enumerate(getattr(house, name)):
            yield Line(
                "quiet", number, in_words(row), under=word, remove=reverse("house-quiet-remove"),
                fields={"what": name, "number": number, "version": house.version},
            )  # fmt: skip
