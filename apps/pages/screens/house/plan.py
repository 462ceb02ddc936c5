"""The rooms of each storey as a small plan; every wall leads to the form for a doorway."""

from __future__ import annotations

from math import hypot
from typing import Any
from urllib.parse import urlencode
from xml.sax.saxutils import escape  # nosec B406 # it writes XML and reads none

from django.http import HttpRequest
from django.urls import reverse

from apps.pages.drawing.svg import Frame, bounds, element, polygon, polyline, text
from apps.pages.safe_drawing import as_drawn
from apps.pages.screens.house.doorways import walls
from apps.pages.screens.house.rooms import box
from apps.pages.visiting import Visiting
from apps.property.l_shapes import boxes_of
from apps.property.models import Doorway, Property, Room, Storey
from apps.property.outlines import inside

EDGE_MM = 200
THUMB_PX = 44.5
NARROWEST_PX, HIGHEST_PX = 254, 480
"""How wide a plan is on the narrowest phone, 320 px, and how high it gets anywhere."""


def plans(request: HttpRequest, found: Visiting) -> dict[str, Any]:
    """A drawing of each storey that has rooms."""
    house = found.house
    rooms = list(Room.objects.filter(property=house))
    doorways = list(Doorway.objects.filter(property=house).select_related("room_a"))
    every_wall = walls(house)
    shown = []
    for storey in Storey.objects.filter(property=house):
        here = [room for room in rooms if room.storey_id == storey.pk]
        if here:
            opened = [one.line for one in doorways if one.room_a.storey_id == storey.pk]
            shown.append({"name": storey.name, "svg": drawn(here, opened, every_wall, house)})
    return {"plans": shown}


def drawn(rooms: list[Room], opened: list[Any], every_wall: list[Any], house: Property) -> Any:
    left, low, right, high = bounds(point for room in rooms for point in room.outline)
    frame = Frame(left, high)
    wide, tall = right - left + 2 * EDGE_MM, high - low + 2 * EDGE_MM
    thumb_mm = THUMB_PX * max(wide / NARROWEST_PX, tall / HIGHEST_PX)
    size = max(right - left, high - low) / 16
    parts = [polygon(room.outline, frame, fill="#fff") for room in rooms]
    narrow = {room.pk for room in rooms if narrowest(room) < 2 * thumb_mm - EDGE_MM}
    parts += [whole(room, every_wall, frame, house, thumb_mm) for room in rooms
              if room.pk in narrow]  # fmt: skip
    by_id = {str(room.pk): room for room in rooms}
    for key, words, line in every_wall:
        room = by_id.get(key.partition("-")[0])
        if room is None:
            continue
        seen = polyline(line, frame, fill="none", stroke="#000", stroke_width=40)
        if room.pk not in narrow:
            seen = linked(house, key, f"Doorway in {words}", within_reach(line, room, thumb_mm),
                          frame, seen)  # fmt: skip
        parts.append(seen)
    parts += [polyline(line, frame, fill="none", stroke="#fff", stroke_width=90) for line in opened]
    parts += [name_of(room, frame, size) for room in rooms]
    return svg_of("".join(parts), wide, tall)


def linked(
    house: Property, wall: str, words: str, reached: Any, frame: Frame, seen: str = ""
) -> str:
    """What is tapped for a doorway, and what is seen of it."""
    address = f"{reverse('house-doorways')}?{urlencode({'property': house.pk, 'wall': wall})}"
    thumb = polygon(reached, frame, fill="transparent", class_="house-thumb")
    title = element("title", escape(words))
    return element("a", title + thumb + seen, href=address, class_="house-wall")


def whole(room: Room, every_wall: list[Any], frame: Frame, house: Property, thumb_mm: float) -> str:
    """A room too narrow for a thumb on each wall is tapped as a whole; the wall is then chosen
    from the list."""
    left, low, right, high = box(room.outline)
    wide, tall = (max(0.0, thumb_mm - one) / 2 for one in (right - left, high - low))
    reached = [(left - wide, low - tall), (right + wide, low - tall),
               (right + wide, high + tall), (left - wide, high + tall)]  # fmt: skip
    first = next(key for key, _, _ in every_wall if key.partition("-")[0] == str(room.pk))
    return linked(house, first, f"Doorway in a wall of {room.name}", reached, frame)


def narrowest(room: Room) -> int:
    left, low, right, high = box(room.outline)
    return min(right - left, high - low)


def name_of(room: Room, frame: Frame, size: float) -> str:
    """A room's name in its middle, along its longer side where it would not fit across."""
    left, low, right, high = middle_of(room)
    middle = frame.at(((left + right) / 2, (low + high) / 2))
    letters = max(1, len(room.name)) * 0.6
    fits = [min(size, wide / letters, tall * 0.8) for wide, tall in
            ((right - left, high - low), (high - low, right - left))]  # fmt: skip
    upright = fits[1] > fits[0] * 1.4
    return text(middle, room.name, size=fits[upright], turn=-90 if upright else 0)


def middle_of(room: Room) -> tuple[int, int, int, int]:
    """The largest rectangle of a room: of an L its wider arm."""
    return max(boxes_of(room.outline), key=lambda one: (one[2] - one[0]) * (one[3] - one[1]))


def svg_of(inside: str, wide: float, tall: float, **attributes: object) -> Any:
    return as_drawn(
        element(
            "svg", inside, viewBox=f"{-EDGE_MM} {-EDGE_MM} {wide} {tall}",
            class_="drawing house-plan", **attributes,
        )
    )  # fmt: skip


def within_reach(line: list[list[int]], room: Room, thumb_mm: float) -> list[tuple[float, float]]:
    """What a thumb hits of a wall: a band as wide as a thumb, most of it inside the wall's own
    room, so that the wall behind it keeps its own.
    """
    (x1, y1), (x2, y2) = line
    length = hypot(x2 - x1, y2 - y1)
    nx, ny = (y2 - y1) / length, (x1 - x2) / length
    longer = max(0.0, thumb_mm - length) / 2 / length
    ax, ay = x1 + (x1 - x2) * longer, y1 + (y1 - y2) * longer
    bx, by = x2 + (x2 - x1) * longer, y2 + (y2 - y1) * longer
    middle = ((x1 + x2) / 2 + nx * 10, (y1 + y2) / 2 + ny * 10)
    if not inside((round(middle[0]), round(middle[1])), room.outline):
        nx, ny = -nx, -ny
    out = EDGE_MM / 2
    deep = thumb_mm - out
    # Corners are cut off slantwise, and belong half to each of the walls that meet there.
    slant = 0.0 if longer else min(deep, length * 0.3) / length
    inner = [
        (ax + (bx - ax) * at + nx * deep, ay + (by - ay) * at + ny * deep)
        for at in (1 - slant, slant)
    ]
    return [(ax - nx * out, ay - ny * out), (bx - nx * out, by - ny * out), *inner]
