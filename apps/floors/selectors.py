"""Reads: a floor's rows as the shapes its geometry works on, and what that says of each board.

Everything here costs the same few queries for one floor as for many.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import asdict, dataclass
from typing import Any, cast

from django.db.models import Q, QuerySet

from apps.checks.decks import allowed_cantilever_mm, allowed_span_mm
from apps.floors import models, shapes
from apps.property.models import Doorway, Room
from renovation.kept import of_shapes

SHEET_MM = 300
"""Covers this wide or wider are sheets, whose spans depend on what they are made of."""

PIECE = re.compile(r"\.(\d{1,4})$")


@dataclass(frozen=True, slots=True)
class BoardFacts:
    """What is computed of a board: is it under a partition, do its joists carry it?"""

    trapped: bool
    supported: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class FloorShapes:
    """One floor's rows as shapes; `board_mm` is how thick its boards are, None for sheets."""

    outline: shapes.Outline
    boards: tuple[shapes.Board, ...]
    joists: tuple[shapes.Joist, ...]
    rooms: tuple[shapes.Room, ...]
    doorways: tuple[shapes.Doorway, ...]
    board_mm: int | None = None


def board_shape(board: models.Board, *, level: int) -> shapes.Board:
    """A board as a shape; its piece is the number behind the dot of its mark (B12.2: 2)."""
    piece = PIECE.search(board.mark)
    return shapes.Board(
        id=board.pk,
        mark=board.mark,
        course=board.course,
        piece=int(piece.group(1)) if piece else 1,
        outline=shapes.points(board.outline),
        state=cast("shapes.BoardState", board.state),
        storey=level,
    )


def joist_shape(joist: models.Joist) -> shapes.Joist:
    start, end = shapes.points(joist.line)
    return shapes.Joist(
        id=joist.pk,
        mark=joist.mark,
        line=(start, end),
        breadth_mm=joist.breadth_mm,
        condition=cast("shapes.JoistCondition", joist.condition),
        decayed=tuple((part["from_mm"], part["to_mm"]) for part in joist.decayed),
    )


def room_shape(room: Room, *, level: int) -> shapes.Room:
    return shapes.Room(room.pk, room.name, shapes.points(room.outline), level)


def doorway_shape(doorway: Doorway) -> shapes.Doorway:
    start, end = shapes.points(doorway.line)
    return shapes.Doorway(doorway.pk, doorway.room_a_id, doorway.room_b_id, (start, end))


def board_shapes(floor: models.Floor) -> tuple[shapes.Board, ...]:
    """The boards of a floor, in the order of their courses."""
    return tuple(board_shape(row, level=floor.storey.level) for row in floor.boards.all())


def floor_shapes(floor_ids: Collection[int]) -> dict[int, FloorShapes]:
    """Several floors with all that stands on them, by floor id, in five queries."""
    floors = models.Floor.objects.filter(pk__in=floor_ids).select_related("storey")
    boards = defaultdict(list)
    for board in models.Board.objects.filter(floor__in=floor_ids):
        boards[board.floor_id].append(board)
    joists = defaultdict(list)
    for joist in models.Joist.objects.filter(floor__in=floor_ids):
        joists[joist.floor_id].append(joist_shape(joist))
    rooms = defaultdict(list)
    for room in Room.objects.filter(storey__floors__in=floor_ids).distinct():
        rooms[room.storey_id].append(room)
    doorways = defaultdict(list)
    for doorway in doorways_on(room.pk for group in rooms.values() for room in group):
        doorways[doorway.room_a.storey_id].append(doorway_shape(doorway))
    return {
        floor.pk: FloorShapes(
            outline=shapes.points(floor.outline),
            boards=tuple(board_shape(b, level=floor.storey.level) for b in boards[floor.pk]),
            joists=tuple(joists[floor.pk]),
            rooms=tuple(room_shape(r, level=floor.storey.level) for r in rooms[floor.storey_id]),
            doorways=tuple(doorways[floor.storey_id]),
            board_mm=floor.board_thickness_mm if floor.board_cover_width_mm < SHEET_MM else None,
        )
        for floor in floors
    }


def doorways_on(room_ids: Iterable[int]) -> QuerySet[Doorway]:
    """Doorways of some rooms, with the room that says which storey they are on."""
    ids = list(room_ids)
    return Doorway.objects.filter(Q(room_a__in=ids) | Q(room_b__in=ids)).select_related("room_a")


def partitions(floor: models.Floor) -> tuple[shapes.Partition, ...]:
    """The stud partitions that stand on a floor's boards."""
    return partitions_of(floor_shapes([floor.pk])[floor.pk])


def trapped_ids(floor: models.Floor) -> frozenset[int]:
    """The boards that a partition stands on."""
    return trapped_of(floor_shapes([floor.pk])[floor.pk])


def support(floor: models.Floor) -> dict[int, shapes.Support]:
    """What each board rests on, by board id."""
    return support_of(floor_shapes([floor.pk])[floor.pk])


def board_facts(floor_ids: Collection[int]) -> dict[int, BoardFacts]:
    """What is computed of every board of some floors, by board id."""
    facts: dict[int, BoardFacts] = {}
    for floor in floor_shapes(floor_ids).values():
        trapped = trapped_of(floor)
        facts |= {
            key: BoardFacts(key in trapped, rests.supported, rests.sentence)
            for key, rests in support_of(floor).items()
        }
    return facts


def partitions_of(floor: FloorShapes) -> tuple[shapes.Partition, ...]:
    from apps.floors.partitions import partitions_from_rooms  # noqa: PLC0415 (shapely, 120 ms)

    return partitions_from_rooms(floor.outline, floor.rooms, floor.doorways)


def trapped_of(floor: FloorShapes) -> frozenset[int]:
    """The boards that a partition stands on, worked out once as long as nothing moves."""

    def work_out() -> list[int]:
        from apps.floors import geometry  # noqa: PLC0415 (shapely, 120 ms)

        return sorted(geometry.trapped(floor.boards, partitions_of(floor)))

    about = (floor.outline, floor.rooms, floor.doorways, lying(floor))
    return frozenset(of_shapes("trapped", about, work_out))


def support_of(floor: FloorShapes) -> dict[int, shapes.Support]:
    """What each board rests on, worked out once as long as no board or joist changes."""

    def work_out() -> list[dict[str, Any]]:
        from apps.floors import resting  # noqa: PLC0415 (shapely, 120 ms)

        if floor.board_mm is None:
            found = resting.support(floor.boards, floor.joists)
        else:
            free = allowed_cantilever_mm("boards", floor.board_mm)
            found = resting.support(
                floor.boards,
                floor.joists,
                overhang_mm=shapes.OVERHANG_MM if free is None else free,
                widest_mm=allowed_span_mm("boards", floor.board_mm),
            )
        return [asdict(row) for row in found.values()]

    rows = of_shapes("support", (floor.joists, floor.board_mm, lying(floor)), work_out)
    tuples = ("joist_ids", "lost_ids")
    return {
        row["board_id"]: shapes.Support(**{**row, **{name: tuple(row[name]) for name in tuples}})
        for row in rows
    }


def lying(floor: FloorShapes) -> list[tuple[int, str, int, int, shapes.Outline]]:
    """The boards as they lie or will lie again: whether one is up now does not matter."""
    return [(b.id, b.mark, b.course, b.piece, b.outline) for b in floor.boards]


def lifting(floor: models.Floor, wanted: Collection[int]) -> shapes.Lifting:
    """What comes up, in which order, for some boards to come up."""
    from apps.floors import tongues  # noqa: PLC0415 (shapely, 120 ms)

    shaped = floor_shapes([floor.pk])[floor.pk]
    edge = cast("shapes.BoardEdge", floor.board_edge)
    return tongues.lifting(shaped.boards, wanted, edge, trapped=trapped_of(shaped))


def laying(
    floor: models.Floor, wanted: Collection[int], *, held: Collection[int] = ()
) -> shapes.Laying:
    """Which boards go down, in which order, and which must wait for others."""
    from apps.floors import tongues  # noqa: PLC0415 (shapely, 120 ms)

    edge = cast("shapes.BoardEdge", floor.board_edge)
    return tongues.laying(board_shapes(floor), wanted, edge, held=held)


def why_trapped(floor: models.Floor, boards: Collection[models.Board]) -> list[str]:
    """For each board under a partition a sentence that names the rooms it parts."""
    from apps.floors import geometry  # noqa: PLC0415 (shapely, 120 ms)

    shaped = floor_shapes([floor.pk])[floor.pk]
    names = {room.id: room.name for room in shaped.rooms}
    asked = {board.pk for board in boards}
    said: dict[int, str] = {}
    for partition in partitions_of(shaped):
        rooms = [names[key] for key in partition.rooms if key is not None]
        between = f"between {rooms[0]} and {rooms[1]}" if len(rooms) > 1 else f"of {rooms[0]}"
        candidates = [board for board in shaped.boards if board.id in asked]
        for key in geometry.trapped(candidates, [partition]):
            said.setdefault(key, f"under the partition {between}")
    return [f"{board.mark} is {said[board.pk]}." for board in boards if board.pk in said]
