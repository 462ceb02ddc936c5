"""Ready packages: their tasks are seen, and their times put right, before anything is kept."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest

from apps.floors.models import Floor
from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import HouseForm, TypedLength, TypedSize
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.rooms import box
from apps.pages.screens.house.tasks import OWN_JOBS, waited
from apps.pages.screens.house.writing import REFUSALS, blame, write
from apps.pages.visiting import Visiting
from apps.property import outlines
from apps.property.models import Property
from apps.work.models import LONGEST_TASK_MINUTES, Trade, WorkPackage
from apps.work.ready import READY, at_ones_own_pace
from apps.work.ready_services import ReadyRows, add_ready_package, ready_rows

MINUTES = "minutes_"


class NewReady(HouseForm):
    folds = (("Only a part of it, or a trade", ("size", "x", "y", "trade")),)

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

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        found["minutes"] = {}
        for name in self.data:
            step = name.removeprefix(MINUTES)
            written = str(self.data[name]).strip()
            if step == name or not written:
                continue
            good = written.isascii() and written.isdigit() and len(written) <= 5
            if not good or not 1 <= int(written) <= LONGEST_TASK_MINUTES:
                raise ValidationError(f"Minutes are a whole number, 1 to {LONGEST_TASK_MINUTES:,}.")
            found["minutes"][step] = int(written)
        return found


def wanted(said: dict[str, Any]) -> dict[str, Any]:
    """What the service is told."""
    floor = said["floor"]
    area = floor.outline
    if said["size"]:
        left, low, _, _ = box(floor.outline)
        width, length = said["size"]
        corner = (left + (said["x"] or 0), low + (said["y"] or 0))
        try:
            area = outlines.rectangle(width, length, corner)
        except ValueError as exc:
            raise ValidationError({"size": str(exc)}) from exc
    area = area if READY[said["kind"]].needs_place else None
    return {"kind": said["kind"], "floor": floor, "area": area, "trade": said["trade"]}


def save_ready(found: Visiting, said: dict[str, Any]) -> list[WorkPackage]:
    """A package with its tasks in order, sized to its part of the floor, at one's own pace."""
    rows = add_ready_package(**wanted(said))
    for step, task in zip(steps(said["kind"]), rows.tasks, strict=True):
        likely = said["minutes"].get(step)
        if likely and likely != task.likely_minutes:
            usual = (task.low_minutes, task.likely_minutes, task.high_minutes)
            names = ("low_minutes", "likely_minutes", "high_minutes")
            own = dict(zip(names, at_ones_own_pace(usual, likely), strict=True))
            write(KINDS["task"], found, own, task)
    return [rows.package]


def steps(kind: str) -> list[str]:
    return [task.step for task in READY[kind].tasks]


def preview(request: HttpRequest, found: Visiting) -> dict[str, Any]:
    """The tasks as they would be, once the form says which; nothing is kept."""
    asked = request.POST if request.method == "POST" else request.GET
    if not asked.get("kind"):
        return {}
    form = NewReady(asked, house=found.house)
    if not form.is_valid():
        return {"form": form}
    try:
        with transaction.atomic():
            rows = ready_rows(**wanted(form.cleaned_data))
    except REFUSALS as exc:
        blame(form, exc, {"area": "size"})
        return {"form": form}
    return {"form": form, "ready": as_shown(rows, form.cleaned_data)}


def as_shown(rows: ReadyRows, said: dict[str, Any]) -> dict[str, Any]:
    waits = {
        id(link.after): f"waits {waited(link.min_lag_minutes)} first. {link.reason}".strip()
        for link in rows.links
        if link.min_lag_minutes
    }
    return {
        "title": rows.package.title,
        "note": rows.package.note,
        "tasks": [
            {
                "name": f"{MINUTES}{step}",
                "title": task.title,
                "minutes": said["minutes"].get(step, task.likely_minutes),
                "who": str(task.trade or ""),
                "waits": waits.get(id(task), ""),
            }
            for step, task in zip(steps(said["kind"]), rows.tasks, strict=True)
        ],
    }


def package_lines(house: Property) -> Iterable[Line]:
    rows = WorkPackage.objects.filter(property=house).exclude(title=OWN_JOBS)
    for row in rows.prefetch_related("tasks"):
        tasks = row.tasks.all()
        many = "1 task" if len(tasks) == 1 else f"{len(tasks)} tasks"
        yield Line("package", row.pk, row.title, many)
