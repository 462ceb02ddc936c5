"""What a joist check is asked with. Every refusal is a ValueError with a sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from apps.checks.results import GRADE_BASES
from apps.checks.settings import Settings
from apps.checks.strength import LOAD_DURATIONS, SERVICE_CLASSES, strength_class

BEARING_KINDS = ("wall_plate", "masonry_pocket", "sleeper_wall", "hanger", "trimmer", "other")
CEILINGS = ("plastered", "none")
PARTITION_LINES = ("along", "across", "movable")
DEFAULT_BEARING_MM = 40  # what span tables assume: NHBC 6.4.8, read

# Weights of layers in kN/m². Boards, lath and plaster: common handbooks, from memory, medium; the
# sheets from their usual densities (chipboard 650, OSB 620, plywood 550, plasterboard 700 kg/m³,
# gypsum plaster 1000), from memory, medium.
KNOWN_LAYERS: Mapping[str, float] = MappingProxyType(
    {
        "boards": 0.10,
        "chipboard_18": 0.115,
        "chipboard_22": 0.14,
        "osb_18": 0.11,
        "plywood_18": 0.10,
        "plasterboard_12.5": 0.09,
        "plasterboard_15": 0.105,
        "skim_3": 0.03,
        "lath_and_plaster": 0.50,
        "carpet_and_underlay": 0.05,
        "tiles_and_bed": 0.45,
        "wool_100": 0.02,
    }
)
# Stiffness of decks across the joists [N/mm²]. P5 chipboard 20–25 mm: from memory, medium.
# OSB/3 18–25 mm along its strength axis (EN 12369-1): from memory, medium. Plywood, and boards as
# the softwood of C14 along the grain: from memory, low.
DECK_E: Mapping[str, float] = MappingProxyType(
    {"boards": 7000.0, "chipboard": 3000.0, "osb": 4930.0, "plywood": 6000.0}
)


def _number(what: str, value: float, low: float, high: float, unit: str = "mm") -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise ValueError(f"{what} is {low:g} to {high:g} {unit}".rstrip() + ".")


def _word(what: str, value: object, known: tuple[object, ...]) -> None:
    if value not in known:
        raise ValueError(f"{what} is one of {', '.join(str(one) for one in known)}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of a floor: a known name, or a weight, or a thickness and a density."""

    name: str
    kn_m2: float | None = None
    thickness_mm: float | None = None
    density_kg_m3: float | None = None

    def __post_init__(self) -> None:
        _number(f"The weight of {self.name or 'a layer'}", self.weight_kn_m2, 0, 10, "kN/m²")

    @property
    def weight_kn_m2(self) -> float:
        """What the layer weighs; ValueError where nothing tells."""
        if self.kn_m2 is not None:
            return self.kn_m2
        if self.thickness_mm is not None and self.density_kg_m3 is not None:
            _number("The thickness of a layer", self.thickness_mm, 0, 500)
            _number("The density of a layer", self.density_kg_m3, 0, 5000, "kg/m³")
            return self.thickness_mm * self.density_kg_m3 * 9.81e-6
        if self.name in KNOWN_LAYERS:
            return KNOWN_LAYERS[self.name]
        raise ValueError(
            f"Give the weight of the layer {self.name!r}, or its thickness and density; known by "
            f"name are {', '.join(KNOWN_LAYERS)}."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Partition:
    """A wall standing on the floor [kN per metre of wall].

    Attributes:
        line: "along" the joist (its whole weight on it and those that share), "across" it (a point
            load at `at_mm`), or "movable" (spread: 0.5, 0.8 or 1.2 kN/m², EN 1991-1-1 6.3.1.2(8),
            from memory).
        at_mm: across: from the left end of the clear span; None: mid-span, the worst place.
        shared_by: along: how many joists side by side carry it.
    """

    line: str
    kn_m: float
    at_mm: int | None = None
    shared_by: int = 1

    def __post_init__(self) -> None:
        _word("The line of a partition", self.line, PARTITION_LINES)
        _number("The weight of a partition", self.kn_m, 0, 20, "kN/m")
        _number("How many joists share a partition", self.shared_by, 1, 10, "")
        if self.line == "movable" and self.kn_m > 3.0:
            raise ValueError(
                "A movable partition weighs at most 3.0 kN/m: a heavier one is entered where it "
                "stands, along or across."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Deck:
    """What lies on the joists.

    Attributes:
        thickness_mm: of the deck.
        kind: "boards", "chipboard", "osb" or "plywood".
        e_n_mm2: stiffness across the joists; None: the usual one of its kind.
        continuous: runs over two or more spans.
    """

    thickness_mm: float
    kind: str = "boards"
    e_n_mm2: float | None = None
    continuous: bool = True

    def __post_init__(self) -> None:
        _number("The thickness of a deck", self.thickness_mm, 6, 100)
        _word("The kind of deck", self.kind, tuple(DECK_E))
        if self.e_n_mm2 is not None:
            _number("The stiffness of a deck", self.e_n_mm2, 100, 20_000, "N/mm²")

    @property
    def ei_nmm2_m(self) -> float:
        """Bending stiffness across the joists [Nmm² per metre width]."""
        e = DECK_E[self.kind] if self.e_n_mm2 is None else self.e_n_mm2
        return e * self.thickness_mm**3 / 12 * 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """What one end rests on."""

    length_mm: int
    kind: str = "wall_plate"

    def __post_init__(self) -> None:
        _number("A bearing", self.length_mm, 1, 1000)
        _word("The kind of bearing", self.kind, BEARING_KINDS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A notch or a hole.

    Attributes:
        at_mm: its middle, from the left end of the clear span; below 0 it is on the left bearing.
        size_mm: length of a notch along the joist; diameter of a hole.
        depth_mm: of a notch from its edge; from the edge to the middle of a hole (no matter for a
            hole on the centre line).
        kind: "notch" or "hole"; a notch at the centre is a mortice right through, `depth_mm` high.
        edge: "top", "bottom" or "centre".
    """

    at_mm: int
    size_mm: int
    depth_mm: int
    kind: str
    edge: str = "top"

    def __post_init__(self) -> None:
        _number("The place of a cut", self.at_mm, -1000, 21_000)
        _number("The size of a cut", self.size_mm, 0, 20_000)
        _number("The depth of a cut", self.depth_mm, 0, 20_000)
        _word("A cut", self.kind, ("notch", "hole"))
        _word("The edge of a cut", self.edge, ("top", "bottom", "centre"))

    @property
    def from_mm(self) -> float:
        """Where it begins along the joist."""
        return self.at_mm - self.size_mm / 2

    @property
    def to_mm(self) -> float:
        """Where it ends along the joist."""
        return self.at_mm + self.size_mm / 2

    def gone(self, depth_mm: float) -> tuple[float, float]:
        """From which to which height above the bottom edge the wood is gone [mm].

        A hole whose middle was measured nearer its edge than its radius touches that edge.
        """
        if self.kind == "notch" and self.edge != "centre":
            deep = min(float(self.depth_mm), depth_mm)
            return (depth_mm - deep, depth_mm) if self.edge == "top" else (0.0, deep)
        half = (self.size_mm if self.kind == "hole" else self.depth_mm) / 2
        middle = {
            "centre": depth_mm / 2,
            "top": depth_mm - max(self.depth_mm, half),
            "bottom": max(float(self.depth_mm), half),
        }[self.edge]
        return max(middle - half, 0.0), min(middle + half, depth_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class JoistInput:
    """One joist on two supports; lengths in mm, loads in kN/m² of floor.

    Attributes:
        span_mm: clear span, face to face of the bearings.
        breadth_mm, depth_mm: as measured.
        moisture_pct: of the joist when it was measured; None: taken as 20 %.
        spacing_mm: centre to centre.
        strength_class: of EN 338, "C16".
        grade_basis: "stamped", "graded_by" or "assumed"; graded_by: who graded it.
        dead_kn_m2: floor and ceiling without the joists, whose own weight is added; None: from
            `layers`.
        imposed_kn_m2: 1.5 for a home (UK annex to EN 1991-1-1, category A1; read in NHBC 6.4.8).
        load_sharing: stands in a row of equal joists (not a trimmer, a lone beam, one beside an
            opening).
        deck: None: not known, and vibration is then judged without help from neighbours.
        boards_on: off: the top edge is free to buckle sideways and neighbours do not help.
        ceiling: "plastered" or "none".
        strutting_rows: rows of strutting, properly fitted.
        floor_width_mm: across the joists, wall to wall; None: a square room.
        bearings: left and right; empty: 40 mm each.
        decayed: stretches of rot, from and to.
        void_moisture_pct: what joists in this void read.
    """

    span_mm: int
    breadth_mm: float
    depth_mm: float
    spacing_mm: int
    strength_class: str
    moisture_pct: float | None = None
    grade_basis: str = "assumed"
    graded_by: str = ""
    dead_kn_m2: float | None = None
    layers: tuple[Layer, ...] = ()
    imposed_kn_m2: float = 1.5
    partitions: tuple[Partition, ...] = ()
    load_sharing: bool = True
    service_class: int = 2
    load_duration: str = "medium_term"
    deck: Deck | None = None
    boards_on: bool = True
    ceiling: str = "plastered"
    strutting_rows: int = 0
    floor_width_mm: int | None = None
    bearings: tuple[Bearing, ...] = ()
    cuts: tuple[Cut, ...] = ()
    decayed: tuple[tuple[int, int], ...] = ()
    through_split: bool = False
    void_moisture_pct: float | None = None
    settings: Settings = field(default_factory=Settings)

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a joist."""
        _number("The clear span", self.span_mm, 100, 20_000)
        _number("The breadth of a joist", self.breadth_mm, 10, 400)
        _number("The depth of a joist", self.depth_mm, 20, 800)
        _number("The spacing of joists", self.spacing_mm, 50, 3000)
        _number("The imposed load", self.imposed_kn_m2, 0, 20, "kN/m²")
        _number("The rows of strutting", self.strutting_rows, 0, 10, "")
        for what, moisture in (
            ("The moisture of the joist", self.moisture_pct),
            ("The moisture in the void", self.void_moisture_pct),
        ):
            if moisture is not None:
                _number(what, moisture, 0, 200, "%")
        if self.floor_width_mm is not None:
            _number("The width of the floor", self.floor_width_mm, 100, 50_000)
        if self.dead_kn_m2 is not None:
            _number("The dead load", self.dead_kn_m2, 0, 20, "kN/m²")
        elif not self.layers:
            raise ValueError("Give the dead load, or the layers of the floor and the ceiling.")
        if len(self.bearings) not in {0, 2}:
            raise ValueError("Give two bearings, left and right, or none.")
        for start, end in self.decayed:
            if start >= end:
                raise ValueError("A decayed stretch ends after it begins.")
        _word("How the class is known", self.grade_basis, tuple(GRADE_BASES))
        _word("The service class", self.service_class, SERVICE_CLASSES)
        _word("The load duration", self.load_duration, LOAD_DURATIONS)
        _word("The ceiling", self.ceiling, CEILINGS)
        strength_class(self.strength_class)

    @property
    def dead(self) -> float:
        """Dead load without the joists [kN/m²]."""
        if self.dead_kn_m2 is not None:
            return self.dead_kn_m2
        return sum(layer.weight_kn_m2 for layer in self.layers)

    @property
    def ends(self) -> tuple[Bearing, Bearing]:
        """The two bearings, with the usual ones where none were given."""
        if self.bearings:
            return self.bearings[0], self.bearings[1]
        return Bearing(length_mm=DEFAULT_BEARING_MM), Bearing(length_mm=DEFAULT_BEARING_MM)
