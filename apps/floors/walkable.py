"""Can we still get to the bathroom tonight, and if not, which boards to lay loose?

Method. `cells.cells` turns the storey into a graph of cells, each closed by some boards; a
set of laid boards restores the way if start and end are connected through open cells. Laying
more never cuts, so the smallest set is found exactly by implicit hitting sets: keep a list of
cuts (sets of boards of which at least one must be laid), take the smallest set that hits them
all, and if the way is still cut, grow the laid set to a largest one that leaves it cut: what
remains is a new cut. The first hitting set that restores the way is a smallest one, since
every restoring set hits every cut. Ties go to the boards first in mark order. Where a wide room
lies open from wall to wall that may take hours: there the boards of one walk are taken, each
step the one that needs the fewest new ones, without those that can be spared. The geometry is
exact up to rounded corners drawn as polygons (1.5 mm at 600 mm width) and 1 mm tolerance.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from heapq import heapify, heappop, heappush

from apps.floors.cells import Cells, cells
from apps.floors.hitting import TooMany, smallest_hitting_set
from apps.floors.regions import Regions
from apps.floors.shapes import Board, Bridge, Ground, RouteState, Way
from apps.floors.words import listed


def route_state(ground: Ground, way: Way) -> RouteState:
    """Whether somebody can walk a way with the boards as they are.

    Boards that are up or missing are holes, and unsupported boards are not walked on whatever
    their state. `cut_by` are the boards of the hole that stops somebody coming from the start;
    holes nearer to each other than the width are one. A hole one can walk around is not named.

    Raises:
        ValueError: as `cells.cells`.
    """
    graph = cells(ground, way)
    reached = _reached(graph, 0)
    name = _name(ground, way)
    if reached & graph.ends:
        return RouteState(True, (), f"{name} can be walked.")
    cut_by = _boards(graph, _stopping(graph, reached))
    if not cut_by:
        return RouteState(False, (), f"{name} is cut: {_too_narrow(way)}")
    return RouteState(
        False,
        tuple(board.id for board in cut_by),
        f"{name} is cut by {_with_states(cut_by, ground)}.",
    )


def held_with_up(ground: Ground, way: Way, groups: Sequence[Iterable[int]]) -> list[bool]:
    """For each group of boards whether a way holds with just these up and all others down.

    One net of cells serves for all: some hundred groups take little longer than one. Unsupported
    boards are not walked on in any case.

    Args:
        ground: whatever states its boards have, those of all groups among them.
        groups: boards by id.

    Raises:
        ValueError: as `cells.cells`.
    """
    lifted = {board for group in groups for board in group}
    boards = (replace(b, state="up" if b.id in lifted else "fixed") for b in ground.boards)
    graph = cells(replace(ground, boards=tuple(boards)), way)
    bit_of = {board.id: 1 << bit for bit, board in enumerate(graph.boards)}
    sound = sum(bit for board, bit in bit_of.items() if board not in ground.unsupported)
    return [
        _holds(graph, sound & ~sum(bit_of.get(board, 0) for board in set(group)))
        for group in groups
    ]


def smallest_bridge(ground: Ground, way: Way) -> Bridge:
    """The fewest boards to lay loose so that a way can be walked, or what else it takes.

    Only boards that are up and supported can be laid. If all of them together do not restore
    the way, `deck_ids` is the smallest set of other places that must be decked over, and
    `lay_ids` the fewest boards to lay once they are.

    Raises:
        ValueError: as `cells.cells`.
    """
    graph = cells(ground, way)
    name = _name(ground, way)
    everything = (1 << len(graph.boards)) - 1
    if not _holds(graph, everything):
        return Bridge(False, (), (), f"{name} cannot be restored: {_too_narrow(way)}")
    if _holds(graph, 0):
        return Bridge(True, (), (), f"{name} can be walked.")
    layable = sum(
        1 << bit
        for bit, board in enumerate(graph.boards)
        if board.state == "up" and board.id not in ground.unsupported
    )
    deck = _fewest(graph, laid=layable, choice=everything & ~layable)
    lay = _fewest(graph, laid=deck, choice=layable)
    decked, laid = _boards(graph, deck), _boards(graph, lay)
    return Bridge(
        True,
        tuple(board.id for board in laid),
        tuple(board.id for board in decked),
        _advice(name, decked, laid, ground),
    )


def _reached(graph: Cells, laid: int) -> set[int]:
    """Cells that can be walked to from the start once some boards are laid."""
    return _flood(graph, graph.starts, lambda cell: not graph.closed_by[cell] & ~laid)


def _flood(graph: Cells, sources: Iterable[int], enters: Callable[[int], bool]) -> set[int]:
    to_do = [cell for cell in sources if enters(cell)]
    seen = set(to_do)
    while to_do:
        for cell in graph.beside[to_do.pop()]:
            if cell not in seen and enters(cell):
                seen.add(cell)
                to_do.append(cell)
    return seen


def _holds(graph: Cells, laid: int) -> bool:
    return not graph.ends.isdisjoint(_reached(graph, laid))


def _stopping(graph: Cells, reached: set[int]) -> int:
    """Boards of the closed cells next to where one can get to, with the end on their far side."""
    beyond = _flood(graph, graph.ends, lambda cell: cell not in reached)
    first = {cell for known in reached for cell in graph.beside[known]} or graph.starts
    hole = _flood(graph, first & beyond, lambda cell: cell in beyond and graph.closed_by[cell] != 0)
    stopping = 0
    for cell in hole:
        stopping |= graph.closed_by[cell]
    return stopping


def _fewest(graph: Cells, *, laid: int, choice: int) -> int:
    """The smallest set out of `choice` that, added to `laid`, restores the way; a small one where
    finding that takes too long."""
    try:
        return _by_cuts(graph, laid=laid, choice=choice)
    except TooMany:
        return _by_walking(graph, laid=laid, choice=choice)


def _by_walking(graph: Cells, *, laid: int, choice: int) -> int:
    """The boards of one walk, each step the one that needs the fewest boards so far."""
    needed = [closed_by & ~laid for closed_by in graph.closed_by]
    to_do = [(needed[c].bit_count(), needed[c], c) for c in graph.starts if not needed[c] & ~choice]
    heapify(to_do)
    seen: set[int] = set()
    while to_do:
        _, boards, cell = heappop(to_do)
        if cell in graph.ends:
            break
        if cell in seen:
            continue
        seen.add(cell)
        for other in graph.beside[cell]:
            if other not in seen and not needed[other] & ~choice:
                more = boards | needed[other]
                heappush(to_do, (more.bit_count(), more, other))
    else:
        raise AssertionError("with all of them laid the way holds")
    for bit in range(len(graph.boards)):
        if boards >> bit & 1 and _holds(graph, laid | boards & ~(1 << bit)):
            boards &= ~(1 << bit)
    return boards


def _by_cuts(graph: Cells, *, laid: int, choice: int) -> int:
    cuts: list[int] = []
    hit = 0
    while not _holds(graph, laid | hit):
        tried = hit
        while not _holds(graph, laid | tried):
            cut = choice & ~_largest_still_cut(graph, laid, tried, choice)
            cuts.append(cut)
            tried |= cut
        hit = smallest_hitting_set(cuts)
    return hit


def _largest_still_cut(graph: Cells, laid: int, chosen: int, choice: int) -> int:
    """Add boards to a set that leaves the way cut, as long as it stays cut."""
    regions = Regions(graph, laid | chosen)
    for bit in range(len(graph.boards)):
        board = 1 << bit
        if choice & ~chosen & board and regions.lay(board):
            chosen |= board
    return chosen


def _boards(graph: Cells, mask: int) -> list[Board]:
    return [board for bit, board in enumerate(graph.boards) if mask >> bit & 1]


def _name(ground: Ground, way: Way) -> str:
    names = {room.id: room.name for room in ground.rooms}
    end = "outside" if way.to_room is None else names[way.to_room]
    return f"The way from {names[way.from_room]} to {end}"


def _too_narrow(way: Way) -> str:
    return (
        f"even with every board down there is no way {way.width_mm} mm wide; "
        "look at the rooms and doorways."
    )


def _with_states(boards: Iterable[Board], ground: Ground) -> str:
    groups: dict[str, list[Board]] = {}
    for board in boards:
        open_as = board.state if board.state in {"up", "missing"} else ""
        unsafe = "unsupported" if board.id in ground.unsupported else ""
        groups.setdefault(" and ".join(filter(None, (open_as, unsafe))), []).append(board)
    return "; ".join(f"{_named(group)} ({state})" for state, group in groups.items())


def _named(boards: Iterable[Board]) -> str:
    """ "B8.1 and B9.1 in Hall floor": marks count anew on each floor."""
    floors: dict[str, list[str]] = {}
    for board in boards:
        floors.setdefault(board.floor, []).append(board.mark)
    return "; ".join(
        f"{listed(marks)} in {floor}" if floor else listed(marks) for floor, marks in floors.items()
    )


def _advice(name: str, decked: list[Board], laid: list[Board], ground: Ground) -> str:
    loose = f"lay loose {_named(laid)}"
    if not decked:
        return f"To restore it, {loose}. {name} can then be walked."
    also = f", and {loose}" if laid else ""
    return (
        f"{name} cannot be restored by laying boards alone: put a temporary deck, resting on "
        f"sound joists, over {_with_states(decked, ground)}{also}."
    )
