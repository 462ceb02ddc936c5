"""Where sources disagree about a joist: one field each, with a default and a sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from apps.checks.cut_rules import cut_rules
from apps.checks.strength import LOAD_DURATIONS, strength_class

DESIGN_SPANS = ("clear_and_half_bearings", "clear")
COMBINATIONS = ("6.10", "6.10ab")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What a joist check takes where sources differ; every field has a sentence in `SENTENCES`."""

    design_span: str = "clear_and_half_bearings"
    combination: str = "6.10"
    k_cr: float = 0.67
    k_c_90: float = 1.0
    bearing_extra_mm: float = 30.0
    least_bearing_mm: int = 40
    least_bearing_masonry_mm: int = 90
    k_sys: float = 1.1
    notch_keeps_k_cr: bool = True
    point_load_kn: float = 2.0
    point_load_duration: str = "medium_term"
    plastered_span_over: float = 250.0
    bare_span_over: float = 150.0
    least_frequency_hz: float = 8.0
    damping: float = 0.02
    k_amp: float = 1.05
    void_limit_pct: float = 20.0
    wet_timber_pct: float = 25.0
    assumed_class_at_most: str = "C16"
    notch_rules: str = "labc"
    notch_to_hole_least_mm: float = 100.0
    notch_to_hole_wanted_mm: float = 200.0
    cable_cover_mm: float = 50.0
    undrilled_depth_mm: float = 100.0

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for a setting out of range."""
        if self.design_span not in DESIGN_SPANS:
            raise ValueError(f"The design span is one of {', '.join(DESIGN_SPANS)}.")
        if self.combination not in COMBINATIONS:
            raise ValueError(f"The combination of loads is one of {', '.join(COMBINATIONS)}.")
        if self.point_load_duration not in LOAD_DURATIONS:
            raise ValueError(f"The load duration is one of {', '.join(LOAD_DURATIONS)}.")
        cut_rules(self.notch_rules)
        strength_class(self.assumed_class_at_most)
        for name, (low, high) in RANGES.items():
            value = getattr(self, name)
            if not (math.isfinite(value) and low <= value <= high):
                raise ValueError(f"The setting {name} is {low:g} to {high:g}.")


# Out of these a setting is a slip of the keyboard: our choice.
RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "k_cr": (0.3, 1.0),
        "k_c_90": (1.0, 1.75),
        "bearing_extra_mm": (0, 30),
        "least_bearing_mm": (0, 200),
        "least_bearing_masonry_mm": (0, 300),
        "k_sys": (1.0, 1.1),
        "point_load_kn": (0, 20),
        "plastered_span_over": (100, 1000),
        "bare_span_over": (100, 1000),
        "least_frequency_hz": (1, 30),
        "damping": (0.005, 0.05),
        "k_amp": (1.0, 1.5),
        "void_limit_pct": (12, 25),
        "wet_timber_pct": (20, 40),
        "notch_to_hole_least_mm": (0, 1000),
        "notch_to_hole_wanted_mm": (0, 1000),
        "cable_cover_mm": (0, 100),
        "undrilled_depth_mm": (0, 200),
    }
)

SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "design_span": "Length of the beam that is calculated: the clear span and half of each "
        "bearing (EN 1995-1-1 leaves it to the designer; common practice), or the clear span alone "
        "as the US tables take it (IRC R502.3.1, read).",
        "combination": "Expression of EN 1990 for strength: 6.10 with 1.35 and 1.5 (read in a "
        "lecture on EN 1990), or the pair 6.10a/6.10b with 0.925 of the UK National Annex (from "
        "memory).",
        "k_cr": "Share of the breadth that cracks leave for shear: 0.67 (EN 1995-1-1 6.1.7(2), "
        "read as 2/3); the UK table NA.4 was not seen. It goes with the shear strengths of EN 338 "
        "of 2009 and 2016.",
        "k_c_90": "Factor on crushing at a bearing: 1.0 to be safe; many UK examples take 1.5 for "
        "softwood on separate supports, which needs the load 2 h away (EN 1995-1-1 6.1.5, from "
        "memory).",
        "bearing_extra_mm": "Added to the bearing length on the inner side only, as a joist ends "
        "flush with its bearing: 30 mm (EN 1995-1-1 6.1.5(1), from memory).",
        "least_bearing_mm": "Shortest bearing without a warning: 40 mm, which span tables assume "
        "(NHBC 6.4.8, read).",
        "least_bearing_masonry_mm": "The same on masonry: 90 mm (NHBC Good Craftsmanship Guide, "
        "read).",
        "k_sys": "Help from neighbours through a continuous deck: 1.1 (EN 1995-1-1 6.6, read in "
        "examples); 1.0 leaves it out.",
        "notch_keeps_k_cr": "Whether the crack factor also reduces the breadth at an end notch: "
        "the clause can be read both ways; yes is the safe reading (EN 1995-1-1 6.5.2, from "
        "memory).",
        "point_load_kn": "Concentrated load on a floor, not together with the spread one: 2.0 kN "
        "(UK annex to EN 1991-1-1, category A1, from memory); 1.4 kN in BS 6399-1 (read, quoted).",
        "point_load_duration": "How long the concentrated load stays: medium term to be safe; a "
        "person alone is short term (judgement).",
        "plastered_span_over": "Final deflection with plaster or plasterboard below: span / 250 "
        "(UK National Annex, read in IStructE Technical Guidance Note 19).",
        "bare_span_over": "The same without: span / 150 (read in the same note).",
        "least_frequency_hz": "Lowest natural frequency to which the vibration rules apply: 8 Hz "
        "(EN 1995-1-1 7.3.3, read).",
        "damping": "Damping of a floor: 0.02 in the UK annex (from memory); 0.01 elsewhere (read).",
        "k_amp": "Amplification of deflection by shear: 1.05 for solid joists on two supports, "
        "1.10 where continuous (UK annex NA.2.6.2, from memory).",
        "void_limit_pct": "Above this moisture [%] no capacity is given: service class 2 ends at "
        "20 % for softwood (EN 1995-1-1 2.3.1.3, from memory).",
        "wet_timber_pct": "From this moisture [%] on, timber put into a dry floor dries under load "
        "and creeps more, k_def + 1.0: the code says near fibre saturation (EN 1995-1-1 3.2(4), "
        "from memory); 25 % is our reading of near.",
        "assumed_class_at_most": "Best class softwood without papers may be assumed to be: C16 "
        "(customary, from memory, no authority found). A better one is calculated as asked, with a "
        "warning.",
        "notch_rules": "Edition of the rules of thumb for notches and holes: LABC as the former "
        "BS 5268-2, NHBC 2020, Ireland 1997, an architect's clause, PD 6693-1 and IRC 2018, all "
        "read.",
        "notch_to_hole_least_mm": "Nearest a notch and a hole may come: 100 mm (NHBC 6.4.18, read, "
        "and an architect's clause, read).",
        "notch_to_hole_wanted_mm": "Nearer than this, or than the depth of the joist, is a "
        "warning: 200 mm (PD 6693-1 in one engineer's notes, read); the depth (Ireland 1997, "
        "read).",
        "cable_cover_mm": "From top and bottom of a joist to a cable without protection: 50 mm "
        "(BS 7671 522.6.201, read as quoted).",
        "undrilled_depth_mm": "Joists as shallow as this or more are not notched or drilled by "
        "rule of thumb: 100 mm (City & Guilds plumbing book 1 p. 336, read; a tubing maker, read).",
    }
)
