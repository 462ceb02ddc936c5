"""Doorways in the walls of rooms, and the ways that the household walks."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from math import hypot
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import HouseForm, TypedLength
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import write
from apps.pages.visiting import Visiting
from apps.property.l_shapes import is_rectangle
from apps.property.models import Doorway, HouseholdRoute, Property, Room, touches

SIDES = ("near", "right", "far", "left")


class NewDoorway(HouseForm):
    wall = forms.ChoiceField(label="In which wall")
    width = TypedLength(label="Width of the opening", initial="760")
    along = TypedLength(
        required=False, label="From the wall's left or lower end",
        help_text="Empty: in the middle of the wall.",
    )  # fmt: skip

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["wall"].choices = [(key, words) for key, words, _ in walls(self.house)]  # type: ignore[attr-defined]


def walls(house: Property) -> list[tuple[str, str, list[list[int]]]]:
    """Every wall: its key, its name, and its line from its left or lower end."""
    found = []
    for room in Room.objects.filter(property=house).order_by("storey__level", "name"):
        plain = is_rectangle(room.outline)
        for number, pair in enumerate(pairwise(room.outline)):
            side = f"{SIDES[number]} wall" if plain else f"wall {number + 1}"
            line = sorted(pair)
            words = f"{room.name}, {side} ({length_of(line):,} mm)"
            found.append((f"{room.pk}-{number}", words, line))
    return found


def length_of(line: list[list[int]]) -> int:
    (ax, ay), (bx, by) = line
    return round(hypot(bx - ax, by - ay))


def save_doorway(found: Visiting, said: dict[str, Any]) -> list[Doorway]:
    """An opening in a wall; the room behind it is found, or it leads outside."""
    house = found.house
    room, line = in_its_wall(house, said)
    fields = {"property": house, "room_a": room, "room_b": behind(room, line), "line": line}
    return [write(KINDS["doorway"], found, fields)]


def in_its_wall(house: Property, said: dict[str, Any]) -> tuple[Room, list[list[int]]]:
    """The room whose wall was chosen, and the opening as a line in it.

    Raises:
        ValidationError: for an opening that the wall is too short for.
    """
    start, end = next(line for key, _, line in walls(house) if key == said["wall"])
    length, width = length_of([start, end]), said["width"]
    first = (length - width) // 2 if said["along"] is None else said["along"]
    if width < 1 or width > length:
        raise ValidationError({"width": f"The wall is only {length:,} mm long."})
    if first + width > length:
        raise ValidationError({"along": f"It would run past the wall, {length:,} mm long."})
    line = [
        [round(start[i] + (end[i] - start[i]) * at / length) for i in (0, 1)]
        for at in (first, first + width)
    ]
    return Room.objects.get(property=house, pk=int(said["wall"].partition("-")[0])), line


def behind(room: Room, line: list[list[int]]) -> Room | None:
    """The room on the other side of an opening; None for outside."""
    others = Room.objects.filter(storey=room.storey_id).exclude(pk=room.pk)
    return next((other for other in others if touches(line, other.outline)), None)


def doorway_lines(house: Property) -> Iterable[Line]:
    rows = Doorway.objects.filter(property=house).select_related("room_a", "room_b")
    for row in rows:
        words = str(row).removeprefix("the doorway ")
        yield Line("doorway", row.pk, words, f"{length_of(row.line):,} mm wide")


class RouteForm(HouseForm):
    from_room = forms.ModelChoiceField(Room.objects.all(), label="From")
    to_room = forms.ModelChoiceField(
        Room.objects.all(), required=False, label="To", empty_label="outside"
    )
    needed = forms.ChoiceField(
        label="Must be walkable", choices=[("overnight", "every night"), ("always", "always")]
    )
    width_mm = TypedLength(label="Width", initial="600")
    name = forms.CharField(
        max_length=120, required=False, label="What you call it",
        help_text="Empty: by its two ends.",
    )  # fmt: skip


def save_route(found: Visiting, said: dict[str, Any]) -> list[HouseholdRoute]:
    return [write(KINDS["route"], found, {"property": found.house, **said})]


def route_as_typed(row: HouseholdRoute) -> dict[str, Any]:
    return {
        "from_room": row.from_room, "to_room": row.to_room, "needed": row.needed,
        "width_mm": str(row.width_mm), "name": row.name,
    }  # fmt: skip


def route_lines(house: Property) -> Iterable[Line]:
    rows = HouseholdRoute.objects.filter(property=house).select_related("from_room", "to_room")
    for row in rows:
        when = "every night" if row.needed == "overnight" else "always"
        ends = f"{row.from_room} to {row.to_room or 'outside'}, " if row.name else ""
        yield Line("route", row.pk, str(row), f"{ends}{when}, {row.width_mm} mm wide")
