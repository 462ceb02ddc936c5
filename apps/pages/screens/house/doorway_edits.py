"""A doorway put right: its wall, its width, where it is in the wall, and where it leads."""

from __future__ import annotations

from typing import Any

from django import forms

from apps.pages.screens.house.doorways import NewDoorway, behind, in_its_wall, length_of, walls
from apps.pages.visiting import Visiting
from apps.property.models import Doorway, Property, Room

Line = list[list[int]]


class ChangedDoorway(NewDoorway):
    beyond = forms.ModelChoiceField(
        Room.objects.all(), required=False, label="Leads to", empty_label="outside",
        help_text="Found anew when you choose another wall.",
    )  # fmt: skip


def as_typed(row: Doorway) -> dict[str, Any]:
    wall, line = wall_of(row.property, row)
    first = min(along_and_off(line, end)[0] for end in row.line)
    return {
        "wall": wall, "width": str(length_of(row.line)), "along": str(max(0, round(first))),
        "beyond": row.room_b,
    }  # fmt: skip


def doorway_said(found: Visiting, row: Doorway, said: dict[str, Any]) -> dict[str, Any]:
    """What the API would be told. An opening that was drawn in the middle of a thick wall stays
    so deep in it."""
    typed = as_typed(row)
    if all(str(said[name]) == typed[name] for name in ("wall", "width", "along")):
        return {"room_b": said["beyond"]}
    room, line = in_its_wall(found.house, said)
    beyond = said["beyond"]
    if said["wall"] == typed["wall"]:
        line = as_deep(line, wall_of(found.house, row)[1], row.line)
    elif beyond == row.room_b:
        beyond = behind(room, line)
    return {"room_a": room, "room_b": beyond, "line": line}


def wall_of(house: Property, row: Doorway) -> tuple[str, Line]:
    """The wall of its first room that a doorway is nearest to."""
    own = [(key, line) for key, _, line in walls(house)
           if key.partition("-")[0] == str(row.room_a_id)]  # fmt: skip
    return min(own, key=lambda wall: max(reach(wall[1], end) for end in row.line))


def reach(wall: Line, point: list[int]) -> float:
    """How far a point is from a wall, along it and off it together [mm]."""
    along, off = along_and_off(wall, point)
    return abs(off) + max(0.0, -along, along - length_of(wall))


def along_and_off(wall: Line, point: list[int]) -> tuple[float, float]:
    """How far along a wall a point is, and how far off it, to the left [mm]."""
    (ax, ay), (bx, by) = wall
    length = length_of(wall)
    ux, uy = (bx - ax) / length, (by - ay) / length
    dx, dy = point[0] - ax, point[1] - ay
    return dx * ux + dy * uy, dy * ux - dx * uy


def as_deep(line: Line, wall: Line, before: Line) -> Line:
    """A line in a wall, moved as far off it as the one before was."""
    off = sum(along_and_off(wall, end)[1] for end in before) / len(before)
    (ax, ay), (bx, by) = wall
    length = length_of(wall)
    across = -(by - ay) / length * off, (bx - ax) / length * off
    return [[round(end[0] + across[0]), round(end[1] + across[1])] for end in line]
