"""What can be walked on: one house's rooms, doorways and boards, for any night of a plan.

The geometry library is loaded when a function here first needs it (120 ms), not before.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from typing import Any, TypeVar

from apps.floors import shapes
from apps.floors.models import Board, Floor
from apps.floors.selectors import (
    FloorShapes,
    board_shape,
    doorway_shape,
    floor_shapes,
    room_shape,
    support_of,
    trapped_of,
)
from apps.floors.shapes import BoardState, Bridge, Ground, Support, Way
from apps.planning import kept
from apps.property.models import Doorway, HouseholdRoute, Property, Room
from renovation.kept import of_shapes

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True)
class RouteNight:
    """One household route on one night: whether it holds, and what restores it."""

    route: HouseholdRoute
    bridge: Bridge

    @property
    def holds(self) -> bool:
        return self.bridge.possible and not self.bridge.lay_ids and not self.bridge.deck_ids


@dataclass(frozen=True)
class HouseGround:
    """The rows that matter for walking and standing, read once."""

    rooms: Sequence[Room]
    doorways: Sequence[Doorway]
    routes: Sequence[HouseholdRoute]
    floors: Sequence[Floor]
    boards: Sequence[Board]
    shapes: Mapping[int, FloorShapes]

    @cached_property
    def support(self) -> dict[int, Support]:
        """What each board rests on, by id."""
        return {
            pk: found for floor in self.shapes.values() for pk, found in support_of(floor).items()
        }

    @cached_property
    def trapped(self) -> frozenset[int]:
        """Boards that a partition stands on."""
        return frozenset[int]().union(*(trapped_of(floor) for floor in self.shapes.values()))

    def named(self, board_id: int) -> dict[str, Any]:
        """A board with its floor: marks count anew on each."""
        floor_id, mark = self._marks[board_id]
        return {
            "board": board_id,
            "mark": mark,
            "floor": floor_id,
            "floor_name": self._floor_names[floor_id],
        }

    @cached_property
    def _marks(self) -> dict[int, tuple[int, str]]:
        return {board.pk: (board.floor_id, board.mark) for board in self.boards}

    @cached_property
    def _floor_names(self) -> dict[int, str]:
        return {floor.pk: floor.name for floor in self.floors}

    def at(self, states: Mapping[int, BoardState]) -> Ground:
        """The ground with some boards in other states than now."""
        return Ground(
            rooms=tuple(room_shape(room, level=room.storey.level) for room in self.rooms),
            doorways=tuple(doorway_shape(doorway) for doorway in self.doorways),
            boards=tuple(
                replace(
                    board,
                    state=states.get(board.id, board.state),
                    floor=self._floor_names[floor_id],
                )
                for floor_id, floor in self.shapes.items()
                for board in floor.boards
            ),
            unsupported=frozenset(pk for pk, found in self.support.items() if not found.supported),
        )

    def routes_at(self, states: Mapping[int, BoardState]) -> list[RouteNight]:
        """Every household route with the boards in these states."""
        ground = self.at(states)
        level_of = {room.id: room.storey for room in ground.rooms}
        return [
            RouteNight(
                route, bridge(on_storey(ground, level_of[route.from_room_id]), way_of(route))
            )
            for route in self.routes
        ]

    def cut_with_up(self, groups: Sequence[frozenset[int]]) -> list[bool]:
        """For each group of boards whether some household route that can be walked with every
        board down is cut with just these up."""
        lifted: dict[int, BoardState] = {
            board.pk: "up" if any(board.pk in group for group in groups) else "fixed"
            for board in self.boards
        }
        ground = self.at(lifted)
        level_of = {room.id: room.storey for room in ground.rooms}
        cut = [False] * len(groups)
        for route in self.routes:
            storey = on_storey(ground, level_of[route.from_room_id])
            here = {board.id for board in storey.boards}
            without, *held = held_with_up(
                storey, way_of(route), [(), *(sorted(group & here) for group in groups)]
            )
            if without:
                cut = [was or not holds for was, holds in zip(cut, held, strict=True)]
        return cut


def on_storey(ground: Ground, level: int) -> Ground:
    """What can be in the way on one storey: the boards there that nobody can step on."""
    boards = tuple(
        board
        for board in ground.boards
        if board.storey == level
        and (board.state in {"up", "missing"} or board.id in ground.unsupported)
    )
    unsafe = frozenset(board.id for board in boards if board.id in ground.unsupported)
    return replace(ground, boards=boards, unsupported=unsafe)


def held_with_up(ground: Ground, way: Way, groups: Sequence[Sequence[int]]) -> list[bool]:
    """For each group of boards whether a way holds with just these up."""

    def work_out() -> list[bool]:
        from apps.floors import walkable  # noqa: PLC0415 (shapely, 120 ms)

        return walkable.held_with_up(ground, way, groups)

    found: list[bool] = of_shapes("held", (*all_of(ground, way), groups), work_out)
    return found


def bridge(ground: Ground, way: Way) -> Bridge:
    """The smallest bridge over what is in the way."""

    def work_out() -> dict[str, Any]:
        from apps.floors.walkable import smallest_bridge  # noqa: PLC0415 (shapely, 120 ms)

        return asdict(smallest_bridge(ground, way))

    found = of_shapes("bridge", all_of(ground, way), work_out)
    return Bridge(
        **{**found, "lay_ids": tuple(found["lay_ids"]), "deck_ids": tuple(found["deck_ids"])}
    )


def all_of(ground: Ground, way: Way) -> tuple[object, ...]:
    """All that an answer about a way depends on."""
    return ground.rooms, ground.doorways, ground.boards, sorted(ground.unsupported), way


def way_of(route: HouseholdRoute) -> Way:
    return Way(
        from_room=route.from_room_id,
        to_room=route.to_room_id,
        width_mm=route.width_mm,
        from_point=(route.from_point[0], route.from_point[1]) if route.from_point else None,
        to_point=(route.to_point[0], route.to_point[1]) if route.to_point else None,
    )


def read_ground(house: Property) -> HouseGround:
    floors = list(Floor.objects.filter(property=house).select_related("storey").order_by("pk"))
    return HouseGround(
        rooms=list(Room.objects.filter(property=house).select_related("storey").order_by("pk")),
        doorways=list(Doorway.objects.filter(property=house).order_by("pk")),
        routes=list(
            HouseholdRoute.objects.filter(property=house)
            .select_related("from_room", "to_room")
            .order_by("pk")
        ),
        floors=floors,
        boards=list(Board.objects.filter(floor__property=house).order_by("floor", "course", "pk")),
        shapes=floor_shapes([floor.pk for floor in floors]),
    )


def touched_by(
    boards: Iterable[Board], places: Iterable[tuple[Key, Any]]
) -> dict[Key, frozenset[int]]:
    """Boards that each place touches.

    Args:
        places: keys with rows that name a floor and an area or a route on it: tasks, access
            needs, inspections. One without a floor or a place touches nothing and is left out.
    """
    from apps.floors.geometry import laid, touched  # noqa: PLC0415 (shapely, 120 ms)

    by_floor: dict[int, list[shapes.Board]] = defaultdict(list)
    for board in boards:
        by_floor[board.floor_id].append(board_shape(board, level=0))
    ready = {floor_id: laid(rows) for floor_id, rows in by_floor.items()}
    found: dict[Key, frozenset[int]] = {}
    for key, place in places:
        if not on_a_floor(place):
            continue
        route = getattr(place, "route", None)
        found[key] = frozenset(
            touched(
                ready.get(place.floor_id, ()),
                area=shapes.points(place.area) if place.area else None,
                route=None if place.area else shapes.points(route or ()),
                clearance_mm=getattr(place, "clearance_mm", 0),
            )
        )
    return found


def on_a_floor(place: Any) -> bool:
    return bool(place.floor_id and (place.area or getattr(place, "route", None)))


def touched_in(
    house: Property, places: Iterable[tuple[Key, Any]], *, lie: str | None = None
) -> dict[Key, frozenset[int]]:
    """As `touched_by`, of all boards of a house, worked out once as long as nothing moves."""
    asked = [(key, place) for key, place in places if on_a_floor(place)]
    if not asked:
        return {}
    about = [
        (p.floor_id, p.area, getattr(p, "route", None), getattr(p, "clearance_mm", 0))
        for _, p in asked
    ]

    def work_out() -> list[list[int]]:
        boards = Board.objects.filter(floor__property=house)
        found = touched_by(boards, enumerate(place for _, place in asked))
        return [sorted(found[count]) for count in range(len(asked))]

    ids = kept.of_house(house, "touched", about, work_out, lie=lie)
    return {key: frozenset(found) for (key, _), found in zip(asked, ids, strict=True)}
