"""The void under a suspended floor: its walls by sides, and which openings let air across it.

Points are whole millimetres in the plan; outlines are closed rings, counter-clockwise, first
point repeated at the end. A wall's facing is outward.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, degrees, dist, hypot
from typing import Literal

Point = tuple[int, int]
Line = tuple[Point, Point]
Outline = tuple[Point, ...]
Beyond = Literal["outside", "solid_floor", "void", "inside"]
State = Literal["open", "blocked", "covered"]

WALL_REACH_MM = 600
"""An air brick lies this near to a wall of its floor, at most (common practice, no source)."""

AIRED: tuple[Beyond, ...] = ("outside", "solid_floor")
"""Walls that the rule counts: the outer ones, and those an extension's solid floor hides."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """One side of the outline, and what lies beyond it."""

    mark: str
    line: Line
    beyond: Beyond = "outside"

    @property
    def length_mm(self) -> float:
        return dist(*self.line)

    @property
    def facing_deg(self) -> float:
        """Which way it faces, 0 along x, counter-clockwise."""
        (ax, ay), (bx, by) = self.line
        return degrees(atan2(ax - bx, by - ay)) % 360


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """One air brick. `free_area_mm2` is what it gives when it is open and clean."""

    id: int
    at: Point
    free_area_mm2: int
    mark: str = ""
    state: State = "open"
    through_solid: bool = False
    above_ground_mm: int | None = None

    @property
    def name(self) -> str:
        """The opening in a sentence."""
        return f"air brick {self.mark or f'at {self.at[0]}, {self.at[1]} mm'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Void:
    """A void with its openings; heights None where nobody measured them."""

    outline: Outline
    walls: tuple[Wall, ...]
    openings: tuple[Opening, ...] = ()
    infill: tuple[Outline, ...] = ()
    clear_mm: int | None = None
    under_plate_mm: int | None = None

    @property
    def area_mm2(self) -> int:
        """The shoelace area, rounded up to a whole square millimetre."""
        twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(self.outline))
        return -(-abs(twice) // 2)


@dataclass(frozen=True, slots=True)
class Placed:
    """An opening at its wall. `why_not` says why it lets no air across, empty when it does."""

    opening: Opening
    wall: Wall
    why_not: str

    @property
    def counts(self) -> bool:
        return not self.why_not


@dataclass(frozen=True, slots=True)
class SideOfVoid:
    """The walls that face one way, and the openings in them."""

    quarter: int
    walls: tuple[Wall, ...]
    placed: tuple[Placed, ...]

    @property
    def run_mm(self) -> float:
        return sum(wall.length_mm for wall in self.walls if wall.beyond in AIRED)

    @property
    def open_mm2(self) -> int:
        return sum(one.opening.free_area_mm2 for one in self.placed if one.counts)

    @property
    def name(self) -> str:
        """The side in a sentence."""
        marks = [wall.mark for wall in self.walls if wall.beyond in AIRED] or [
            wall.mark for wall in self.walls
        ]
        told = ", ".join(marks[:3]) + (" …" if len(marks) > 3 else "")
        return told or "a side without a wall"


def walls_of(outline: Outline, beyond: Mapping[int, Beyond] | None = None) -> tuple[Wall, ...]:
    """The walls of an outline, counted from 1 at its first corner; outer ones unless told."""
    known = beyond or {}
    return tuple(
        Wall(mark=f"wall {number}", line=line, beyond=known.get(number, "outside"))
        for number, line in enumerate(pairwise(outline), start=1)
    )


def sides(void: Void) -> tuple[SideOfVoid, ...]:
    """The four sides, by the quarter their walls face as seen from the longest outer wall.

    Raises:
        ValueError: an opening that lies at no wall.
    """
    outer = [wall for wall in void.walls if wall.beyond in AIRED] or list(void.walls)
    ahead = max(outer, key=lambda wall: wall.length_mm).facing_deg
    placed = [place(opening, void) for opening in void.openings]
    walls: dict[int, list[Wall]] = {0: [], 1: [], 2: [], 3: []}
    for wall in void.walls:
        walls[round((wall.facing_deg - ahead) / 90) % 4].append(wall)
    return tuple(
        SideOfVoid(quarter, tuple(rows), tuple(one for one in placed if one.wall in rows))
        for quarter, rows in walls.items()
    )


def place(opening: Opening, void: Void) -> Placed:
    """The wall an opening is in, the nearest one, and whether it lets air across.

    Raises:
        ValueError: it lies at no wall.
    """
    wall = min(
        void.walls,
        key=lambda wall: (round(distance(opening.at, wall.line), 3), wall.beyond != "outside"),
    )
    if distance(opening.at, wall.line) > WALL_REACH_MM:
        raise ValueError(f"The {opening.name} lies at no wall of the floor.")
    return Placed(opening, wall, why_not(opening, wall, void.infill))


def why_not(opening: Opening, wall: Wall, infill: Sequence[Outline]) -> str:
    """Why an opening lets no air across the void; empty when it does."""
    if opening.state == "blocked":
        return "it is blocked"
    if opening.state == "covered":
        return "it is covered"
    if wall.beyond in {"void", "inside"}:
        return "it does not open to outside"
    if opening.through_solid:
        return ""
    if wall.beyond == "solid_floor":
        return "a solid floor lies beyond its wall and no pipe leads through it"
    if any(shadows(part, opening.at, wall) for part in infill):
        return "solid infill stands in the way across and no pipe leads through it"
    return ""


def shadows(infill: Outline, at: Point, wall: Wall) -> bool:
    """Whether infill stands in the straight way from a point of a wall across the void."""
    (ax, ay), (bx, by) = wall.line
    along = [(x - ax) * (bx - ax) + (y - ay) * (by - ay) for x, y in (*infill, at)]
    inward = [(y - ay) * (bx - ax) - (x - ax) * (by - ay) for x, y in infill]
    return min(along[:-1]) < along[-1] < max(along[:-1]) and max(inward) > 0


def distance(at: Point, line: Line) -> float:
    """From a point to a line between two points [mm]."""
    (ax, ay), (bx, by) = line
    dx, dy = bx - ax, by - ay
    share = ((at[0] - ax) * dx + (at[1] - ay) * dy) / (dx * dx + dy * dy)
    share = min(1.0, max(0.0, share))
    return hypot(at[0] - ax - share * dx, at[1] - ay - share * dy)


def corners(void: Void) -> tuple[Point, ...]:
    """Corners that point outwards and where no wall opens into another void."""
    found = []
    for before, after in zip((void.walls[-1], *void.walls[:-1]), void.walls, strict=True):
        (ax, ay), (bx, by) = before.line
        (_, _), (cx, cy) = after.line
        outward = (bx - ax) * (cy - by) - (by - ay) * (cx - bx) > 0
        if outward and "void" not in {before.beyond, after.beyond}:
            found.append((bx, by))
    return tuple(found)
