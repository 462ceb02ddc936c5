"""Rooms by their sizes: plain ones and L-shaped ones, put beside each other, and changed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import HouseForm, TypedLength, TypedSize
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import write
from apps.pages.visiting import Visiting
from apps.property import outlines
from apps.property.l_shapes import cut_of, is_rectangle, less_a_corner, overlap
from apps.property.models import Property, Room, Storey

LEVELS = {-1: "Cellar", 0: "Ground floor", 1: "First floor", 2: "Second floor", 3: "Attic"}
PLACES = [
    ("right", "To the right of another room"),
    ("below", "Below another room on the plan"),
    ("offset", "At a distance from the corner of the house"),
]
MISSING = [
    ("top_right", "top right"), ("top_left", "top left"),
    ("bottom_right", "bottom right"), ("bottom_left", "bottom left"),
]  # fmt: skip
WALL_MM = 115
"""Common practice, no source: a half-brick wall is 102.5 mm thick, plaster comes on top."""
SIZE_HINT = "Across the plan, then up it: 3.62m x 4.1m, 3620 x 4100 or 11'10\" x 9'."
L_FIELDS = ("less", "missing")
PLACE_FIELDS = ("place", "beside", "wall", "x", "y")


class RoomForm(HouseForm):
    """What a new room and one that is changed both say."""

    name = forms.CharField(max_length=60, label="Name")
    size = TypedSize(label="Inside size", help_text=SIZE_HINT)
    level = forms.TypedChoiceField(label="Storey", coerce=int, initial=0)
    use = forms.ChoiceField(
        label="Used as", choices=[(one.value, one.label) for one in Room.Use], initial="other"
    )
    less = TypedSize(
        required=False, label="Less a corner of",
        help_text="The size above is then the whole rectangle around the room.",
    )  # fmt: skip
    missing = forms.ChoiceField(label="Which corner, on the plan", choices=MISSING, required=False)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        named = dict(LEVELS)
        named.update(Storey.objects.filter(property=self.house).values_list("level", "name"))
        self.fields["level"].choices = sorted(named.items())  # type: ignore[attr-defined]


class NewRoom(RoomForm):
    folds = (("It is L-shaped", L_FIELDS), ("Where it lies", PLACE_FIELDS))

    place = forms.ChoiceField(label="Where it lies", choices=PLACES, initial="right")
    beside = forms.ModelChoiceField(
        Room.objects.all(), required=False, label="Beside which room",
        empty_label="the one added last",
    )  # fmt: skip
    wall = TypedLength(required=False, label="Wall between", help_text="Empty: 115 mm.")
    x = TypedLength(required=False, label="From the left", help_text="For a distance only.")
    y = TypedLength(required=False, label="From below", help_text="For a distance only.")


class ChangedRoom(RoomForm):
    """A room as it is. One of another shape than a rectangle or an L keeps its outline here."""

    quiet_folds = ("Where it lies",)
    folds = (("It is L-shaped", L_FIELDS), ("Where it lies", ("x", "y")))

    x = TypedLength(label="From the left")
    y = TypedLength(label="From below")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        if not is_plain(self.row.outline):
            for name in ("size", "less", "missing", "x", "y"):
                del self.fields[name]
            self.fields[
                "name"
            ].help_text = "Its outline is neither a rectangle nor an L: it stays as it was drawn."


def is_plain(ring: list[list[int]]) -> bool:
    return is_rectangle(ring) or cut_of(ring) is not None


def save_room(found: Visiting, said: dict[str, Any]) -> list[Room]:
    """A room, on a storey that is noted with its first room."""
    house = found.house
    storey = storey_of(found, said["level"])
    outline = outline_of(said, corner_of(house, storey, said))
    refuse_lying_over(storey, outline, blamed="place")
    fields = {"property": house, "storey": storey, "outline": outline}
    return [write(KINDS["room"], found, {**fields, "name": said["name"], "use": said["use"]})]


def storey_of(found: Visiting, level: int) -> Storey:
    storey = Storey.objects.filter(property=found.house, level=level).first()
    if storey is None:
        fields = {"property": found.house, "level": level, "name": LEVELS[level]}
        storey = write(KINDS["storey"], found, fields)
    return storey


def outline_of(said: dict[str, Any], corner: tuple[int, int]) -> list[list[int]]:
    """The outline as it was typed.

    Raises:
        ValidationError: at the size that cannot be.
    """
    width, length = said["size"]
    try:
        if said.get("less"):
            missing = said.get("missing") or MISSING[0][0]
            return less_a_corner(width, length, said["less"], missing, corner)
        return outlines.rectangle(width, length, corner)
    except ValueError as exc:
        raise ValidationError({"less" if said.get("less") else "size": str(exc)}) from exc


def refuse_lying_over(
    storey: Storey, outline: list[list[int]], *, blamed: str, apart_from: int = 0
) -> None:
    for other in Room.objects.filter(storey=storey).exclude(pk=apart_from):
        if overlap(outline, other.outline):
            raise ValidationError({blamed: f"It would lie over {other.name}. {CHOOSE[blamed]}"})


CHOOSE = {"place": "Choose another place.", "size": "Choose another size or place."}


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


def as_typed(room: Room) -> dict[str, Any]:
    """A room as its form shows it."""
    left, low, right, high = box(room.outline)
    cut = cut_of(room.outline)
    return {
        "name": room.name,
        "size": f"{right - left} x {high - low}",
        "level": room.storey.level,
        "use": room.use,
        "less": f"{cut[0][0]} x {cut[0][1]}" if cut else "",
        "missing": cut[1] if cut else MISSING[0][0],
        "x": str(left),
        "y": str(low),
    }


def room_said(found: Visiting, room: Room, said: dict[str, Any]) -> dict[str, Any]:
    """What the API would be told of a changed room."""
    storey = storey_of(found, said["level"])
    told = {"name": said["name"], "use": said["use"], "storey": storey}
    if "size" in said:
        told["outline"] = outline_of(said, (said["x"], said["y"]))
        moved = told["outline"] != room.outline or storey.pk != room.storey_id
        if moved:
            refuse_lying_over(storey, told["outline"], blamed="size", apart_from=room.pk)
    return told


def room_lines(house: Property) -> Iterable[Line]:
    for room in Room.objects.filter(property=house).select_related("storey"):
        left, low, right, high = box(room.outline)
        shape = "" if is_rectangle(room.outline) else "over all, not a rectangle, "
        size = f"{right - left:,} × {high - low:,} mm {shape}".strip(", ")
        yield Line("room", room.pk, room.name, size, under=room.storey.name)
