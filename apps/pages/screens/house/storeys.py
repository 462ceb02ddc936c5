"""The storeys by their names and levels, and what else the house itself says."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.db.models import Count

from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import HouseForm
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import write
from apps.pages.visiting import Visiting
from apps.property.models import Property, Storey

HIGHEST = 60


class StoreyForm(HouseForm):
    name = forms.CharField(max_length=60, label="Name")
    level = forms.IntegerField(
        label="Level", min_value=-9, max_value=HIGHEST, initial=0,
        help_text="0 is the ground floor, 1 the floor above it, -1 a cellar.",
    )  # fmt: skip


def save_storey(found: Visiting, said: dict[str, Any]) -> list[Storey]:
    return [write(KINDS["storey"], found, {"property": found.house, **said})]


def storey_as_typed(row: Storey) -> dict[str, Any]:
    return {"name": row.name, "level": row.level}


def storey_lines(house: Property) -> Iterable[Line]:
    for row in Storey.objects.filter(property=house).annotate(many=Count("rooms")):
        many = "1 room" if row.many == 1 else f"{row.many} rooms"
        yield Line("storey", row.pk, row.name, f"level {row.level}, {many}")


class AboutForm(HouseForm):
    """The house itself. Its place on earth is asked for one thing only: daylight."""

    quiet_folds = ("Clock and bank holidays",)
    folds = (
        ("Daylight", ("latitude_deg", "longitude_deg")),
        ("Clock and bank holidays", (
            "timezone", "country", "subdivision", "work_on_bank_holidays",
        )),
    )  # fmt: skip

    name = forms.CharField(max_length=120, label="What you call it")
    address = forms.CharField(max_length=300, required=False, label="Address")
    built_year = forms.IntegerField(required=False, label="Year it was built, about")
    latitude_deg = forms.FloatField(
        required=False, label="Degrees north",
        help_text="Like 52.2. With both, outdoor work is planned between sunrise and sunset; "
        "without them it is not. Two figures are near enough, and they are used for nothing else.",
    )  # fmt: skip
    longitude_deg = forms.FloatField(
        required=False, label="Degrees east", help_text="Like -0.9; west of Greenwich is minus."
    )
    timezone = forms.CharField(
        max_length=64, label="Time zone",
        help_text="Like Europe/London: all times on these pages are in it.",
    )  # fmt: skip
    country = forms.CharField(
        max_length=2, label="Country", help_text="Two letters: whose bank holidays."
    )
    subdivision = forms.CharField(
        max_length=10, required=False, label="Part of the country",
        help_text="ENG, WLS, SCT or NIR in the United Kingdom; may be empty.",
    )  # fmt: skip
    work_on_bank_holidays = forms.BooleanField(
        required=False, label="My usual hours hold on bank holidays too"
    )


def about_as_typed(row: Property) -> dict[str, Any]:
    return {name: getattr(row, name) for name in AboutForm.base_fields}
