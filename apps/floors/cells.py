"""Where somebody can stand on the way through a storey, cut into cells that boards close.

Somebody `width_mm` wide is a disc. Its middle may be wherever the disc meets no wall. A board
that is up, missing or unsupported closes every place where the disc would reach over it: the
board grown by half the width. The outlines of all grown boards cut the free places into
cells; within a cell the same boards are in the way everywhere. Laying boards opens exactly
the cells that no other board closes, so a way is a chain of open cells that share an edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from apps.floors.geometry import HAIR_MM, Shapes, polygons
from apps.floors.shapes import Board, Doorway, Ground, Room, Way, mark_order

WALL_MM = 500
"""A doorway leads through a wall no thicker than this, a solid outer wall included."""

INTO_ROOM_MM = 20
SLIT_MM = 0.5
TOLERANCE_MM = 1.0
"""Half the width is taken this much smaller: an opening of exactly the width lets one through."""


@dataclass(frozen=True, slots=True)
class Cells:
    """Cells of a storey as a graph.

    Attributes:
        boards: those that close cells, in mark order; bit i of a mask stands for boards[i].
        closed_by: for each cell the mask of the boards that close it.
        beside: for each cell the cells it shares an edge with.
        starts, ends: cells where the way may begin and end.
    """

    boards: tuple[Board, ...]
    closed_by: tuple[int, ...]
    beside: tuple[tuple[int, ...], ...]
    starts: frozenset[int]
    ends: frozenset[int]


@dataclass(frozen=True, slots=True)
class Standing:
    """Where somebody's middle may be on a storey, and where the way begins and ends there."""

    free: BaseGeometry
    starts: BaseGeometry
    ends: BaseGeometry
    storey: int


def cells(ground: Ground, way: Way) -> Cells:
    """Cut the storey of a way into cells.

    A point of the way that lies too near a wall to stand at is moved to the nearest place
    of its room where one can stand when every board is down. Without a point the way begins
    or ends anywhere in the room, outside at any doorway that leads there.

    Raises:
        ValueError: a room of the way is not in the ground, both are on different storeys,
            or the width is not above 0.
    """
    place = standing(ground, way)
    free, starts, ends = place.free, place.starts, place.ends
    useful = [
        part
        for part in shapely.get_parts(free)
        if shapely.dwithin(part, starts, HAIR_MM) and shapely.dwithin(part, ends, HAIR_MM)
    ]
    closing = sorted(
        (
            board
            for board in ground.boards
            if board.storey == place.storey
            and (board.state in {"up", "missing"} or board.id in ground.unsupported)
        ),
        key=mark_order,
    )
    radius = way.width_mm / 2 - TOLERANCE_MM
    return _cut(shapely.union_all(useful), closing, radius, starts, ends)


def standing(ground: Ground, way: Way) -> Standing:
    """Where the middle of somebody may be with every board down, and the ends of the way there.

    Raises:
        ValueError: as `cells`.
    """
    start_room, end_room = _rooms(ground, way)
    rooms = {room.id: room for room in ground.rooms if room.storey == start_room.storey}
    doorways = [
        door
        for door in ground.doorways
        if door.room_a in rooms and (door.room_b is None or door.room_b in rooms)
    ]
    free = _free(rooms, doorways, way.width_mm / 2 - TOLERANCE_MM)
    starts = _place(free, start_room, way.from_point)
    if end_room is not None:
        ends = _place(free, end_room, way.to_point)
    else:
        outer = [LineString(door.line) for door in doorways if door.room_b is None]
        ends = free.intersection(shapely.union_all(outer))
    return Standing(free, starts, ends, start_room.storey)


def _rooms(ground: Ground, way: Way) -> tuple[Room, Room | None]:
    if way.width_mm <= 2 * TOLERANCE_MM:
        raise ValueError("Give the width of the way in millimetres above 2.")
    by_id = {room.id: room for room in ground.rooms}
    for key in (way.from_room, way.to_room):
        if key is not None and key not in by_id:
            raise ValueError(f"The way names a room ({key}) that is not there.")
    start = by_id[way.from_room]
    end = None if way.to_room is None else by_id[way.to_room]
    if end is not None and end.storey != start.storey:
        raise ValueError(
            f"{start.name} and {end.name} are on different storeys: "
            "give one way on each, to and from the stair."
        )
    return start, end


def _free(rooms: dict[int, Room], doorways: Sequence[Doorway], radius: float) -> BaseGeometry:
    """Where the middle of the disc may be with every board down.

    Rooms may be drawn wall face to wall face or share their sides; either way a wall stays
    a wall except where a doorway leads through it.
    """
    shapes = {room.id: Polygon(room.outline) for room in rooms.values()}
    passages = [passage for door in doorways for passage in _passage(door, shapes, radius)]
    openings = shapely.union_all(passages)
    walls = shapely.union_all([shape.exterior for shape in shapes.values()]).difference(openings)
    floor = shapely.union_all([*shapes.values(), openings])
    return floor.difference(walls.buffer(SLIT_MM, cap_style="flat")).buffer(-radius)


def _passage(door: Doorway, shapes: dict[int, Polygon], radius: float) -> list[BaseGeometry]:
    """The floor of a doorway through its wall, a little into both rooms; none if it leads nowhere.

    To the outside it goes on by half the width, so that one can stand in the doorway itself.
    """
    (ax, ay), (bx, by) = door.line
    length = hypot(bx - ax, by - ay)
    normal = ((by - ay) / length, (ax - bx) / length)
    inside = shapes[door.room_a]
    found: list[tuple[float, float, float]] = []
    for side in (1.0, -1.0):
        near = _reach(door, normal, side, inside)
        far = radius if door.room_b is None else _reach(door, normal, -side, shapes[door.room_b])
        if near is not None and far is not None:
            found.append((near + far, side * (near + INTO_ROOM_MM), -side * (far + INTO_ROOM_MM)))
    if not found:
        return []
    _, near, far = min(found, key=lambda f: f[0])
    corners = [
        (x + normal[0] * out, y + normal[1] * out)
        for (x, y), out in zip((*door.line, *door.line[::-1]), (near, near, far, far), strict=True)
    ]
    passage: BaseGeometry = Polygon(corners)
    if door.room_b is None:
        others = [shape for key, shape in shapes.items() if key != door.room_a]
        passage = passage.difference(shapely.union_all(others))
    return [passage]


def _reach(door: Doorway, normal: tuple[float, float], side: float, room: Polygon) -> float | None:
    """How far from the doorway's middle the room begins on one side [mm]."""
    (ax, ay), (bx, by) = door.line
    x, y = (ax + bx) / 2, (ay + by) / 2
    ahead = LineString([(x, y), (x + side * normal[0] * WALL_MM, y + side * normal[1] * WALL_MM)])
    met = ahead.intersection(room)
    return None if met.length < INTO_ROOM_MM else float(met.distance(Point(x, y)))


def _place(free: BaseGeometry, room: Room, point: tuple[int, int] | None) -> BaseGeometry:
    """Where in a room the way begins or ends."""
    here = free.intersection(Polygon(room.outline))
    if point is None or here.is_empty:
        return here
    return shapely.shortest_line(here, Point(point)).interpolate(0)


def _cut(
    free: BaseGeometry,
    boards: Sequence[Board],
    radius: float,
    starts: BaseGeometry,
    ends: BaseGeometry,
) -> Cells:
    grown: Shapes = shapely.buffer(polygons([b.outline for b in boards]), radius, quad_segs=8)
    met = np.flatnonzero(shapely.intersects(grown, free))
    boards, grown = [boards[count] for count in met.tolist()], grown[met]
    # Whole outlines, so that every crossing becomes a corner: lines cut off at the edge of the
    # free places end a hair beside it, and a net with gaps has no faces.
    edges: Shapes = shapely.boundary(grown)
    net = shapely.union_all([free.boundary, *edges])
    faces: Shapes = shapely.get_parts(shapely.polygonize([net]))
    inner: Shapes = shapely.point_on_surface(faces)
    in_free = shapely.intersects(inner, free)
    faces, inner = faces[in_free], inner[in_free]
    closed_by = [0] * len(faces)
    pairs: Shapes = STRtree(grown).query(inner, predicate="within")
    for face, board in zip(*pairs.tolist(), strict=True):
        closed_by[face] |= 1 << board
    return Cells(
        boards=tuple(boards),
        closed_by=tuple(closed_by),
        beside=_beside(faces),
        starts=_touching(faces, starts),
        ends=_touching(faces, ends),
    )


def _touching(faces: Shapes, place: BaseGeometry) -> frozenset[int]:
    return frozenset(np.flatnonzero(shapely.dwithin(faces, place, HAIR_MM)).tolist())


def _beside(faces: Shapes) -> tuple[tuple[int, ...], ...]:
    """Faces that share an edge. Cut from one net of lines, they share its very corners."""
    owner: dict[frozenset[tuple[float, float]], int] = {}
    beside: list[set[int]] = [set() for _ in faces]
    for count, face in enumerate(faces):
        for ring in (face.exterior, *face.interiors):
            corners = list(ring.coords)
            for edge in map(frozenset, pairwise(corners)):
                other = owner.setdefault(edge, count)
                if other != count:
                    beside[count].add(other)
                    beside[other].add(count)
    return tuple(tuple(sorted(others)) for others in beside)
