"""A room drawn where it would come to lie, while its size is typed; nothing is kept."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from apps.pages.drawing.svg import Frame, bounds, polygon
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.plan import EDGE_MM, name_of, svg_of
from apps.pages.screens.house.rooms import (
    ChangedRoom,
    NewRoom,
    as_typed,
    corner_of,
    outline_of,
    refuse_lying_over,
)
from apps.pages.visiting import Visiting, house_page, id_of
from apps.property.models import Room, Storey
from apps.work.places import area_mm2

MM2_PER_M2 = 1_000_000
WHOLE = ("size", "less")


@house_page
def preview(request: HttpRequest, found: Visiting) -> HttpResponse:
    """The storey with the room as it would be."""
    row = None
    if number := id_of(request.GET.get("row", "")):
        row = KINDS["room"].row(found.house, number)
    kind = ChangedRoom if row else NewRoom
    form = kind(request.GET, house=found.house, row=row, initial=as_typed(row) if row else None)
    form.fields["name"].required = False
    shown: dict[str, Any] = {"trouble": "Type its size and it is drawn here."}
    if form.is_valid() and form.cleaned_data.get("size"):
        try:
            shown = drawn(found, form.cleaned_data, row)
        except ValidationError as exc:
            shown = {"trouble": " ".join(exc.messages)}
    elif wrong := [error for name in WHOLE for error in form.errors.get(name, [])]:
        shown = {"trouble": wrong[0]} if request.GET.get("size") else shown
    return render(request, "pages/house/preview.html", shown)


def drawn(found: Visiting, said: dict[str, Any], row: Room | None) -> dict[str, Any]:
    storey = Storey.objects.filter(property=found.house, level=said["level"]).first()
    nowhere = storey or Storey(property=found.house, level=said["level"])
    others = list(Room.objects.filter(storey=storey)) if storey else []
    others = [room for room in others if row is None or room.pk != row.pk]
    with transaction.atomic():
        if row is not None:
            corner = (said["x"], said["y"])
        else:
            corner = corner_of(found.house, nowhere, said) if storey else given(said)
        outline = outline_of(said, corner)
        if storey:
            blamed = "size" if row else "place"
            refuse_lying_over(storey, outline, blamed=blamed, apart_from=row.pk if row else 0)
    room = Room(name=said["name"] or "this room", outline=outline)
    left, low, right, high = bounds(p for one in (*others, room) for p in one.outline)
    frame, size = Frame(left, high), max(right - left, high - low) / 16
    parts = [polygon(one.outline, frame, fill="#fff", stroke="#000", stroke_width=20)
             for one in others]  # fmt: skip
    parts.append(
        polygon(outline, frame, fill="#fff", stroke="#000", stroke_width=60, class_="house-new")
    )
    parts += [name_of(one, frame, size) for one in (*others, room)]
    words = f"{room.name}, {area_mm2(outline, 0) / MM2_PER_M2:.1f} m²"
    svg = svg_of(
        "".join(parts), right - left + 2 * EDGE_MM, high - low + 2 * EDGE_MM,
        role="img", aria_label=words,
    )  # fmt: skip
    return {"svg": svg, "words": f"{words}. Nothing is kept yet."}


def given(said: dict[str, Any]) -> tuple[int, int]:
    return (said["x"] or 0, said["y"] or 0) if said["place"] == "offset" else (0, 0)
