"""Who works and when, and who comes from outside."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from apps.pages.screens.house.adding import Line, checked
from apps.pages.screens.house.fields import HouseForm
from apps.planning.models import Person, WorkingTime
from apps.property.models import Property
from apps.trades.models import Visit
from apps.work.models import Trade

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def clock_field(label: str, initial: str) -> forms.TimeField:
    return forms.TimeField(
        label=label, initial=initial, widget=forms.TimeInput(attrs={"type": "time"})
    )


def date_field(label: str) -> forms.DateField:
    return forms.DateField(
        label=label, required=False, widget=forms.DateInput(attrs={"type": "date"})
    )


class NewHours(HouseForm):
    name = forms.CharField(max_length=120, label="Who", help_text="You, or a helper.")
    days = forms.TypedMultipleChoiceField(
        label="On", coerce=int, choices=list(enumerate(DAYS)),
        widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    starts = clock_field("From", "18:30")
    ends = clock_field("To", "21:00")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        crew = Person.objects.filter(property=self.house, role=Person.Role.CREW).first()
        self.fields["name"].initial = crew.name if crew else "Me"


def save_hours(house: Property, said: dict[str, Any]) -> list[WorkingTime]:
    """One stretch on each of the days. The first person named is the crew, later ones help."""
    person = Person.objects.filter(property=house, name=said["name"]).first()
    if person is None:
        crewed = Person.objects.filter(property=house, role=Person.Role.CREW).exists()
        role = Person.Role.HELPER if crewed else Person.Role.CREW
        person = checked(Person(property=house, name=said["name"], role=role))
    times = WorkingTime.objects.filter(person=person, weekday__in=said["days"])
    clash = times.filter(starts__lt=said["ends"], ends__gt=said["starts"]).first()
    if clash:
        raise ValidationError(
            {"starts": f"{DAYS[clash.weekday]} has {clash.starts:%H:%M} to {clash.ends:%H:%M}."}
        )
    return [
        checked(
            WorkingTime(person=person, weekday=day, starts=said["starts"], ends=said["ends"])
        )
        for day in said["days"]
    ]  # fmt: skip


def hours_lines(house: Property) -> Iterable[Line]:
    times = WorkingTime.objects.filter(person__property=house).select_related("person")
    for row in times:
        facts = f"{row.starts:%H:%M} to {row.ends:%H:%M}"
        yield Line("hours", row.pk, f"{row.person}, {DAYS[row.weekday]}", facts)


class NewTrade(HouseForm):
    name = forms.CharField(max_length=120, label="Who they are")
    craft = forms.ChoiceField(
        label="Trade", choices=[(one.value, one.label) for one in Trade.Craft]
    )
    phone = forms.CharField(max_length=40, required=False, label="Telephone")
    notice_days = forms.IntegerField(
        label="Days of notice they need", initial=0, min_value=0, max_value=366
    )


def save_trade(house: Property, said: dict[str, Any]) -> list[Trade]:
    return [checked(Trade(property=house, **said))]


def trade_lines(house: Property) -> Iterable[Line]:
    for row in Trade.objects.filter(property=house):
        facts = f"{row.get_craft_display()}, asked {row.notice_days} days ahead"
        yield Line("trade", row.pk, row.name, f"{facts}, {row.phone}" if row.phone else facts)


class NewVisit(HouseForm):
    trade = forms.ModelChoiceField(Trade.objects.all(), label="Who comes")
    title = forms.CharField(max_length=120, required=False, label="What for")
    minutes = forms.IntegerField(label="Minutes", initial=120, min_value=15, max_value=1440)
    window_from = date_field("Not before")
    window_to = date_field("Not after")


def save_visit(house: Property, said: dict[str, Any]) -> list[Visit]:
    return [checked(Visit(property=house, **said))]


def visit_lines(house: Property) -> Iterable[Line]:
    for row in Visit.objects.filter(property=house).select_related("trade"):
        yield Line("visit", row.pk, str(row), f"{row.trade}, {row.minutes} min, {row.state}")
