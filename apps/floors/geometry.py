"""Which boards an area or a route touches, and which are trapped under partitions.

Points in, ids out; lengths in whole mm. The only thresholds are arguments, with their
defaults in `apps.floors.shapes`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from apps.floors.shapes import (
    CLEARANCE_MM,
    GRAZE_MM,
    Board,
    Outline,
    Partition,
    Polyline,
    mark_order,
)

Shapes = Any
"""A numpy array of shapely geometries; numpy has no type for it."""

HAIR_MM = 0.01
"""So that exactly the threshold counts as reached."""


@dataclass(frozen=True, slots=True)
class Laid:
    """Boards made ready to be asked for many places: ids in the order of the marks, outlines."""

    ids: tuple[int, ...]
    shapes: Shapes
    tree: STRtree


def laid(boards: Sequence[Board]) -> Laid:
    """Make boards ready for `touched`, once for all its places."""
    ordered = sorted(boards, key=mark_order)
    shapes = polygons([board.outline for board in ordered])
    return Laid(tuple(board.id for board in ordered), shapes, STRtree(shapes))


def touched(
    boards: Sequence[Board] | Laid,
    *,
    area: Outline | None = None,
    route: Polyline | None = None,
    clearance_mm: int = CLEARANCE_MM,
    graze_mm: int = GRAZE_MM,
) -> tuple[int, ...]:
    """Boards that must come up to work in an area or along a route.

    The zone is the area itself, without clearance; or everything within `clearance_mm` of the
    route, its ends included (a single point is a round hole). A line has no width: clearance
    below half of `graze_mm` counts as that half, so a board that a route crosses is touched.

    A board is touched if its overlap with the zone is somewhere `graze_mm` wide or wider
    (a disc of that diameter fits in), or if half of the board or more lies in the zone (a
    ripped board narrower than the graze).

    Returns:
        Ids in the order of the marks.

    Raises:
        ValueError: not exactly one of `area` and `route`, or a negative figure.
    """
    if (area is None) == (route is None):
        raise ValueError("Give either an area or a route.")
    if clearance_mm < 0 or graze_mm < 0:
        raise ValueError("Clearance and graze are 0 mm or more.")
    if area is not None:
        zone: BaseGeometry = Polygon(area)
    else:
        zone = _line(route or ()).buffer(max(clearance_mm, graze_mm / 2))
    return _entered(boards, zone, graze_mm)


def trapped(
    boards: Sequence[Board], partitions: Sequence[Partition], *, graze_mm: int = GRAZE_MM
) -> tuple[int, ...]:
    """Boards that a partition stands on: they do not come up in one piece.

    A board counts if the partition covers it to a width of `graze_mm` or more, as `touched`.

    Returns:
        Ids in the order of the marks.
    """
    feet = [
        LineString(p.line).buffer(max(p.thickness_mm, graze_mm) / 2, cap_style="flat")
        for p in partitions
    ]
    return _entered(boards, shapely.union_all(feet), graze_mm)


def polygons(outlines: Sequence[Outline]) -> Shapes:
    """Outlines as an array of polygons, built in one go."""
    sizes = [len(outline) for outline in outlines]
    corners = np.array([point for outline in outlines for point in outline], dtype=float)
    rings = shapely.linearrings(
        corners.reshape(-1, 2), indices=np.repeat(np.arange(len(outlines)), sizes)
    )
    return shapely.polygons(rings)


def _line(route: Polyline) -> BaseGeometry:
    return LineString(route) if len(set(route)) > 1 else Point(route[0])


def _entered(
    boards: Sequence[Board] | Laid, zone: BaseGeometry, graze_mm: float
) -> tuple[int, ...]:
    """Ids of boards that a zone enters by more than a graze."""
    if not isinstance(boards, Laid):
        if not boards:
            return ()
        boards = laid(boards)
    near = np.sort(boards.tree.query(zone, predicate="intersects"))
    whole = boards.shapes[near]
    overlap = shapely.intersection(whole, zone)
    core = shapely.buffer(overlap, -max(graze_mm / 2 - HAIR_MM, HAIR_MM), join_style="mitre")
    half = shapely.area(overlap) >= shapely.area(whole) / 2
    entered = near[~shapely.is_empty(core) | half]
    return tuple(boards.ids[count] for count in entered.tolist())
