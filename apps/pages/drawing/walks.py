"""The line a household route is walked along: the shortest that keeps clear of the walls."""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import count

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from apps.floors.cells import standing
from apps.floors.shapes import Ground, Polyline, Way

EVEN_MM = 30
"""Corners of the free floor are rounded; so much of the rounding is left out."""


def walk(ground: Ground, way: Way) -> Polyline:
    """The shortest line for somebody `width_mm` wide with every board down; empty without one.

    Args:
        ground: rooms and doorways; boards are not looked at.
        way: an end without a point is taken in the middle of where it may be.

    Raises:
        ValueError: as `apps.floors.cells.standing`.
    """
    place = standing(ground, way)
    if place.free.is_empty or place.starts.is_empty or place.ends.is_empty:
        return ()
    ends = [part.representative_point() for part in shapely.get_parts(place.ends)]
    # A start anywhere in a room is drawn from its middle; of several ends the nearest is taken.
    start = middle_of(place.starts)
    lines = [found for end in ends if (found := shortest(place.free, start, end))]
    return min(lines, key=length_of, default=())


def middle_of(place: BaseGeometry) -> BaseGeometry:
    parts: list[BaseGeometry] = shapely.get_parts(place).tolist()
    largest = max(parts, key=lambda part: part.area)
    return largest.centroid if largest.covers(largest.centroid) else largest.representative_point()


def shortest(free: BaseGeometry, start: BaseGeometry, end: BaseGeometry) -> Polyline:
    """The shortest line inside `free`: over its corners, each leg in sight of the next."""
    spots = np.vstack(
        [
            shapely.get_coordinates(start),
            shapely.get_coordinates(end),
            turns(free.simplify(EVEN_MM)),
        ]
    )
    # Simplified edges may cut a rounded corner by what was left out.
    seen = seen_from(spots, free.buffer(EVEN_MM + 2))
    gaps = np.hypot(*(spots[:, None] - spots[None, :]).transpose(2, 0, 1))
    return tuple(
        (round(x), round(y)) for x, y in spots[shortest_chain(gaps, seen)].tolist()
    )  # fmt: skip


def turns(free: BaseGeometry) -> np.ndarray:
    """The corners of a floor that a shortest line can turn at: those that stand into it."""
    found = [np.empty((0, 2))]
    for part in shapely.get_parts(shapely.normalize(free)).tolist():
        # Walked round with the floor on the left, a corner to turn at bends to the right.
        for ring, wanted in [(part.exterior, True), *((hole, False) for hole in part.interiors)]:
            corners = shapely.get_coordinates(ring if ring.is_ccw == wanted else ring.reverse())[
                :-1
            ]
            before, after = (
                corners - np.roll(corners, 1, axis=0),
                np.roll(corners, -1, axis=0) - corners,
            )
            bend = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
            found.append(corners[bend < 0])
    return np.vstack(found)


def seen_from(spots: np.ndarray, free: BaseGeometry) -> np.ndarray:
    """Which spots lie in sight of which, as a square of booleans."""
    first, second = np.triu_indices(len(spots), 1)
    legs = shapely.linestrings(np.stack([spots[first], spots[second]], axis=1))
    shapely.prepare(free)
    clear = shapely.covers(free, legs)
    seen = np.zeros((len(spots), len(spots)), dtype=bool)
    seen[first, second] = seen[second, first] = clear
    return seen


def shortest_chain(gaps: np.ndarray, seen: np.ndarray) -> list[int]:
    """Dijkstra's method from spot 0 to spot 1; empty where no chain leads there."""
    turn = count()
    to_do: list[tuple[float, int, int, int]] = [(0.0, next(turn), 0, -1)]
    came_from: dict[int, int] = {}
    while to_do:
        far, _, here, before = heappop(to_do)
        if here in came_from:
            continue
        came_from[here] = before
        if here == 1:
            break
        for there in np.flatnonzero(seen[here]).tolist():
            if there not in came_from:
                heappush(to_do, (far + float(gaps[here, there]), next(turn), there, here))
    chain: list[int] = []
    here = 1 if 1 in came_from else -1
    while here >= 0:
        chain.append(here)
        here = came_from[here]
    return chain[::-1]


def length_of(line: Polyline) -> float:
    steps = np.diff(np.array(line, dtype=float), axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())
