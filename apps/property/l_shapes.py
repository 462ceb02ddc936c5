"""Rectangles and L-shaped rooms: made of what a tape says, and read back from their outlines."""

from __future__ import annotations

from itertools import pairwise

from apps.property.outlines import (
    Point,
    Ring,
    closed_ring,
    distance_to_outline_mm,
    inside,
)

CORNERS = ("top_right", "top_left", "bottom_right", "bottom_left")
"""Which corner of a rectangle is missing from an L, as one looks at the plan."""


def less_a_corner(
    width_mm: int, length_mm: int, cut: Point, missing: str, corner: Point = (0, 0)
) -> Ring:
    """A rectangle without a smaller one at one of its corners: an L-shaped room.

    Args:
        cut: width and length of what is missing [mm].
        missing: one of `CORNERS`.

    Raises:
        ValueError: when so much is missing that no L is left.
    """
    across, up = cut
    if not (0 < across < width_mm and 0 < up < length_mm):
        raise ValueError("What is missing must be smaller than the room, both ways.")
    x, y = corner
    left, right, low, high = x, x + width_mm, y, y + length_mm
    rings = {
        "bottom_left": [
            (left + across, low), (right, low), (right, high), (left, high),
            (left, low + up), (left + across, low + up),
        ],
        "bottom_right": [
            (left, low), (right - across, low), (right - across, low + up),
            (right, low + up), (right, high), (left, high),
        ],
        "top_right": [
            (left, low), (right, low), (right, high - up), (right - across, high - up),
            (right - across, high), (left, high),
        ],
        "top_left": [
            (left, low), (right, low), (right, high), (left + across, high),
            (left + across, high - up), (left, high - up),
        ],
    }  # fmt: skip
    return closed_ring(rings[missing])


def cut_of(ring: Ring) -> tuple[Point, str] | None:
    """What an L-shaped outline misses, and at which corner; None when it is no such shape."""
    xs, ys = sorted({x for x, _ in ring}), sorted({y for _, y in ring})
    if len(ring) != 7 or len(xs) != 3 or len(ys) != 3:
        return None
    corner, size = (xs[0], ys[0]), (xs[2] - xs[0], ys[2] - ys[0])
    found = {tuple(point) for point in ring}
    for across in (xs[1] - xs[0], xs[2] - xs[1]):
        for up in (ys[1] - ys[0], ys[2] - ys[1]):
            for missing in CORNERS:
                there = less_a_corner(*size, (across, up), missing, corner)
                if {tuple(point) for point in there} == found:
                    return (across, up), missing
    return None


def is_rectangle(ring: Ring) -> bool:
    """Whether an outline is a plain rectangle along the plan's axes."""
    return (
        len(ring) == 5 and len({x for x, _ in ring}) == 2 and len({y for _, y in ring}) == 2
    )  # fmt: skip


def boxes_of(ring: Ring) -> list[tuple[int, int, int, int]]:
    """Left, low, right, high of the rectangles that a rectangle or an L is made of; of any other
    shape the one around it."""
    xs, ys = sorted({x for x, _ in ring}), sorted({y for _, y in ring})
    cut = cut_of(ring)
    if cut is None:
        return [(xs[0], ys[0], xs[-1], ys[-1])]
    up, across = cut[1].split("_")
    gone = (xs[0] if across == "left" else xs[1], ys[0] if up == "bottom" else ys[1])
    return [
        (left, low, right, high)
        for left, right in pairwise(xs)
        for low, high in pairwise(ys)
        if (left, low) != gone
    ]


def overlap(one: Ring, other: Ring) -> bool:
    """Whether two outlines share more than an edge. Shapes other than rectangles and Ls are asked
    by their corners alone."""
    plain = [is_rectangle(ring) or cut_of(ring) is not None for ring in (one, other)]
    if all(plain):
        return any(
            a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
            for a in boxes_of(one)
            for b in boxes_of(other)
        )
    corners = [(point, ring) for points, ring in ((one, other), (other, one)) for point in points]
    return any(
        inside((x, y), ring) and distance_to_outline_mm((x, y), ring) > 0
        for (x, y), ring in corners
    )
