"""Does an area or a route lie on the floor it is said to be on? Whole millimetres, no geometry
library, so that models may ask."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from apps.property import outlines

WALL_REACH_MM = 500
"""How far a place may reach past a floor's outline: boards and pipes run into the wall, and an
area drawn to the outer face reaches 480 mm past a corner of two 340 mm walls (common practice,
no source)."""

Points = Sequence[Sequence[int]]


def why_not_on_floor(place: Points, outline: Points, *, what: str, floor: str) -> str:
    """Why a place cannot be on a floor; empty when it can.

    Args:
        place: points of a route, or of a closed ring [mm].
        outline: the floor's closed ring [mm].
        what: how the sentence calls the place: "area" or "route".
        floor: how it calls the floor.
    """
    beyond = [
        outlines.distance_to_outline_mm((x, y), ring(outline))
        for x, y in place
        if not lies_in((x, y), outline)
    ]
    if beyond and max(beyond) > WALL_REACH_MM:
        return f"The {what} reaches {max(beyond):.0f} mm past the outline of {floor}."
    closed = list(place[0]) == list(place[-1])
    meets = (
        len(beyond) < len(place)
        or edges_meet(place, outline)
        or (closed and any(lies_in((x, y), place) for x, y in outline))
    )
    return "" if meets else f"The {what} lies beside {floor}, not on it."


def ring(points: Points) -> outlines.Ring:
    return [list(point) for point in points]


def lies_in(point: tuple[int, int], outline: Points) -> bool:
    """Whether a point is inside a closed ring: a ray to the right crosses its edge oddly often."""
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in pairwise(outline):
        if (ay > y) != (by > y):
            # The crossing lies right of the point when this product and the edge's rise agree.
            right = (bx - ax) * (y - ay) - (x - ax) * (by - ay)
            inside ^= right > 0 if by > ay else right < 0
    return inside


def edges_meet(one: Points, two: Points) -> bool:
    return any(
        outlines.segments_meet(((ax, ay), (bx, by)), ((cx, cy), (dx, dy)))
        for (ax, ay), (bx, by) in pairwise(one)
        for (cx, cy), (dx, dy) in pairwise(two)
    )


def area_mm2(place: Points, clearance_mm: int) -> int:
    """The floor a place takes: a ring's own area, or a route's length times its working width."""
    if list(place[0]) == list(place[-1]):
        corners = [(x, y) for x, y in place[:-1]]
        return abs(outlines.twice_signed_area(corners)) // 2
    steps = pairwise(place)
    length = sum(((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5 for (ax, ay), (bx, by) in steps)
    return int(length * 2 * clearance_mm)
