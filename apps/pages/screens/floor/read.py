"""What the floor screen shows, read from the planner's answers and the floors' rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from apps.floors.models import Floor, SpotHeight
from apps.floors.selectors import FloorShapes
from apps.pages.drawing.holders import Holder, letters
from apps.pages.drawing.parts import (
    Bridging,
    FloorPlan,
    PlanBoard,
    PlanHeight,
    PlanJoist,
    PlanNeed,
    PlanRoom,
    PlanWay,
)
from apps.pages.drawing.plan import window_of
from apps.pages.drawing.walks import walk
from apps.pages.screens.floor.choice import Choice
from apps.pages.wording import way_back
from apps.planning import holding, selectors
from apps.planning.clock import say
from apps.planning.ground import HouseGround, read_ground, way_of
from apps.trades.models import AccessNeed
from apps.work.models import Trade


@dataclass(frozen=True)
class FloorView:
    """One storey or floor as the screen and the sheet show it.

    Attributes:
        holds: what nothing has released, by board id.
        nights: each household route of tonight, with what restores it.
    """

    choice: Choice
    now: datetime
    ground: HouseGround
    holds: Mapping[int, Sequence[dict[str, Any]]]
    needs: Sequence[AccessNeed]
    nights: Sequence[dict[str, Any]]

    @cached_property
    def holders(self) -> list[dict[str, Any]]:
        """Who needs boards open here: letter, name, what for; in the order of the letters."""
        crafts = {
            trade.pk: trade.get_craft_display()
            for trade in Trade.objects.filter(property=self.choice.house)
        }
        who = [(need, *holding.who_of(need)) for need in self.needs]
        named = letters(
            Holder(kind, row.pk, str(row), crafts.get(row.pk, "") if kind == "trade" else "")
            for _, kind, row in who
        )
        return sorted(
            (
                {
                    "letter": named[kind, row.pk],
                    "kind": kind,
                    "name": str(row),
                    "need": need,
                    "held": sum(
                        any(hold["access_need"] == need.pk for hold in holds)
                        for holds in self.holds.values()
                    ),
                }
                for need, kind, row in who
            ),
            key=lambda one: (one["letter"], one["name"], one["need"].pk),
        )

    @cached_property
    def letter_of(self) -> dict[int, str]:
        """The holder's letter by access need."""
        return {one["need"].pk: one["letter"] for one in self.holders}

    @cached_property
    def tonight(self) -> dict[int, Bridging]:
        """What tonight asks of boards, by id."""
        asked: dict[int, Bridging] = {}
        for night in self.nights:
            asked |= {named["board"]: "deck" for named in night["deck_over"]}
            asked |= {named["board"]: "lay" for named in night["lay_loose"]}
        return asked

    @cached_property
    def boards(self) -> tuple[PlanBoard, ...]:
        return tuple(
            PlanBoard(
                id=board.id,
                mark=board.mark,
                floor_id=floor.pk,
                outline=board.outline,
                state=board.state,
                trapped=board.id in self.ground.trapped,
                unsafe=not self.ground.support[board.id].supported,
                held_by=self.letters_on(board.id),
                tonight=self.tonight.get(board.id, ""),
            )
            for floor in self.choice.shown
            for board in self.shapes(floor).boards
        )

    def letters_on(self, board_id: int) -> tuple[str, ...]:
        found = {self.letter_of[hold["access_need"]] for hold in self.holds.get(board_id, ())}
        return tuple(sorted(found))

    def held_for(self, board_id: int) -> str:
        """For whom and until when, in words; empty for a board that nobody needs."""
        zone = ZoneInfo(self.choice.house.timezone)
        return "; ".join(
            f"{hold['for']['name']}"
            + (f" until {say(hold['open_until'].astimezone(zone))}" if hold["open_until"] else "")
            for hold in self.holds.get(board_id, ())
        )

    def shapes(self, floor: Floor) -> FloorShapes:
        return self.ground.shapes[floor.pk]

    @cached_property
    def ways(self) -> list[dict[str, Any]]:
        """The household's ways on this storey: number, name, whether it holds, what restores it."""
        night_of = {night["route"]["id"]: night for night in self.nights}
        rows = [
            route
            for route in self.ground.routes
            if route.from_room.storey_id == self.choice.storey.pk
        ]
        return [
            {
                "number": number,
                "route": route,
                "name": str(route),
                "holds": night_of[route.pk]["holds"] if route.pk in night_of else True,
                "back": way_back(night_of[route.pk]) if route.pk in night_of else "",
            }
            for number, route in enumerate(rows, start=1)
        ]

    @cached_property
    def plan(self) -> FloorPlan:
        """Everything for the drawing."""
        ground = self.ground.at({})
        level = self.choice.storey.level
        rooms = {room.id: room for room in ground.rooms if room.storey == level}
        shown = {floor.pk for floor in self.choice.shown}
        return FloorPlan(
            rooms=tuple(PlanRoom(room.name, room.outline) for room in rooms.values()),
            doorways=tuple(door.line for door in ground.doorways if door.room_a in rooms),
            floors=tuple(self.shapes(floor).outline for floor in self.choice.shown),
            boards=self.boards,
            joists=tuple(
                PlanJoist(one.mark, one.line, one.breadth_mm, one.condition, one.decayed)
                for floor in self.choice.shown
                for one in self.shapes(floor).joists
            ),
            needs=tuple(self.need(one) for one in self.needs if one.floor_id in shown),
            ways=tuple(
                PlanWay(way["number"], walk(ground, way_of(way["route"])), way["holds"])
                for way in self.ways
            ),
            heights=heights(shown),
        )

    def need(self, row: AccessNeed) -> PlanNeed:
        return PlanNeed(
            letter=self.letter_of[row.pk],
            area=tuple((x, y) for x, y in row.area or ()),
            route=tuple((x, y) for x, y in row.route or ()),
            clearance_mm=row.clearance_mm,
        )

    @property
    def window(self) -> tuple[int, int, int, int]:
        """What is drawn: a floor, or all that is on the storey."""
        if self.choice.floor:
            return window_of([self.shapes(self.choice.floor).outline])
        return window_of([*(room.outline for room in self.plan.rooms), *self.plan.floors])


def read_floor(choice: Choice, *, now: datetime) -> FloorView:
    """Everything about what was chosen, in the same few queries for any number of boards."""
    house = choice.house
    holds: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for hold in selectors.board_holds(house, now=now):
        if not hold["released"]:
            holds[hold["board"]].append(hold)
    tonight = selectors.local_today(house, now)
    ground = read_ground(house)
    nights = selectors.nights(house, first=tonight, days=1, now=now)
    needs = AccessNeed.objects.filter(floor__storey=choice.storey, released_at=None)
    return FloorView(
        choice=choice,
        now=now,
        ground=ground,
        holds=holds,
        needs=list(
            needs.select_related(
                "trade", "task", "inspection__property", "visit__trade", "floor"
            ).order_by("pk")
        ),
        nights=nights[0]["routes"] if nights else [],
    )


def heights(floor_ids: set[int]) -> tuple[PlanHeight, ...]:
    """The last height measured at each place, as far as it lies in the storey's plan."""
    last: dict[tuple[int, Any, Any, str], PlanHeight] = {}
    rows = SpotHeight.objects.filter(floor__in=floor_ids).select_related("joist")
    for row in rows.order_by("measured_at", "pk"):
        if row.joist is not None and row.at_mm is not None:
            (ax, ay), (bx, by) = row.joist.line
            length = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5 or 1
            part = row.at_mm / length
            at = round(ax + (bx - ax) * part), round(ay + (by - ay) * part)
        elif row.point is not None:
            at = row.point[0], row.point[1]
        else:
            continue
        words = f"{row.height_mm:+.1f}".removesuffix(".0").replace("-", "−")
        last[row.floor_id, row.joist_id, at, row.datum] = PlanHeight(at, words)
    return tuple(last.values())
