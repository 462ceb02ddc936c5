"""Field names as people say them: the unit taken off and put beside, codes as words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from apps.checks.bearing_input import MATERIALS
from apps.checks.cut_rules import CUT_RULES
from apps.checks.decay_settings import ALLOWANCES
from apps.checks.drilling import PURPOSES
from apps.checks.fasteners import COMMON
from apps.checks.joist_input import (
    BEARING_KINDS,
    CEILINGS,
    DECK_E,
    KNOWN_LAYERS,
    PARTITION_LINES,
)
from apps.checks.lap_input import ENDS
from apps.checks.results import GRADE_BASES
from apps.checks.sister_input import DECK_ON
from apps.checks.strength import CLASSES, LOAD_DURATIONS, SERVICE_CLASSES
from apps.checks.trimming_input import KINDS as TRIMMERS
from apps.pages.screens.checks.shapes import Shape

UNITS: tuple[tuple[str, str], ...] = (
    ("_mm_per_m", "mm per m"), ("_kn_m2", "kN/m²"), ("_kg_m3", "kg/m³"), ("_n_mm2", "N/mm²"),
    ("_n_mm", "N/mm"), ("_kn_m", "kN/m"), ("_mm2", "mm²"), ("_mm", "mm"), ("_pct", "%"),
    ("_deg", "degrees"), ("_hz", "Hz"), ("_kn", "kN"), ("_n", "N"),
)  # fmt: skip
"""By the end of a field's name, the longest first."""

LABELS: Mapping[str, str] = MappingProxyType(
    {
        "a": "One side", "b": "The other side", "across": "Across the joists",
        "along": "Along the joist", "at": "Place along it", "boards_on": "Boards are on",
        "breadth": "Breadth (thickness)", "centres": "Joist centres", "clear": "Clear height below",
        "cut": "Saw cut, from the bearing", "cuts": "Notches and holes",
        "dead": "Weight of the floor",
        "decayed": "Rotten stretches", "dpc": "Damp-proof course under it",
        "drill": "Hole to drill",
        "fastener": "Fixing", "fixed_by": "Fixed with", "flatness": "How flat",
        "from": "From", "grade_basis": "How the class is known", "head": "Piece under the head",
        "imposed": "Load of people and furniture", "infill": "Solid parts in the void",
        "lap": "Lap (empty: the shortest that passes)", "layers": "Layers of the floor",
        "moisture": "Moisture when measured", "new": "New joist beside it", "old": "Old joist",
        "openings": "Air bricks", "outline": "Corners of the void",
        "point": "Piece at the point", "points": "Loads at a point", "probe": "Bradawl goes in",
        "size": "Length of notch, or hole across", "spacing": "Centre to centre",
        "span": "Clear span", "spots": "Heights measured", "target": "Height to reach",
        "beyond": "What is beyond each wall", "under_plate": "Clear under the wall plate",
        "through_split": "Split right through", "void_moisture": "Moisture in the void",
    }
)  # fmt: skip
OWN_LABELS: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("FixingInput", "point"): "Piece at the point", ("Opening", "at_mm"): "Where (x, y)",
        ("Opening", "at"): "Where: x, y", ("Deck", "thickness_mm"): "Thickness of the deck",
        ("TrimmerAsked", "trimmed"): "Joists hung on it",
        ("LapInput", "depth_mm"): "Depth of the new piece",
        ("LapInput", "breadth_mm"): "Breadth of the new piece",
        ("LapInput", "strength_class"): "Strength class of the new piece",
        ("BearingInput", "length_mm"): "Length it bears",
        ("TrimmedJoists", "first_mm"): "First joist at",
    }
)  # fmt: skip
# The words a field may be, from the modules that know them, where its type is only a text.
KNOWN: Mapping[str, tuple[object, ...]] = MappingProxyType(
    {
        "strength_class": tuple(CLASSES), "grade_basis": tuple(GRADE_BASES), "ceiling": CEILINGS,
        "service_class": SERVICE_CLASSES, "load_duration": LOAD_DURATIONS, "end": ENDS,
        "line": PARTITION_LINES, "deck_on": DECK_ON, "purpose": PURPOSES, "sides": (1, 2),
        "material": tuple(MATERIALS), "allowance": tuple(ALLOWANCES),
        "notch_rules": tuple(CUT_RULES),
        "edge": ("top", "bottom", "centre"), "point_load_duration": LOAD_DURATIONS,
    }
)  # fmt: skip
OWN_KNOWN: Mapping[tuple[str, str], tuple[object, ...]] = MappingProxyType(
    {
        ("Cut", "kind"): ("notch", "hole"), ("Bearing", "kind"): BEARING_KINDS,
        ("BearingInput", "kind"): BEARING_KINDS, ("Deck", "kind"): tuple(DECK_E),
        ("DeckInput", "kind"): tuple(DECK_E), ("TrimmerInput", "kind"): TRIMMERS,
    }
)  # fmt: skip
SAID: Mapping[str, str] = MappingProxyType(
    {
        **{name: str(fastener) for name, fastener in COMMON.items()},
        **GRADE_BASES,
        "osb": "OSB", "dpc": "DPC", "none": "none",
    }
)  # fmt: skip
HINTS: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("VentilationAsked", "outline"): "x y in mm, one corner after the other, commas between.",
        ("VentilationAsked", "beyond"): "Wall by wall from the first corner, commas between: "
        "outside, solid_floor, void or inside.",
        ("VentilationAsked", "infill"): "Corners as above; a semicolon between two parts.",
        ("Layer", "name"): "With no weight given, one of " + ", ".join(KNOWN_LAYERS) + ".",
    }
)  # fmt: skip


def split(name: str) -> tuple[str, str]:
    """A name without its unit, and the unit."""
    for end, unit in UNITS:
        if name.endswith(end):
            return name.removesuffix(end), unit
    return name, ""


def label_of(shape: Shape) -> tuple[str, str]:
    """What a field is called, and the unit beside it."""
    stem, unit = split(shape.name)
    own = OWN_LABELS.get((shape.owner.__name__, shape.name))
    return own or LABELS.get(stem) or in_words(stem), unit


def in_words(code: str) -> str:
    words = code.replace("_", " ").strip()
    return f"{words[:1].upper()}{words[1:]}"


def said(word: object) -> str:
    """One of some words as it is read."""
    return SAID.get(str(word), str(word).replace("_", " "))


def words_of(shape: Shape) -> tuple[object, ...]:
    """What a field may be; empty where it is free."""
    own = OWN_KNOWN.get((shape.owner.__name__, shape.name))
    return shape.words or own or KNOWN.get(shape.name, ())


def hint_of(shape: Shape) -> str:
    """What its dataclass says of a field, for people."""
    own = HINTS.get((shape.owner.__name__, shape.name))
    if own is not None:
        return own
    text = re.sub(r"`(\w+?)(_mm|_pct)?`", lambda found: in_words(found[1]).lower(), shape.told)
    text = re.sub(r"\bNone( for both at once)?( at an end)?:", "left empty:", text)
    return f"{text[:1].upper()}{text[1:]}"
