"""What each form begins with, so that it says something before anything is typed.

Invented but usual figures; which fields there are is told by the dataclasses alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

# Boards on joists without a ceiling, as over a void.
JOIST: Mapping[str, Any] = MappingProxyType(
    {
        "span_mm": 3000, "breadth_mm": 47, "depth_mm": 195, "spacing_mm": 400,
        "strength_class": "C16", "dead_kn_m2": 0.4, "ceiling": "none",
        "deck": {"kind": "boards", "thickness_mm": 21},
    }
)  # fmt: skip
NOTCH = {"kind": "notch", "at_mm": 400, "size_mm": 40, "depth_mm": 20, "edge": "top"}
HOLE = {"kind": "hole", "at_mm": 900, "size_mm": 22, "depth_mm": 97, "edge": "centre"}

STARTS: Mapping[str, Mapping[str, Any]] = MappingProxyType(
    {
        "joist": {**JOIST, "cuts": []},
        "cuts": {"joist": {**JOIST, "cuts": [NOTCH, HOLE]}, "drill_mm": 22},
        "lap": {
            "joist": {**JOIST, "decayed": [{"from_mm": 0, "to_mm": 200}]},
            "cut_mm": 500, "breadth_mm": 47, "depth_mm": 195, "strength_class": "C24",
            "fastener": "bolt_m12", "lap_mm": None,
        },
        "sister": {
            "old": JOIST,
            "new": {
                "breadth_mm": 47, "depth_mm": 195, "strength_class": "C16",
                "bearings": [None, None], "from_mm": 200, "to_mm": 2800,
            },
            "fixed_by": {"fastener": "bolt_m12", "spacing_mm": 400}, "deck_on": "both",
        },
        "trimmer": {
            "trimmer": {
                "span_mm": 1800, "breadth_mm": 75, "depth_mm": 195, "strength_class": "C24",
                "grade_basis": "stamped",
            },
            "trimmed": {
                "first_mm": 300, "spacing_mm": 400, "count": 4, "joist_span_mm": 2700,
                "dead_kn_m2": 0.4,
            },
        },
        "fixing": {
            "fastener": "nail_3.35x75",
            "head": {"thickness_mm": 38, "depth_mm": 195, "strength_class": "C24"},
            "point": {"thickness_mm": 47, "depth_mm": 195, "strength_class": "C16"},
            "force_n": 400, "overlap_mm": 600,
        },
        "bearing": {
            "kind": "wall_plate", "length_mm": 75, "breadth_mm": 47, "depth_mm": 195,
            "strength_class": "C16", "permanent_n": 400, "imposed_n": 1100, "dpc": True,
        },
        "deck": {"kind": "boards", "thickness_mm": 21, "centres_mm": 450, "cantilever_mm": 60},
        "decay": {
            "length_mm": 3800, "rot": "wet",
            "probes": [
                {"at_mm": 100, "probe_mm": 25},
                {"at_mm": 350, "probe_mm": 3, "moisture_pct": 24},
                {"at_mm": 700, "probe_mm": 2, "moisture_pct": 17},
                {"at_mm": 900, "probe_mm": 2, "moisture_pct": 16},
            ],
        },
        "subfloor-ventilation": {
            "outline": [[0, 0], [4200, 0], [4200, 3600], [0, 3600], [0, 0]],
            "beyond": ["outside", "inside", "outside", "inside"],
            "openings": [
                {"at": [1000, 0], "free_area_mm2": 4200},
                {"at": [3200, 0], "free_area_mm2": 4200},
                {"at": [2000, 3600], "free_area_mm2": 6000},
            ],
            "clear_mm": 300,
        },
        "levels": {
            "spots": [
                {"joist": joist, "bearing": bearing, "along_mm": along, "across_mm": across,
                 "height_mm": height}
                for joist, across, heights in (
                    ("J1", 0, (-6.5, -4.0)), ("J2", 400, (-3.0, -2.5)), ("J3", 800, (-5.0, -1.0)),
                )
                for bearing, along, height in zip(
                    ("north plate", "south plate"), (0, 3000), heights, strict=True
                )
            ],
            "packers": [{"thickness_mm": mm} for mm in (1, 2, 3, 5)],
        },
        "doorway": {
            "a": {
                "name": "hall", "joist_top_mm": 0,
                "layers": [{"name": "boards", "thickness_mm": 21}],
            },
            "b": {
                "name": "parlour", "joist_top_mm": 4,
                "layers": [
                    {"name": "plywood", "thickness_mm": 18}, {"name": "tiles", "thickness_mm": 10},
                ],
            },
        },
        "membrane": {
            "length_mm": 7000, "width_mm": 4500, "roll": {"width_mm": 4000, "length_mm": 25000},
            "upstand_mm": 150,
        },
    }
)  # fmt: skip
