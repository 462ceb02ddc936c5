"""Outlines and lines as lists of whole millimetres: are they good, and do they touch?

An outline is kept as a closed ring (the first point repeated at the end), as RFC 7946
section 3.1.6 closes its rings, so that "closed" can be checked by the database itself.
"""

from __future__ import annotations

from itertools import combinations, pairwise
from math import hypot
from typing import Any

Point = tuple[int, int]
Ring = list[list[int]]

FARTHEST_MM = 1_000_000
MOST_POINTS = 200


def as_points(value: Any, *, at_least: int, what: str) -> list[Point]:
    """Read `[[x, y], …]` of whole millimetres.

    Raises:
        ValueError: with a sentence, for anything else.
    """
    example = f"Give {what} as [[x, y], …] in whole millimetres"
    if not isinstance(value, list | tuple) or not at_least <= len(value) <= MOST_POINTS:
        raise ValueError(f"{example}, {at_least} to {MOST_POINTS} points.")
    points: list[Point] = []
    for item in value:
        good = (
            isinstance(item, list | tuple)
            and len(item) == 2
            and all(type(part) is int and abs(part) <= FARTHEST_MM for part in item)
        )
        if not good:
            raise ValueError(f"{example}, none farther than 1 km.")
        points.append((item[0], item[1]))
    return points


def closed_ring(value: Any) -> Ring:
    """The normal form of an outline: closed, counter-clockwise, without repeated points.

    Raises:
        ValueError: when it is no outline of a single piece of floor.
    """
    points = as_points(value, at_least=3, what="an outline")
    if points[0] == points[-1]:
        points.pop()
    if len(points) < 3 or len(set(points)) != len(points):
        raise ValueError("An outline needs three different corners, and each only once.")
    if crossing := first_crossing(points):
        raise ValueError(f"This outline crosses itself near ({crossing[0]}, {crossing[1]}) mm.")
    area = twice_signed_area(points)
    if area == 0:
        raise ValueError("This outline has no area.")
    if area < 0:
        points = [points[0], *reversed(points[1:])]
    return [list(point) for point in [*points, points[0]]]


def rectangle(width_mm: int, length_mm: int, corner: Point = (0, 0)) -> Ring:
    """A room by its width (along x) and length (along y)."""
    x, y = corner
    return closed_ring(
        [[x, y], [x + width_mm, y], [x + width_mm, y + length_mm], [x, y + length_mm]]
    )


def twice_signed_area(points: list[Point]) -> int:
    """Twice the shoelace area [mm²]: positive when counter-clockwise. Whole, so never rounded."""
    return sum(
        a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)
    )


def first_crossing(points: list[Point]) -> Point | None:
    """A corner near which two sides meet that should not, or None for a simple polygon."""
    count = len(points)
    sides = [(points[i], points[(i + 1) % count]) for i in range(count)]
    for (i, one), (j, two) in combinations(enumerate(sides), 2):
        if (j - i) % count in {1, count - 1}:
            shared, ends = (one[1], (one[0], two[1])) if j == i + 1 else (one[0], (one[1], two[0]))
            if turn(ends[0], shared, ends[1]) == 0 and folds_back(ends[0], shared, ends[1]):
                return shared
        elif segments_meet(one, two):
            return two[0]
    return None


def folds_back(before: Point, corner: Point, after: Point) -> bool:
    return (before[0] - corner[0]) * (after[0] - corner[0]) + (before[1] - corner[1]) * (
        after[1] - corner[1]
    ) > 0


def turn(a: Point, b: Point, c: Point) -> int:
    """Sign of the turn a → b → c: 1 left, -1 right, 0 straight."""
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return (cross > 0) - (cross < 0)


def segments_meet(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    """Whether two segments share a point, ends included."""
    (a, b), (c, d) = one, two
    turns = turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)
    if turns[0] != turns[1] and turns[2] != turns[3]:
        return True
    ends = ((turns[0], a, b, c), (turns[1], a, b, d), (turns[2], c, d, a), (turns[3], c, d, b))
    return any(way == 0 and in_box(p, q, r) for way, p, q, r in ends)


def in_box(a: Point, b: Point, p: Point) -> bool:
    return min(a[0], b[0]) <= p[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= p[1] <= max(a[1], b[1])


def inside(point: Point, ring: Ring) -> bool:
    """Whether a point lies in an outline, its edge included (crossing-number rule)."""
    crossings = 0
    for start, end in pairwise(ring):
        a, b = (start[0], start[1]), (end[0], end[1])
        side = turn(a, b, point)
        if side == 0 and in_box(a, b, point):
            return True
        if (a[1] > point[1]) != (b[1] > point[1]):
            crossings += side == (1 if b[1] > a[1] else -1)
    return crossings % 2 == 1


def distance_to_outline_mm(point: tuple[float, float], ring: Ring) -> float:
    """Distance from a point to an outline's edge [mm]."""
    return min(distance_to_segment_mm(point, (a[0], a[1]), (b[0], b[1])) for a, b in pairwise(ring))


def distance_to_segment_mm(point: tuple[float, float], a: Point, b: Point) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    length2 = dx * dx + dy * dy
    along = ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / length2 if length2 else 0.0
    along = min(1.0, max(0.0, along))
    return hypot(point[0] - a[0] - along * dx, point[1] - a[1] - along * dy)
