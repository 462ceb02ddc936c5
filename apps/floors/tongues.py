"""In which order tongued boards come up and go down.

The convention: courses are laid in ascending order, each board's groove pushed over the tongue
of the course before, its own tongue facing the next course. So a board comes up only when
nothing of the next course holds its tongue, and goes down only before the next course does.
Board ends are square. Boards with square edges depend on no neighbour.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

import shapely
from shapely import STRtree

from apps.floors.geometry import Shapes, polygons
from apps.floors.shapes import GRAZE_MM, Board, BoardEdge, Laying, Lifting, mark_order
from apps.floors.words import listed

BESIDE_MM = 3.0
"""Edges no farther apart than this are engaged; rounding to whole mm opens joints by 1 to 2."""


def lifting(
    boards: Sequence[Board],
    wanted: Collection[int],
    edge: BoardEdge,
    *,
    trapped: Collection[int] = (),
) -> Lifting:
    """Say what must come up, in which order, for some boards to come up.

    Tongued boards come up from the far side: every board of the next course that is down and
    holds a wanted one comes up first, and so on to the wall or to boards that are up already.
    That can be many. `cut_ids` is the other way: cut along the tongue of those boards and
    nothing but the wanted boards has to come up.

    Args:
        boards: those of one floor.
        wanted: ids; boards among them that are up or missing already are left out.
        trapped: ids of boards under a partition.
    """
    by_id = {board.id: board for board in boards}
    down = {board.id for board in boards if board.state in {"fixed", "loose"}}
    lift = set(wanted) & down
    holders = {
        key: next_ones & down for key, next_ones in _held_by(boards, edge).items() if key in down
    }
    cut = {key for key in lift if holders[key] - lift}
    needed = _closure(lift, holders)
    extra = needed - lift
    last_first = sorted(
        (by_id[key] for key in needed), key=lambda b: (b.storey, -b.course, b.piece, b.id)
    )
    stuck = needed & set(trapped)
    return Lifting(
        order=tuple(board.id for board in last_first),
        extra_ids=_by_mark(extra, by_id),
        cut_ids=_by_mark(cut, by_id),
        trapped_ids=_by_mark(stuck, by_id),
        sentence=_sentence(by_id, lift, extra, cut, stuck),
    )


def laying_order(boards: Iterable[Board]) -> tuple[int, ...]:
    """The order boards are laid in: course by course, away from the corner."""
    return tuple(board.id for board in sorted(boards, key=mark_order))


def laying(
    boards: Sequence[Board], wanted: Collection[int], edge: BoardEdge, *, held: Collection[int] = ()
) -> Laying:
    """Say which wanted boards may go down now, in which order, and which must wait.

    A tongued board waits for the boards of the course before that it is pushed over, if these
    are up and either held or not among the wanted; and for whatever those wait for.

    Args:
        boards: those of one floor.
        wanted: ids of boards to lay; boards that are down already are left out.
        held: ids of boards that stay up for someone.
    """
    by_id = {board.id: board for board in boards}
    up = {board.id for board in boards if board.state in {"up", "missing"}}
    lay = set(wanted) & up
    later = up - (lay - set(held))
    pushed_over: dict[int, set[int]] = {board.id: set() for board in boards}
    for key, next_ones in _held_by(boards, edge).items():
        for next_one in next_ones:
            pushed_over[next_one].add(key)
    waiting: dict[int, tuple[int, ...]] = {}
    for board in sorted((by_id[key] for key in lay - set(held)), key=mark_order):
        before = {key for key in pushed_over[board.id] if key in later or key in waiting}
        if before:
            waiting[board.id] = _by_mark(before, by_id)
    free = [by_id[key] for key in lay - set(held) - set(waiting)]
    return Laying(order=laying_order(free), waiting=waiting)


def _held_by(boards: Sequence[Board], edge: BoardEdge) -> dict[int, set[int]]:
    """For each board the boards of the next course that sit over its tongue."""
    holders: dict[int, set[int]] = {board.id: set() for board in boards}
    if edge == "square" or not boards:
        return holders
    shapes = polygons([board.outline for board in boards])
    reach: Shapes = shapely.buffer(shapes, BESIDE_MM, join_style="mitre")
    left, right = STRtree(shapes).query(reach, predicate="intersects")
    contact: Shapes = shapely.area(shapely.intersection(reach[left], shapes[right])) / BESIDE_MM
    for one, two, length in zip(left.tolist(), right.tolist(), contact.tolist(), strict=True):
        if boards[two].course == boards[one].course + 1 and length > GRAZE_MM:
            holders[boards[one].id].add(boards[two].id)
    return holders


def _closure(start: Collection[int], holders: Mapping[int, Collection[int]]) -> set[int]:
    found, to_do = set(start), list(start)
    while to_do:
        fresh = set(holders[to_do.pop()]) - found
        found |= fresh
        to_do += fresh
    return found


def _by_mark(ids: Iterable[int], by_id: Mapping[int, Board]) -> tuple[int, ...]:
    return laying_order(by_id[key] for key in ids)


def _sentence(
    by_id: Mapping[int, Board],
    lift: Collection[int],
    extra: Collection[int],
    cut: Collection[int],
    stuck: Collection[int],
) -> str:
    def marks(ids: Iterable[int]) -> str:
        return listed([by_id[key].mark for key in _by_mark(ids, by_id)])

    if not lift:
        return "Nothing to lift: the boards are up already."
    said = f"Lift {marks(lift)}."
    if extra:
        said = (
            f"To lift {marks(lift)}, {marks(extra)} must come up first, last course first; "
            f"or cut along the tongue of {marks(cut)} instead."
        )
    if stuck:
        said += f" A partition stands on {marks(stuck)}: saw beside it, not through its plate."
    return said
