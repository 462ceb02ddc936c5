"""What the geometry of a floor works on: points, boards, joists, rooms, ways. No computation.

Standard library only, so that models and API may import it. Lengths are whole millimetres;
x and y are those of the storey's plan. An `Outline` has the normal form of
`apps.property.outlines.closed_ring`, as tuples: counter-clockwise, first point repeated as the
last. Ids are the caller's; marks are for people.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

Point = tuple[int, int]
Line = tuple[Point, Point]
Outline = tuple[Point, ...]
Polyline = tuple[Point, ...]

BoardState = Literal["fixed", "loose", "up", "missing"]
BoardEdge = Literal["square", "tongued"]
JoistCondition = Literal["sound", "suspect", "decayed", "new", "missing"]

CLEARANCE_MM = 150
"""Working room each side of a pipe or cable run (common practice, no source)."""

GRAZE_MM = 10
"""A board entered by less than this is only grazed and stays down (common practice, no source)."""

WALL_GAP_MM = 150
"""Rooms this near each other share one partition (common practice, no source)."""


BEARING_MM = 20
"""Length of board on a joist that counts as resting (common practice, no source)."""

OVERHANG_MM = 150
"""A board's end may hang free this far beyond its last joist (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Board:
    """One board where it lies, or where it lay and will lie again when it is up or missing.

    `course` counts from the corner the set-out started at, `piece` along the course.
    `storey` keeps floors that lie above each other apart when ways are sought. `floor` names
    the floor in sentences about several: marks count anew on each.
    """

    id: int
    mark: str
    course: int
    piece: int
    outline: Outline
    state: BoardState = "fixed"
    storey: int = 0
    floor: str = ""


@dataclass(frozen=True, slots=True)
class Joist:
    """One joist: its centre line, and where it no longer carries.

    `decayed` are stretches (from_mm, to_mm) along `line` from its first point. Condition
    `decayed` without any stretch means decayed all along; `missing` carries nothing. A
    `suspect` joist still counts: suspicion is a finding to follow up, not a loss of support.
    """

    id: int
    mark: str
    line: Line
    breadth_mm: int
    condition: JoistCondition = "sound"
    decayed: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Room:
    """A room's walkable outline, wall face to wall face."""

    id: int
    name: str
    outline: Outline
    storey: int = 0


@dataclass(frozen=True, slots=True)
class Doorway:
    """The clear opening between two rooms, or to the outside (`room_b` None).

    `line` runs from jamb to jamb; its length is the clear width. It may lie on either wall
    face or between them.
    """

    id: int
    room_a: int
    room_b: int | None
    line: Line


@dataclass(frozen=True, slots=True)
class SetJoist:
    """A joist as set out: mark `J3`, or `J3a`, `J3b` where the outline breaks it."""

    mark: str
    line: Line


@dataclass(frozen=True, slots=True)
class SetBoard:
    """A board as set out: mark `B<course>.<piece>`, its outline on the plan."""

    mark: str
    course: int
    piece: int
    outline: Outline


@dataclass(frozen=True, slots=True)
class SetOut:
    """Joists and boards over one outline; `corner` is where the marks count from."""

    corner: Point
    joists: tuple[SetJoist, ...]
    boards: tuple[SetBoard, ...]


@dataclass(frozen=True, slots=True)
class Partition:
    """A stud partition that stands on the boards: centre line, thickness, the rooms it parts.

    `rooms` are the two room ids, least first; the second is None where no room is recorded
    on the other side.
    """

    line: Line
    thickness_mm: int
    rooms: tuple[int, int | None]


@dataclass(frozen=True, slots=True)
class Support:
    """What one board rests on.

    Attributes:
        joist_ids: sound joists under it, in the order along the board.
        lost_ids: joists that cross it and do not carry it there.
        overhang_mm: longest end beyond its outermost sound joist (0 without one).
        span_mm: widest gap between neighbouring sound joists, centre to centre (0 below two).
            Whether the board carries that far is the board-span check, not decided here.
        supported: rests on two sound joists or more and overhangs no more than the limit.
        sentence: the same for a person.
    """

    board_id: int
    joist_ids: tuple[int, ...]
    lost_ids: tuple[int, ...]
    overhang_mm: int
    span_mm: int
    supported: bool
    sentence: str

    @property
    def sound_count(self) -> int:
        return len(self.joist_ids)


@dataclass(frozen=True, slots=True)
class Lifting:
    """How wanted boards come up.

    Attributes:
        order: every board to lift, first one first: wanted and extra.
        extra_ids: boards not wanted that must come up first because of their tongues.
        cut_ids: wanted boards whose tongue could be cut along instead, sparing every extra.
        trapped_ids: boards of `order` that a partition stands on.
        sentence: the same for a person.
    """

    order: tuple[int, ...]
    extra_ids: tuple[int, ...]
    cut_ids: tuple[int, ...]
    trapped_ids: tuple[int, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Laying:
    """How boards go down: `order` may, first one first; `waiting` must wait, for which boards.

    `waiting` maps a board id to the ids of the boards that have to lie before it.
    """

    order: tuple[int, ...]
    waiting: dict[int, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Ground:
    """Everything there is to walk on in a house, as it stands at one moment.

    May hold all storeys; a way only meets those rooms and boards that are on its own.

    `unsupported` are ids of boards not safe to step on whatever their state
    (`Support.supported` is false). Boards that are down and not named there only confirm
    the room's own ground, so they may be left out.
    """

    rooms: tuple[Room, ...]
    doorways: tuple[Doorway, ...]
    boards: tuple[Board, ...]
    unsupported: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Way:
    """A household route: from a room to a room, or outside (`to_room` None).

    A point names the place in the room (a bed, a basin); without it any place in the
    room will do.
    """

    from_room: int
    to_room: int | None
    width_mm: int = 600
    from_point: Point | None = None
    to_point: Point | None = None


@dataclass(frozen=True, slots=True)
class RouteState:
    """Whether a way holds; if not, the boards that cut it, in mark order."""

    holds: bool
    cut_by: tuple[int, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Bridge:
    """The fewest boards that restore a way.

    Attributes:
        possible: False: no way of that width even with every board down.
        lay_ids: supported boards that are up, to lay loose; empty if the way holds already.
        deck_ids: places of missing or unsupported boards that need a temporary deck as well;
            empty unless laying boards alone cannot do it.
        sentence: the same for a person.
    """

    possible: bool
    lay_ids: tuple[int, ...]
    deck_ids: tuple[int, ...]
    sentence: str


def mark_order(board: Board) -> tuple[int, int, int, int]:
    """Sort key that orders boards as a person reads their marks: B2.1 before B10.1."""
    return (board.storey, board.course, board.piece, board.id)


def points(pairs: Iterable[Sequence[int]]) -> tuple[Point, ...]:
    """Points from the lists they are stored as."""
    return tuple((x, y) for x, y in pairs)
