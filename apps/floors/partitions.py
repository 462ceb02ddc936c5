"""Where old stud partitions stand on the boards, read from the rooms' outlines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from apps.floors.shapes import WALL_GAP_MM, Doorway, Outline, Partition, Point, Room

PARTITION_MM = 100
"""Thickness of a stud partition with plaster both sides (common practice, no source)."""

MASONRY_MM = 450
"""Rooms with more than this between them have something else there than a wall."""

SHORTEST_MM = 20
PARALLEL = 0.02
"""Greatest sine between two lines that count as parallel: about one degree."""

PARALLEL_DOORWAY = 0.2
"""Doorways are drawn by hand: about eleven degrees."""


@dataclass(frozen=True, slots=True)
class _Face:
    """One side of a room, with its length and unit vectors along it and out of the room."""

    room: Room
    start: Point
    length: float
    along: tuple[float, float]
    outward: tuple[float, float]

    def seen(self, point: Point) -> tuple[float, float]:
        """A point's distance along this face, and out of the room [mm]."""
        dx, dy = point[0] - self.start[0], point[1] - self.start[1]
        return (
            dx * self.along[0] + dy * self.along[1],
            dx * self.outward[0] + dy * self.outward[1],
        )

    def place(self, along: float, out: float) -> tuple[float, float]:
        return (
            self.start[0] + along * self.along[0] + out * self.outward[0],
            self.start[1] + along * self.along[1] + out * self.outward[1],
        )


def partitions_from_rooms(
    floor_outline: Outline,
    rooms: Sequence[Room],
    doorways: Sequence[Doorway],
    *,
    wall_gap_mm: int = WALL_GAP_MM,
    partition_mm: int = PARTITION_MM,
) -> tuple[Partition, ...]:
    """Partitions that stand on the boards of one floor.

    Two rooms whose sides face each other at `wall_gap_mm` or less have a partition between
    them: its thickness is the gap, or `partition_mm` if they share the side. A wider gap, up
    to 450 mm, is a masonry wall, which stands on no boards. A side with no room beyond it and
    farther than `wall_gap_mm` inside the floor is a partition too (a cupboard nobody drew),
    `partition_mm` thick, outside its room. Doorways between the two rooms are left open.
    Lines along the floor's own edge are its outer walls: masonry again.

    Args:
        rooms: those of the floor's storey, outlines in normal form.

    Limits: straight walls; sides count as parallel within about a degree.
    """
    floor = Polygon(floor_outline)
    faces = [face for room in rooms for face in _faces(room)]
    found: list[Partition] = []
    for face in faces:
        alone: BaseGeometry = _straight(face, 0, face.length, 0)
        for other in faces:
            if other.room.id == face.room.id or (gap := _gap(face, other, MASONRY_MM)) is None:
                continue
            start, end, out = gap
            alone = alone.difference(_band(face, start - out, end + out, 1.0))
            if face.room.id < other.room.id and out <= wall_gap_mm:
                # Half the gap further, so that walls meet where three rooms do.
                line = _straight(face, start - out / 2, end + out / 2, out / 2)
                inside = line.intersection(floor).difference(_along(face, floor, 1.0))
                inside = _open(inside, face, other.room.id, doorways)
                thickness = round(out) or partition_mm
                found += _partitions(inside, thickness, (face.room.id, other.room.id))
        for part in _lines(alone.difference(_along(face, floor, wall_gap_mm)).intersection(floor)):
            start, end = sorted(face.seen(_whole(end))[0] for end in part.coords)
            line = _straight(face, start, end, partition_mm / 2)
            inside = _open(line.intersection(floor), face, None, doorways)
            found += _partitions(inside, partition_mm, (face.room.id, None))
    return tuple(sorted(found, key=lambda p: (p.rooms[0], p.rooms[1] or 0, p.line)))


def _faces(room: Room) -> Iterator[_Face]:
    for a, b in pairwise(room.outline):
        length = hypot(b[0] - a[0], b[1] - a[1])
        dx, dy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        # Counter-clockwise: the room lies left of its sides, outward is right.
        yield _Face(room, a, length, (dx, dy), (dy, -dx))


def _gap(face: _Face, other: _Face, widest: float) -> tuple[float, float, float] | None:
    """Where another room's side faces this one: from, to along it, and how far out [mm]."""
    facing = face.along[0] * other.along[0] + face.along[1] * other.along[1]
    sine = face.along[0] * other.along[1] - face.along[1] * other.along[0]
    if facing > 0 or abs(sine) > PARALLEL:
        return None
    far = other.place(other.length, 0)
    (a, out_a), (b, out_b) = face.seen(other.start), face.seen(_whole(far))
    start, end, out = max(0.0, min(a, b)), min(face.length, max(a, b)), (out_a + out_b) / 2
    if end - start < SHORTEST_MM or not -1 <= out <= widest:
        return None
    return start, end, max(0.0, out)


def _straight(face: _Face, start: float, end: float, out: float) -> LineString:
    return LineString([face.place(start, out), face.place(end, out)])


def _band(face: _Face, start: float, end: float, half: float) -> BaseGeometry:
    return _straight(face, start, end, 0).buffer(half, cap_style="flat")


def _along(face: _Face, floor: Polygon, within: float) -> BaseGeometry:
    """Everything this near the floor's own sides, of those that run the way a face does."""
    corners = list(floor.exterior.coords)
    return shapely.union_all(
        [
            LineString(side).buffer(within, cap_style="flat")
            for side in pairwise(corners)
            if abs(_sine(face, *side)) <= PARALLEL
        ]
    )


def _open(
    line: BaseGeometry, face: _Face, beyond: int | None, doorways: Sequence[Doorway]
) -> BaseGeometry:
    """Leave out the doorways between this face's room and the one beyond."""
    for doorway in doorways:
        if {doorway.room_a, doorway.room_b} == {face.room.id, beyond}:
            (a, out), (b, _) = (face.seen(end) for end in doorway.line)
            if (
                abs(_sine(face, *doorway.line)) < PARALLEL_DOORWAY
                and -WALL_GAP_MM <= out <= 2 * WALL_GAP_MM
            ):
                opening = _straight(face, min(a, b), max(a, b), 0)
                line = line.difference(opening.buffer(3 * WALL_GAP_MM, cap_style="flat"))
    return line


def _sine(face: _Face, a: tuple[float, ...], b: tuple[float, ...]) -> float:
    """Of the angle between a face and a line."""
    along, up = face.along
    return (along * (b[1] - a[1]) - up * (b[0] - a[0])) / hypot(b[0] - a[0], b[1] - a[1])


def _partitions(
    shape: BaseGeometry, thickness_mm: int, rooms: tuple[int, int | None]
) -> list[Partition]:
    lines = [(_whole(part.coords[0]), _whole(part.coords[-1])) for part in _lines(shape)]
    return [
        Partition((min(line), max(line)), thickness_mm, rooms)
        for line in lines
        if line[0] != line[1]
    ]


def _lines(shape: BaseGeometry) -> list[LineString]:
    return [
        part
        for part in shapely.get_parts(shape)
        if isinstance(part, LineString) and part.length >= SHORTEST_MM / 2
    ]


def _whole(place: tuple[float, ...]) -> Point:
    return round(place[0]), round(place[1])
