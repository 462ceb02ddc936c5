"""Each check of a joist in words: what it is called, its unit and its clause."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from apps.checks.joist_input import JoistInput
from apps.checks.member import AT_LEAST
from apps.checks.results import Check, against

# code: (what, unit, clause)
WORDS: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "bending": ("The bending stress", "N/mm²", "EN 1995-1-1 6.1.6, 6.3.3"),
        "shear": ("The shear stress at the bearing", "N/mm²", "EN 1995-1-1 6.1.7"),
        "bearing": ("The pressure on the bearing", "N/mm²", "EN 1995-1-1 6.1.5"),
        "deflection": (
            "The final sag",
            "mm",
            "EN 1995-1-1 2.2.3, 7.2 and UK annex NA.5",
        ),
        "frequency": ("The natural frequency", "Hz", "EN 1995-1-1 7.3.3(2)"),
        "unit_deflection": (
            "The sag under 1 kN (a footstep)",
            "mm",
            "EN 1995-1-1 7.3.3(4) and UK annex NA.2.6.2",
        ),
        "notch_to_hole": (
            "The wood between a notch and a hole",
            "mm",
            "rule of thumb: NHBC 6.4.18 (2020)",
        ),
        "impulse": (
            "The velocity after a blow",
            "m/(Ns²)",
            "EN 1995-1-1 7.3.3(4) and UK annex NA.2.6.2",
        ),
    }
)
CASES: Mapping[str, str] = MappingProxyType(
    {"permanent": " under the permanent load alone", "point": " under the concentrated load"}
)
AT_CUTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "bending": ("the bending stress", "EN 1995-1-1 6.1.6 on the net section"),
        "shear": ("the shear stress", "EN 1995-1-1 6.1.7 on the net section"),
        "end_notch": ("the shear stress over the notched bearing", "EN 1995-1-1 6.5.2"),
    }
)


def in_words(code: str, demand: float, capacity: float, given: JoistInput) -> Check:
    """A demand and its capacity as a check with its sentence."""
    if code.startswith("cut_"):
        number, _, kind = code.removeprefix("cut_").partition("_")
        cut = given.cuts[int(number) - 1]
        stress, clause = AT_CUTS[kind]
        what = f"At the {cut.kind} {cut.at_mm} mm from the left, {stress}"
        return against(code, what, demand=demand, capacity=capacity, unit="N/mm²", clause=clause)
    base, _, case = code.rpartition("_")
    if case not in CASES:
        base, case = code, ""
    what, unit, clause = WORDS[base]
    if code == "deflection":
        what += " with a plastered ceiling" if given.ceiling == "plastered" else ", no ceiling"
    return against(
        code,
        what + CASES.get(case, ""),
        demand=demand,
        capacity=capacity,
        unit=unit,
        clause=clause,
        at_least=code in AT_LEAST,
    )
