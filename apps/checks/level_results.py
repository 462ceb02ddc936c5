"""What a levelling answers: the sheet for the wall, or which rule stands in the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Rule = Literal["flatness", "slope", "height", "stack", "planing"]
RULES: tuple[Rule, ...] = ("stack", "planing", "flatness", "slope", "height")


@dataclass(frozen=True, slots=True)
class Level:
    """One thing made least: its value in `unit`, the bound, and whether no better exists."""

    name: str
    value: float
    bound: float
    unit: str
    proven: bool


@dataclass(frozen=True, slots=True)
class SheetLine:
    """What to do at one spot. `error_mm` is how far above the floor's height it ends."""

    spot_id: int
    joist: str
    bearing: str
    along_mm: int
    packers_mm: tuple[float, ...]
    lift_mm: float
    planed_mm: float
    final_mm: float
    error_mm: float
    sentence: str


@dataclass(frozen=True, slots=True)
class LineResult:
    """The worst the straightedge and the fall show on one line."""

    name: str
    direction: Literal["along", "across"]
    gap_mm: float
    gap_at: int | None
    fall_mm_per_m: float


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule that cannot be kept, by how much, and where it is worst."""

    rule: Rule
    by_mm: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Levelled:
    """The sheet for levelling a floor, or what stands in its way.

    `possible` is None when the search ended before it knew.
    """

    possible: bool | None
    proven: bool
    height_mm: float | None
    fixed: bool
    flatness: str
    reached: str | None
    sheet: tuple[SheetLine, ...]
    lines: tuple[LineResult, ...]
    packers_used: tuple[tuple[float, int], ...]
    planed_mm: float
    levels: tuple[Level, ...]
    broken: tuple[Broken, ...]
    cautions: tuple[str, ...]
    sentence: str
