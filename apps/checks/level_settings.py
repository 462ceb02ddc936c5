"""How flat, how level, and how joists are packed: settings, with their sources."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Flatness = Literal["SR1", "SR2", "SR3"]

FLATNESS_MM: Mapping[str, int] = MappingProxyType({"SR1": 3, "SR2": 5, "SR3": 10})
"""Greatest gap [mm] under a 2 m straightedge laid on the floor: BS 8204 as told by The Concrete
Society (concrete.org.uk fingertips 1006 and 1009), read. Before 2003 the edge was 3 m long."""

LONG_FLOOR_MM = 6000
"""From this length on a floor is judged by its whole fall: NHBC Standards 2020 9.1.5, read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelSettings:
    """Limits of the levelled floor; every field has its sentence in `SENTENCES`."""

    straightedge_mm: int = 2000
    slope_mm_per_m: float = 3.0
    long_fall_mm: float = 20.0
    most_pieces: int = 3
    most_stack_mm: float = 25.0
    most_planed_mm: float = 5.0
    within_mm: float = 5.0
    line_mm: int = 150

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for a setting out of range."""
        for name, (low, high) in RANGES.items():
            value = getattr(self, name)
            if not low <= value <= high:
                raise ValueError(f"The setting {name} is {low:g} to {high:g}.")


RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "straightedge_mm": (500, 5000),
        "slope_mm_per_m": (0.1, 100),
        "long_fall_mm": (0.1, 500),
        "most_pieces": (0, 4),
        "most_stack_mm": (0, 100),
        "most_planed_mm": (0, 50),
        "within_mm": (0, 100),
        "line_mm": (0, 1000),
    }
)

SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "straightedge_mm": "Length [mm] of the straightedge: 2 m since 2003 (The Concrete "
        "Society, read); older pages have 3 m.",
        "slope_mm_per_m": "Fall [mm] allowed in each metre, up to 6 m: 3 (NHBC Standards 2020 "
        "9.1.5, read).",
        "long_fall_mm": "Fall [mm] allowed over a longer floor: 20 (NHBC Standards 2020 9.1.5, "
        "read).",
        "most_pieces": "Packers in one stack: 3 (common practice, no source; no published number "
        "was found).",
        "most_stack_mm": "Height [mm] of one stack: 25, above that a cut bearer or a sistered "
        "joist (common practice, no source).",
        "most_planed_mm": "How much [mm] may be planed off a joist's top (common practice, no "
        "source): planing makes the joist shallower.",
        "within_mm": "How far [mm] a joist may end off a height that is fixed (common practice, no "
        "source).",
        "line_mm": "Places within this distance [mm] along the joists count as one line across "
        "them (common practice, no source).",
    }
)
