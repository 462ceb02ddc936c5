"""Rooms by their sizes, doorways in their walls, and the ways the household walks."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from math import hypot
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from apps.pages.screens.house.adding import Line, checked
from apps.pages.screens.house.fields import HouseForm, TypedLength, TypedSize
from apps.property import outlines
from apps.property.models import Doorway, HouseholdRoute, Property, Room, Storey, touches

LEVELS = {-1: "Cellar", 0: "Ground floor", 1: "First floor", 2: "Second floor", 3: "Attic"}
PLACES = [
    ("right", "To the right of another room"),
    ("below", "Below another room on the plan"),
    ("offset", "At a distance from the corner of the house"),
]
WALL_MM = 115
"""Common practice, no source: a half-brick wall is 102.5 mm thick, plaster comes on top."""
SIDES = ("near", "right", "far", "left")


class NewRoom(HouseForm):
    name = forms.CharField(max_length=60, label="Name")
    size = TypedSize(
        label="Inside size",
        help_text="Across the plan, then up it: 3.62m x 4.1m, 3620 x 4100 or 11'10\" x 9'.",
    )
    level = forms.TypedChoiceField(
        label="Storey", coerce=int, choices=list(LEVELS.items()), initial=0
    )
    use = forms.ChoiceField(
        label="Used as", choices=[(one.value, one.label) for one in Room.Use], initial="other"
    )
    place = forms.ChoiceField(label="Where it lies", choices=PLACES, initial="right")
    beside = forms.ModelChoiceField(
        Room.objects.all(), required=False, label="Beside which room",
        empty_label="the one added last",
    )  # fmt: skip
    wall = TypedLength(required=False, label="Wall between", help_text="Empty: 115 mm.")
    x = TypedLength(required=False, label="From the left", help_text="For a distance only.")
    y = TypedLength(required=False, label="From below", help_text="For a distance only.")


def save_room(house: Property, said: dict[str, Any]) -> list[Room]:
    """A rectangular room, on a storey that is noted with its first room."""
    storey = Storey.objects.filter(property=house, level=said["level"]).first()
    if storey is None:
        storey = Storey(property=house, level=said["level"], name=LEVELS[said["level"]])
        storey = checked(storey)
    width, length = said["size"]
    corner = corner_of(house, storey, said)
    try:
        outline = outlines.rectangle(width, length, corner)
    except ValueError as exc:
        raise ValidationError({"size": str(exc)}) from exc
    room = Room(
        property=house, storey=storey, name=said["name"], use=said["use"], outline=outline
    )  # fmt: skip
    for other in Room.objects.filter(storey=storey):
        if overlap(outline, other.outline):
            raise ValidationError(
                {"place": f"It would lie over {other.name}. Choose another place."}
            )
    return [checked(room)]


def corner_of(house: Property, storey: Storey, said: dict[str, Any]) -> tuple[int, int]:
    """The room's low left corner [mm]. Rooms side by side have their upper walls in line."""
    if said["place"] == "offset":
        return said["x"] or 0, said["y"] or 0
    rooms = Room.objects.filter(property=house, storey=storey)
    beside = said["beside"] or rooms.order_by("-pk").first()
    if beside is None:
        return 0, 0
    if beside.storey_id != storey.pk:
        raise ValidationError({"beside": f"{beside.name} is on another storey."})
    left, low, right, high = box(beside.outline)
    wall = WALL_MM if said["wall"] is None else said["wall"]
    length = said["size"][1]
    if said["place"] == "right":
        return right + wall, high - length
    return left, low - wall - length


def box(ring: list[list[int]]) -> tuple[int, int, int, int]:
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    return min(xs), min(ys), max(xs), max(ys)


def overlap(one: list[list[int]], other: list[list[int]]) -> bool:
    """Whether two rooms' boxes share more than an edge; L-shaped rooms are asked by corners."""
    left, low, right, high = box(one)
    if len(other) > 5:
        return any(left < x < right and low < y < high for x, y in other)
    a, b, c, d = box(other)
    return left < c and a < right and low < d and b < high


def room_lines(house: Property) -> Iterable[Line]:
    for room in Room.objects.filter(property=house).select_related("storey"):
        left, low, right, high = box(room.outline)
        size = f"{right - left:,} × {high - low:,} mm, {room.storey}"
        yield Line("room", room.pk, room.name, size)


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
        for number, pair in enumerate(pairwise(room.outline)):
            side = f"{SIDES[number]} wall" if len(room.outline) == 5 else f"wall {number + 1}"
            line = sorted(pair)
            words = f"{room.name}, {side} ({length_of(line):,} mm)"
            found.append((f"{room.pk}-{number}", words, line))
    return found


def length_of(line: list[list[int]]) -> int:
    (ax, ay), (bx, by) = line
    return round(hypot(bx - ax, by - ay))


def save_doorway(house: Property, said: dict[str, Any]) -> list[Doorway]:
    """An opening in a wall; the room behind it is found, or it leads outside."""
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
    room = Room.objects.get(property=house, pk=int(said["wall"].partition("-")[0]))
    others = Room.objects.filter(storey=room.storey_id).exclude(pk=room.pk)
    beyond = next((other for other in others if touches(line, other.outline)), None)
    return [checked(Doorway(property=house, room_a=room, room_b=beyond, line=line))]


def doorway_lines(house: Property) -> Iterable[Line]:
    rows = Doorway.objects.filter(property=house).select_related("room_a", "room_b")
    for row in rows:
        words = str(row).removeprefix("the doorway ")
        yield Line("doorway", row.pk, words, f"{length_of(row.line):,} mm wide")


class NewRoute(HouseForm):
    from_room = forms.ModelChoiceField(Room.objects.all(), label="From")
    to_room = forms.ModelChoiceField(
        Room.objects.all(), required=False, label="To", empty_label="outside"
    )
    needed = forms.ChoiceField(
        label="Must be walkable", choices=[("overnight", "every night"), ("always", "always")]
    )
    width_mm = TypedLength(label="Width", initial="600")


def save_route(house: Property, said: dict[str, Any]) -> list[HouseholdRoute]:
    return [checked(HouseholdRoute(property=house, **said))]


def route_lines(house: Property) -> Iterable[Line]:
    rows = HouseholdRoute.objects.filter(property=house).select_related("from_room", "to_room")
    for row in rows:
        when = "every night" if row.needed == "overnight" else "always"
        yield Line("route", row.pk, str(row), f"{when}, {row.width_mm} mm wide")
