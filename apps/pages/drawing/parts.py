"""What a floor drawing shows, as plain data. Lengths are whole mm in the storey's plan, y up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from apps.floors.shapes import BoardState, JoistCondition, Line, Outline, Point, Polyline

Bridging = Literal["", "lay", "deck"]
Window = tuple[int, int, int, int]
"""What is seen of a storey: left, low, right, high [mm]."""

STATE_LETTERS: dict[BoardState, str] = {"fixed": "F", "loose": "L", "up": "U", "missing": "M"}
JOIST_LETTERS: dict[JoistCondition, str] = {
    "sound": "S",
    "suspect": "?",
    "decayed": "D",
    "new": "N",
    "missing": "X",
}


@dataclass(frozen=True, slots=True)
class PlanBoard:
    """A board, whom it is held for, and what tonight asks of it.

    Attributes:
        held_by: letters of those who need it open.
        unsafe: its joists do not carry it; nobody steps on it.
        tonight: `lay` it loose or `deck` it over so that the household can walk.
    """

    id: int
    mark: str
    floor_id: int
    outline: Outline
    state: BoardState = "fixed"
    trapped: bool = False
    unsafe: bool = False
    held_by: tuple[str, ...] = ()
    tonight: Bridging = ""

    @property
    def letters(self) -> str:
        """State, T for trapped, ! for not safe to step on, and what it is to be tonight."""
        asked = {"": "", "lay": "→L", "deck": "→D"}[self.tonight]
        return STATE_LETTERS[self.state] + "T" * self.trapped + "!" * self.unsafe + asked


@dataclass(frozen=True, slots=True)
class PlanJoist:
    mark: str
    line: Line
    breadth_mm: int
    condition: JoistCondition = "sound"
    decayed: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class PlanRoom:
    name: str
    outline: Outline


@dataclass(frozen=True, slots=True)
class PlanNeed:
    """Where somebody needs the floor open: an area, or a route with room to each side."""

    letter: str
    area: Outline = ()
    route: Polyline = ()
    clearance_mm: int = 0


@dataclass(frozen=True, slots=True)
class PlanWay:
    """A household route as it is walked; `number` names it in the list beside the drawing."""

    number: int
    line: Polyline
    holds: bool = True


@dataclass(frozen=True, slots=True)
class PlanHeight:
    at: Point
    words: str


@dataclass(frozen=True, slots=True)
class FloorPlan:
    """One storey, or a part of it."""

    rooms: tuple[PlanRoom, ...] = ()
    doorways: tuple[Line, ...] = ()
    floors: tuple[Outline, ...] = ()
    boards: tuple[PlanBoard, ...] = ()
    joists: tuple[PlanJoist, ...] = ()
    needs: tuple[PlanNeed, ...] = ()
    ways: tuple[PlanWay, ...] = ()
    heights: tuple[PlanHeight, ...] = ()
