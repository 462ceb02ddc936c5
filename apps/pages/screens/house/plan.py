"""The rooms of each storey as a small plan; every wall leads to the form for a doorway."""

from __future__ import annotations

from math import hypot
from typing import Any
from urllib.parse import urlencode
from xml.sax.saxutils import escape

from django.http import HttpRequest
from django.urls import reverse
from django.utils.safestring import mark_safe

from apps.pages.drawing.svg import Frame, bounds, element, polygon, polyline, text
from apps.pages.screens.house.rooms import box, walls
from apps.property.models import Doorway, Property, Room, Storey

EDGE_MM = 200


def plans(request: HttpRequest, house: Property) -> dict[str, Any]:
    """A drawing of each storey that has rooms."""
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
    size = max(right - left, high - low) / 16
    parts = [polygon(room.outline, frame, fill="#fff") for room in rooms]
    ids = {str(room.pk) for room in rooms}
    for key, words, line in every_wall:
        if key.partition("-")[0] in ids:
            address = (
                f"{reverse('house-doorways')}?{urlencode({'property': house.pk, 'wall': key})}"
            )
            seen = polyline(line, frame, fill="none", stroke="#000", stroke_width=40)
            thumb = polygon(band(line, size * 0.8), frame, fill="transparent")
            title = element("title", escape(f"Doorway in {words}"))
            parts.append(element("a", title + thumb + seen, href=address, class_="house-wall"))
    parts += [polyline(line, frame, fill="none", stroke="#fff", stroke_width=90) for line in opened]
    for room in rooms:
        a, b, c, d = box(room.outline)
        words = room.name
        fits = min(size, (c - a) / max(1, len(words)) / 0.6)
        parts.append(text(frame.at(((a + c) / 2, (b + d) / 2)), words, size=fits))
    edge = f"{-EDGE_MM} {-EDGE_MM} {right - left + 2 * EDGE_MM} {high - low + 2 * EDGE_MM}"
    return mark_safe(  # noqa: S308 (words are escaped where they are drawn)
        element("svg", "".join(parts), viewBox=edge, class_="drawing house-plan")
    )


def band(line: list[list[int]], reach: float) -> list[tuple[float, float]]:
    """What a thumb hits of a wall: the wall made this much wider to each side [mm]."""
    (ax, ay), (bx, by) = line
    length = hypot(bx - ax, by - ay)
    nx, ny = (by - ay) / length * reach, (ax - bx) / length * reach
    return [(ax - nx, ay - ny), (bx - nx, by - ny), (bx + nx, by + ny), (ax + nx, ay + ny)]
