"""What lies beyond each wall of a void, from the floors beside it.

A neighbour's wall that runs along ours within a wall's thickness hides that stretch from
outside; a solid floor that reaches into the outline is infill.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import pairwise
from math import dist

from apps.checks.ventilation_void import Beyond, Line, Outline, Point, Wall

THICKEST_WALL_MM = 500
"""Floors farther apart than this have no wall in common (common practice, no source)."""

SHORTEST_MM = 300
"""A shorter stretch beside another floor is passed over (common practice, no source)."""


def walls_beside(
    outline: Outline, neighbours: Sequence[tuple[Outline, Beyond]], inside: Collection[int] = ()
) -> tuple[Wall, ...]:
    """The walls of an outline, cut where a neighbour begins or ends.

    Args:
        neighbours: outlines of other floors on the storey, and what each is to this void.
        inside: numbers of walls, from 1 at the first corner, that are no outer walls though
            no floor of the house lies beyond: party walls.
    """
    walls: list[Wall] = []
    for number, line in enumerate(pairwise(outline), start=1):
        if number in inside:
            walls.append(Wall(mark=f"wall {number}", line=line, beyond="inside"))
            continue
        pieces = cut_up(line, [(run, beyond) for other, beyond in neighbours
                               for run in shared_runs(line, other)])  # fmt: skip
        for part, (start, end, beyond) in enumerate(pieces, start=1):
            mark = f"wall {number}{f'.{part}' if len(pieces) > 1 else ''}"
            walls.append(Wall(mark=mark, line=(start, end), beyond=beyond))
    return tuple(walls)


def shared_runs(line: Line, other: Outline) -> list[tuple[float, float]]:
    """Stretches of a line [mm from its start] that a neighbour's walls run along, outside it."""
    (ax, ay), (bx, by) = line
    length = dist(*line)
    ux, uy = (bx - ax) / length, (by - ay) / length
    runs = []
    for (cx, cy), (dx, dy) in pairwise(other):
        along = [(x - ax) * ux + (y - ay) * uy for x, y in ((cx, cy), (dx, dy))]
        # Outlines run counter-clockwise, so outside is to the right of a wall.
        off = [(x - ax) * uy - (y - ay) * ux for x, y in ((cx, cy), (dx, dy))]
        opposite = along[0] > along[1]
        near = all(-1 <= far <= THICKEST_WALL_MM for far in off)
        low, high = max(0.0, min(along)), min(length, max(along))
        if opposite and near and high - low >= SHORTEST_MM:
            runs.append((low, high))
    return runs


def cut_up(
    line: Line, runs: Sequence[tuple[tuple[float, float], Beyond]]
) -> list[tuple[Point, Point, Beyond]]:
    """A line in pieces: what a neighbour hides, and what is open to outside."""
    length = dist(*line)
    cuts = sorted({0.0, length, *(at for run, _ in runs for at in run)})
    # Slivers between two neighbours are not worth a wall of their own.
    cuts = [at for n, at in enumerate(cuts) if n in {0, len(cuts) - 1} or near_none(at, cuts[:n])]
    if len(cuts) > 2 and cuts[-1] - cuts[-2] < SHORTEST_MM:
        del cuts[-2]
    pieces = []
    for start, end in pairwise(cuts):
        middle = (start + end) / 2
        beyond: Beyond = next((kind for (a, b), kind in runs if a <= middle <= b), "outside")
        pieces.append((point_at(line, start), point_at(line, end), beyond))
    return pieces


def near_none(at: float, kept: Sequence[float]) -> bool:
    return all(at - other >= SHORTEST_MM for other in kept)


def point_at(line: Line, along_mm: float) -> Point:
    (ax, ay), (bx, by) = line
    share = along_mm / dist(*line)
    return round(ax + share * (bx - ax)), round(ay + share * (by - ay))


def reaches_into(outline: Outline, other: Outline) -> bool:
    """Whether another outline has its middle within this one: solid infill in a void."""
    x = sum(point[0] for point in other[:-1]) / (len(other) - 1)
    y = sum(point[1] for point in other[:-1]) / (len(other) - 1)
    within = False
    for (ax, ay), (bx, by) in pairwise(outline):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            within = not within
    return within
