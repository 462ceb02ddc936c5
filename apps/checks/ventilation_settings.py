"""How the rule for air under a suspended timber floor is read: settings, with their sources."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Reading = Literal["both_walls_added", "each_wall", "all_outer_walls"]


@dataclass(frozen=True, slots=True, kw_only=True)
class VentilationSettings:
    """The rule's figures and its reading; every field has its sentence in `SENTENCES`."""

    reading: Reading = "both_walls_added"
    mm2_per_metre: int = 1500
    mm2_per_square_metre: int = 500
    pipe_bore_mm: int = 100
    least_void_mm: int = 150
    least_under_plate_mm: int = 75
    least_above_ground_mm: int = 75
    corner_reach_mm: int = 2000

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for a setting out of range."""
        if self.reading not in READINGS:
            raise ValueError(f"The reading is one of {', '.join(READINGS)}.")
        if not all(1 <= area <= 100_000 for area in (self.mm2_per_metre, self.pipe_bore_mm)):
            raise ValueError("Opening per metre and pipe bore are 1 to 100 000.")
        others = (
            self.mm2_per_square_metre, self.least_void_mm, self.least_under_plate_mm,
            self.least_above_ground_mm, self.corner_reach_mm,
        )  # fmt: skip
        if not all(0 <= figure <= 100_000 for figure in others):
            raise ValueError("A figure of the settings is 0 to 100 000.")


READINGS: Mapping[str, str] = MappingProxyType(
    {
        "both_walls_added": "1500 mm² for each metre of both vented walls, added; either wall may "
        "make up for the other as long as both are open",
        "each_wall": "each of the two vented walls by itself has 1500 mm² for each of its metres",
        "all_outer_walls": "every outer wall has its 1500 mm² for each metre: the strictest",
    }
)

SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "reading": "How “1500 mm² for each metre run of wall”, on two opposite walls, is read: "
        "both walls added, each wall by itself, or every outer wall. The words allow the first "
        "two; ask building control.",
        "mm2_per_metre": "Free area [mm²] for each metre of vented wall: 1500, Approved Document C "
        "(3000 before 1992), read in a copy of 1992.",
        "mm2_per_square_metre": "Free area [mm²] for each square metre of floor, when that is "
        "more: 500, Approved Document C 2004 paragraph 4.14, second hand.",
        "pipe_bore_mm": "Bore [mm] of pipes that carry the air through a solid floor: 100, "
        "Approved Document C, from memory.",
        "least_void_mm": "Least clear height [mm] from the ground cover to the underside of the "
        "joists or their insulation: 150, Approved Document C, read in a copy of 1992.",
        "least_under_plate_mm": "Least height [mm] from the ground cover to the underside of the "
        "wall plate: 75, second hand (isurv.com 11714).",
        "least_above_ground_mm": "Least height [mm] of an air brick above the ground outside: 75, "
        "second hand; one survey text says 150.",
        "corner_reach_mm": "How far [mm] from the nearest open air brick a corner may lie before "
        "its air counts as dead (common practice, no source).",
    }
)


@dataclass(frozen=True, slots=True)
class AirBrickKind:
    """What an opening of this kind and face gives [mm²]; the mark on the grille comes first."""

    name: str
    face: str
    least_mm2: int
    most_mm2: int
    source: str


KINDS: tuple[AirBrickKind, ...] = (
    AirBrickKind("clay, square holes", "215 × 65 mm", 1300, 1500, "from memory, uncertain"),
    AirBrickKind("clay, square holes", "215 × 140 mm", 2900, 4200, "from memory, uncertain"),
    AirBrickKind("clay, square holes", "215 × 215 mm", 4500, 6400, "from memory, uncertain"),
    AirBrickKind("plastic", "215 × 65 mm", 6000, 6600, "suppliers' pages, second hand"),
    AirBrickKind("cast iron", "9 × 3 in", 4500, 4500, "a supplier's page, second hand"),
)
