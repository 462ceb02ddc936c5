"""Hold points of one's own: what must be seen, by whom, and what may not start until then."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.floors.models import Floor
from apps.inspections.models import Inspection
from apps.inspections.validators import LONGEST_KEY, LONGEST_TITLE, MOST_REQUIRED
from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.editing import Edit
from apps.pages.screens.house.fields import HouseForm, clock_field
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import REFUSALS, blame, write
from apps.pages.screens.looks.words import BY
from apps.pages.visiting import Visiting, house_page, page
from apps.work.models import Task

OVER = ("done", "dropped")


class PackagesOfTasks(forms.BoundField):
    """Tasks to tick, folded under their packages; what is ticked is in sight."""

    def groups(self) -> list[dict[str, Any]]:
        found: dict[str, dict[str, Any]] = {}
        for choice in self.subwidgets:
            word = str(choice.data["value"].instance.package)
            group = found.setdefault(word, {"word": word, "choices": [], "open": False})
            group["choices"].append(choice)
            group["open"] |= bool(choice.data["selected"])
        return list(found.values())


class TasksByPackage(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]
    def get_bound_field(self, form: Any, field_name: str) -> forms.BoundField:
        return PackagesOfTasks(form, self, field_name)


class HoldForm(HouseForm):
    """One look that tasks wait for."""

    quiet_folds = ("How long, and when they come",)
    folds = (
        ("What is looked at", ("looks_at", "floor")),
        ("Photos that must be on file", ("photos",)),
        ("How long, and when they come", ("minutes", "visiting_from", "visiting_to")),
        ("A note, and where it is written", ("note", "source")),
    )

    title = forms.CharField(
        max_length=120, label="What must be seen", help_text="Like: joist ends before boards."
    )
    by = forms.ChoiceField(label="Who looks", choices=[(one.value, BY[one]) for one in BY])
    notice_working_days = forms.IntegerField(
        label="Notice they need, working days", initial=1, min_value=0, max_value=60
    )
    blocks = TasksByPackage(
        Task.objects.select_related("package"), required=False,
        label="May not start until it was seen", widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    looks_at = TasksByPackage(
        Task.objects.select_related("package"), required=False,
        label="Whose result they look at", widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    floor = forms.ModelChoiceField(
        Floor.objects.all(), required=False, label="On which floor", empty_label="none"
    )
    photos = forms.CharField(
        required=False, label="Photos", help_text="One a line, like: Each joist end.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip
    minutes = forms.IntegerField(
        label="Minutes it takes", initial=30, min_value=15, max_value=480, required=False
    )
    visiting_from = clock_field("Not before", "09:00", required=False)
    visiting_to = clock_field("Not after", "16:00", required=False)
    note = forms.CharField(
        required=False, max_length=5000, label="Note", widget=forms.Textarea(attrs={"rows": 3})
    )
    source = forms.CharField(
        required=False, max_length=1000, label="Where it is written that it must be seen"
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for name in ("blocks", "looks_at"):
            field: Any = self.fields[name]
            chosen = getattr(self.row, name).values("pk") if self.row else []
            field.queryset = field.queryset.exclude(status__in=OVER) | field.queryset.filter(
                pk__in=chosen
            )

    def clean_photos(self) -> list[dict[str, str]]:
        """Each line with a key of its own; a line that was there before keeps its key."""
        lines = [one.strip() for one in self.cleaned_data["photos"].splitlines()]
        lines = list(dict.fromkeys(one for one in lines if one))
        if len(lines) > MOST_REQUIRED or any(len(one) > LONGEST_TITLE for one in lines):
            raise ValidationError(
                f"At most {MOST_REQUIRED} photos, each named in up to {LONGEST_TITLE} letters."
            )
        before = self.row.required_evidence if self.row else []
        known = {item["title"]: item["key"] for item in before}
        taken, found = set(known.values()), []
        for line in lines:
            key = known.get(line) or key_of(line, taken)
            taken.add(key)
            found.append({"key": key, "title": line})
        return found


def key_of(title: str, taken: set[str]) -> str:
    """A short key of a photo, as the API has it."""
    plain = "-".join(re.findall(r"[a-z0-9]+", title.lower()))[: LONGEST_KEY - 3].strip("-")
    base = plain or "photo"
    return next(key for key in (base, *(f"{base}-{n}" for n in range(2, 100))) if key not in taken)


def told(found: Visiting, row: Inspection | None, said: dict[str, Any]) -> dict[str, Any]:
    """What the API would be told."""
    given = {name: value for name, value in said.items() if value is not None or name == "floor"}
    photos = given.pop("photos")
    return {**given, "required_evidence": photos}


def as_typed(row: Inspection) -> dict[str, Any]:
    names = ("title", "by", "notice_working_days", "floor", "minutes", "visiting_from",
             "visiting_to", "note", "source")  # fmt: skip
    return {
        **{name: getattr(row, name) for name in names},
        "blocks": list(row.blocks.all()),
        "looks_at": list(row.looks_at.all()),
        "photos": "\n".join(item["title"] for item in row.required_evidence),
    }


def locked(row: Inspection) -> str:
    """Why it is not changed here: what was signed stays as it was signed."""
    if row.sign_offs.exists():
        return "It was signed already: what was seen stays as it was written down."
    return ""


EDIT = Edit(
    "look", "looks-hold", "looks", "To the looks", HoldForm, as_typed, told,
    also={"required_evidence": "photos"}, locked=locked, here="looks",
)  # fmt: skip


@house_page
def new_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The form for a hold point of one's own."""
    return shown(request, found, HoldForm(house=found.house))


@house_action
def add(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Add it."""
    form, status = HoldForm(request.POST, house=found.house), 400
    if form.is_valid():
        try:
            with transaction.atomic():
                fields = {"property": found.house, **told(found, None, form.cleaned_data)}
                row = write(KINDS["look"], found, fields)
        except REFUSALS as exc:
            status = blame(form, exc, EDIT.also)
        else:
            fields = {"kind": "look", "ids": row.pk, "property": found.house.pk, "added": 1}
            undo = Undo(reverse("house-remove"), fields)
            back = reverse("looks-inspection", args=[row.pk])
            return Done(f"Added: {row}.", back=back, undo=undo)
    return shown(request, found, form, status=status)


def shown(
    request: HttpRequest, found: Visiting, form: HoldForm, *, status: int = 200
) -> HttpResponse:
    return page(
        request, found, "pages/looks/hold.html", {"form": form}, here="looks", status=status
    )
