"""Where the boards come up for a repair: a strip along the joist, on the floor that there is."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from shapely import LineString, Polygon

from apps.property.outlines import closed_ring

Point = tuple[int, int]

BEYOND_MM = 200
"""Room to saw and to drive a bolt past the end of the work (common practice, no source)."""


def opening(
    line: tuple[Point, Point],
    from_mm: int,
    to_mm: int,
    *,
    reach_mm: int,
    outline: Sequence[Sequence[int]],
) -> list[list[int]]:
    """The closed ring [mm] to open: a stretch of a joist and the bays beside it.

    Args:
        line: the joist's centre line.
        from_mm, to_mm: the stretch along it that is worked on.
        reach_mm: how far to each side; as far as the next joist, as a rule.
        outline: of the floor; the strip is cut off at it.

    Raises:
        ValueError: the joist does not lie on its floor.
    """
    (ax, ay), (bx, by) = line
    length = math.hypot(bx - ax, by - ay)
    low, high = max(0, from_mm - BEYOND_MM), min(length, to_mm + BEYOND_MM)
    at = [(ax + (bx - ax) * d / length, ay + (by - ay) * d / length) for d in (low, high)]
    strip = LineString(at).buffer(reach_mm, cap_style="flat")
    floor = Polygon(outline)
    parts = [
        part
        for part in shapely.get_parts(strip.intersection(floor))
        if part.geom_type == "Polygon" and part.area > 1
    ]
    if not parts:
        raise ValueError("The joist does not lie on its floor.")
    # A floor with a corner may cut the strip in two: the work is where the joist is.
    largest = max(parts, key=lambda part: (part.intersection(LineString(at)).length, part.area))
    ring = [[round(x), round(y)] for x, y in largest.exterior.coords]
    return closed_ring([point for n, point in enumerate(ring) if n == 0 or point != ring[n - 1]])
