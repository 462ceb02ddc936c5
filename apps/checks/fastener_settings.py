"""Where sources disagree about screws, bolts and nails: one field each, with a sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from apps.checks.asked import one_of

# Shares of the load along a lap that stand on the old joist, each tried.
LAP_LOADS: Mapping[str, tuple[float, ...]] = MappingProxyType(
    {"worst": (1.0, 0.0), "shared": (0.5,)}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FixingSettings:
    """What a fixing check takes where sources differ; every field has a sentence in `SENTENCES`."""

    gamma_m_joint: float = 1.3
    screw_root_share: float = 0.6
    hole_clearance_mm: float = 1.0
    lap_load: str = "worst"
    joint_creep: float = 2.0
    most_lap_mm: int = 1800

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for a setting out of range."""
        one_of("The load of a lap", self.lap_load, tuple(LAP_LOADS))
        for name, (low, high) in RANGES.items():
            value = getattr(self, name)
            if not (math.isfinite(value) and low <= value <= high):
                raise ValueError(f"The setting {name} is {low:g} to {high:g}.")


# Out of these a setting is a slip of the keyboard: our choice.
RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "gamma_m_joint": (1.0, 2.0),
        "screw_root_share": (0.5, 0.9),
        "hole_clearance_mm": (0, 3),
        "joint_creep": (1.0, 3.0),
        "most_lap_mm": (200, 5000),
    }
)

SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "gamma_m_joint": "Partial factor of a joint: 1.3 (EN 1995-1-1 table 2.3, from memory).",
        "screw_root_share": "Root of a screw's thread as a share of its outer diameter, where it "
        "was not measured: 0.6, the thinnest EN 14592 allows (from memory); screws of the trade "
        "have 0.6 to 0.7.",
        "hole_clearance_mm": "How far a bolt slides before it bears: 1 mm, the most its hole may "
        "be wider (EN 1995-1-1 10.4.3, from memory); 0 for a tight hole drilled through both "
        "pieces at once.",
        "lap_load": "Which piece the floor rests on along a lap: the worse of all on the old one "
        "and all on the new one (judgement), or shared where the boards rest on both alike.",
        "joint_creep": "How many times faster a joint creeps than its timber: 2 (EN 1995-1-1 "
        "2.3.2.2(3), from memory); 1 leaves it out.",
        "most_lap_mm": "Longest lap that is looked for: 1800 mm (judgement: beyond it a sister or "
        "a new joist is less work).",
    }
)
