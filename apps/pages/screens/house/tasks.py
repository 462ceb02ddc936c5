"""Tasks one by one, and ready packages of linked tasks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from apps.floors.models import Floor
from apps.pages.screens.house.adding import Line, checked
from apps.pages.screens.house.fields import HouseForm, TypedLength, TypedSize
from apps.pages.screens.house.rooms import box
from apps.pages.wording import duration
from apps.property import outlines
from apps.property.models import Property, Room
from apps.work.models import Task, Trade, WorkPackage
from apps.work.ready import READY, SURE, quarters_up
from apps.work.ready_services import add_ready_package

OWN_JOBS = "Jobs"


class NewTask(HouseForm):
    title = forms.CharField(max_length=120, label="What is to be done")
    likely_minutes = forms.IntegerField(
        label="Minutes, most likely", initial=60, min_value=1, max_value=60_000
    )
    low_minutes = forms.IntegerField(required=False, label="If all goes well")
    high_minutes = forms.IntegerField(required=False, label="If it goes badly")
    room = forms.ModelChoiceField(
        Room.objects.all(), required=False, label="Where", empty_label="no room in particular"
    )
    loud = forms.BooleanField(required=False, label="Loud")
    outdoors = forms.BooleanField(required=False, label="Outdoors")


def save_task(house: Property, said: dict[str, Any]) -> list[Task]:
    """A task among the house's single jobs. Times left empty are three quarters and half as
    much again of the likely one: common practice, no source."""
    package = WorkPackage.objects.filter(property=house, title=OWN_JOBS).first()
    if package is None:
        fields = {"title": OWN_JOBS, "kind": WorkPackage.Kind.FLOOR}
        package = checked(WorkPackage(property=house, **fields))
    likely = said["likely_minutes"]
    low, high = (quarters_up(likely * times) for times in SURE)
    usual = {"low_minutes": min(low, likely), "high_minutes": max(high, likely)}
    asked = {name: said[name] for name in usual if said[name] is not None}
    return [checked(Task(package=package, **{**said, **usual, **asked}))]


def task_lines(house: Property) -> Iterable[Line]:
    rows = Task.objects.filter(package__property=house).select_related("package")
    for row in rows:
        low, high = duration(row.low_minutes), duration(row.high_minutes)
        facts = f"{row.package}, {duration(row.likely_minutes)} ({low} to {high})"
        yield Line("task", row.pk, row.title, facts)


class NewReady(HouseForm):
    kind = forms.ChoiceField(
        label="Package", choices=[(key, one.title) for key, one in READY.items()]
    )
    floor = forms.ModelChoiceField(Floor.objects.all(), label="On which floor")
    size = TypedSize(
        required=False, label="How much of it", help_text="Like 1.2m x 2m. Empty: all of it."
    )
    x = TypedLength(required=False, label="Beginning, from its left")
    y = TypedLength(required=False, label="Beginning, from its lower edge")
    trade = forms.ModelChoiceField(
        Trade.objects.all(), required=False, label="Who does the trade's part", empty_label="me"
    )


def save_ready(house: Property, said: dict[str, Any]) -> list[WorkPackage]:
    """A package with its tasks in order, sized to its part of the floor."""
    floor = said["floor"]
    area = floor.outline
    if said["size"]:
        left, low, _, _ = box(floor.outline)
        width, length = said["size"]
        corner = (left + (said["x"] or 0), low + (said["y"] or 0))
        area = outlines.rectangle(width, length, corner)
    area = area if READY[said["kind"]].needs_place else None
    rows = add_ready_package(kind=said["kind"], floor=floor, area=area, trade=said["trade"])
    return [rows.package]


def package_lines(house: Property) -> Iterable[Line]:
    for row in WorkPackage.objects.filter(property=house).exclude(title=OWN_JOBS):
        yield Line("package", row.pk, row.title, row.note)
