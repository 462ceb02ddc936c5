"""Boards named by their marks as areas that touch these boards and no others."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from apps.floors.shapes import GRAZE_MM, Outline

JOIN_MM = GRAZE_MM // 2
"""Boards that lie so close together are one area: less than what counts as touching another."""
STRAIGHT_MM = 1
"""Corners that turn by less than this are none."""


def patches(boards: Sequence[Outline]) -> list[Outline]:
    """The areas that a few boards make: one for those that lie beside each other.

    Boards around a hole are an area each, since an area has no hole; so are those that meet in a
    corner only.

    Args:
        boards: their outlines, closed rings [mm].

    Returns:
        Closed rings [mm], in the order of their lowest left corners.
    """
    shapes = [Polygon(board) for board in boards]
    grown = shapely.union_all([grow(shape, JOIN_MM / 2) for shape in shapes])
    joined = grow(grown, -JOIN_MM / 2)
    found: list[Outline] = []
    for part in getattr(joined, "geoms", [joined]):
        ring = rounded(part.simplify(STRAIGHT_MM))
        if not part.interiors and Polygon(ring).is_valid:
            found.append(ring)
        else:
            found += [rounded(one) for one in shapes if one.intersection(part).area > one.area / 2]
    return sorted(found, key=min)


def grow(shape: BaseGeometry, by_mm: float) -> BaseGeometry:
    return shape.buffer(by_mm, join_style="mitre")


def rounded(part: Polygon) -> Outline:
    return tuple((round(x), round(y)) for x, y in part.exterior.coords)
