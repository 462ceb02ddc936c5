"""Who works here and when: the usual week."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import DAYS, HouseForm, clock_field, days_field
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import write
from apps.pages.visiting import Visiting
from apps.planning.models import Person, WorkingTime
from apps.property.models import Property


class NewHours(HouseForm):
    name = forms.CharField(max_length=120, label="Who", help_text="You, or a helper.")
    days = days_field()
    starts = clock_field("From", "18:30")
    ends = clock_field("To", "21:00")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        crew = Person.objects.filter(property=self.house, role=Person.Role.CREW).first()
        self.fields["name"].initial = crew.name if crew else "Me"


class ChangedHours(HouseForm):
    weekday = forms.TypedChoiceField(label="On", coerce=int, choices=list(enumerate(DAYS)))
    starts = clock_field("From")
    ends = clock_field("To")


def save_hours(found: Visiting, said: dict[str, Any]) -> list[WorkingTime]:
    """One stretch on each of the days. The first person named is the crew, later ones help."""
    house = found.house
    person = Person.objects.filter(property=house, name=said["name"]).first()
    if person is None:
        crewed = Person.objects.filter(property=house, role=Person.Role.CREW).exists()
        role = Person.Role.HELPER if crewed else Person.Role.CREW
        fields = {"property": house, "name": said["name"], "role": role}
        person = write(KINDS["person"], found, fields)
    starts, ends = said["starts"], said["ends"]
    for day in said["days"]:
        refuse_clash(person, day, starts, ends)
    return [
        write(KINDS["hours"], found,
              {"person": person, "weekday": day, "starts": starts, "ends": ends})
        for day in said["days"]
    ]  # fmt: skip


def refuse_clash(person: Person, day: int, starts: Any, ends: Any, *, but: int = 0) -> None:
    times = WorkingTime.objects.filter(person=person, weekday=day).exclude(pk=but)
    if clash := times.filter(starts__lt=ends, ends__gt=starts).first():
        raise ValidationError(
            {"starts": f"{DAYS[clash.weekday]} has {clash.starts:%H:%M} to {clash.ends:%H:%M}."}
        )


def hours_as_typed(row: WorkingTime) -> dict[str, Any]:
    return {"weekday": row.weekday, "starts": row.starts, "ends": row.ends}


def hours_said(found: Visiting, row: WorkingTime, said: dict[str, Any]) -> dict[str, Any]:
    refuse_clash(row.person, said["weekday"], said["starts"], said["ends"], but=row.pk)
    return said


def hours_lines(house: Property) -> Iterable[Line]:
    times = WorkingTime.objects.filter(person__property=house).select_related("person")
    for row in times:
        facts = f"{row.starts:%H:%M} to {row.ends:%H:%M}"
        yield Line("hours", row.pk, f"{row.person}, {DAYS[row.weekday]}", facts)
