"""What the check of a bearing is asked with. Every refusal is a ValueError with a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from apps.checks.asked import between, one_of
from apps.checks.joist_input import BEARING_KINDS
from apps.checks.results import GRADE_BASES
from apps.checks.settings import COMBINATIONS
from apps.checks.strength import k_mod, strength_class

MATERIALS: Mapping[str, str] = MappingProxyType(
    {
        "slate": "slate",
        "tile": "tile in mortar",
        "steel": "steel",
        "plastic": "structural plastic",
        "hardwood": "hardwood",
        "plywood": "plywood",
        "softwood": "softwood",
        "cardboard": "cardboard or felt",
    }
)
"""What a packer may be made of."""

HARD = frozenset({"slate", "tile", "steel", "plastic", "plywood"})
"""Slate and tile: NHBC Good Craftsmanship Guide (read). Steel, plastic, and plywood with sealed
edges on a dry seat: common practice, no source."""

ON_MASONRY = frozenset({"wall_plate", "masonry_pocket", "sleeper_wall"})


@dataclass(frozen=True, slots=True)
class Least:
    """Which setting is the least length on a kind of bearing, and what it is called."""

    setting: str
    where: str
    source: str


PLATE = Least("least_bearing_mm", "on the plate", "NHBC Standards 6.4.8, read")
LEASTS: Mapping[str, Least] = MappingProxyType(
    {
        "wall_plate": PLATE,
        "sleeper_wall": PLATE,
        "masonry_pocket": Least(
            "least_masonry_mm", "on masonry", "NHBC Good Craftsmanship Guide, read"
        ),
        "hanger": Least("least_hanger_mm", "in the hanger", "NHBC Standards 6.4.13 (2024), read"),
        "trimmer": Least("least_bearing_mm", "on the trimmer", "NHBC Standards 6.4.8, read"),
        "other": Least("least_bearing_mm", "on its support", "NHBC Standards 6.4.8, read"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BearingSettings:
    """Where sources differ or are silent; every field has a sentence in `SENTENCES`."""

    least_bearing_mm: float = 40.0
    least_masonry_mm: float = 90.0
    least_hanger_mm: float = 75.0
    k_c_90: float = 1.0
    bearing_extra_mm: float = 30.0
    combination: str = "6.10"
    most_packing_mm: float = 25.0
    most_packers: int = 3
    most_hanger_gap_mm: float = 6.0
    least_hanger_share: float = 0.6
    least_masonry_above_mm: float = 675.0

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for a setting out of range."""
        one_of("The combination of loads", self.combination, COMBINATIONS)
        for name, (low, high) in RANGES.items():
            between(f"The setting {name}", getattr(self, name), low, high, "")

    def least_mm(self, kind: str) -> tuple[float, str]:
        """The least length on a kind of bearing, and its source."""
        least = LEASTS[kind]
        return float(getattr(self, least.setting)), least.source


RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "least_bearing_mm": (10, 200),
        "least_masonry_mm": (10, 300),
        "least_hanger_mm": (10, 200),
        "k_c_90": (1.0, 1.75),
        "bearing_extra_mm": (0, 30),
        "most_packing_mm": (1, 200),
        "most_packers": (1, 20),
        "most_hanger_gap_mm": (1, 20),
        "least_hanger_share": (0.3, 1.0),
        "least_masonry_above_mm": (1, 3000),
    }
)
SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "least_bearing_mm": "Shortest bearing on a plate: 40 mm, which span tables assume "
        "(NHBC 6.4.8, read); 1½ inches on wood in the US (IRC R502.6, read at second hand).",
        "least_masonry_mm": "Shortest bearing on masonry: 90 mm (NHBC Good Craftsmanship Guide, "
        "read); 3 inches in the US (IRC R502.6, read at second hand).",
        "least_hanger_mm": "Joist on the seat of a hanger, and hanger on the masonry: 75 mm "
        "(NHBC 6.4.13, 2024, read).",
        "k_c_90": "Factor on crushing: 1.0 to be safe; many UK examples take 1.5 for softwood on "
        "separate supports, which needs the load 2 h away (EN 1995-1-1 6.1.5, from memory).",
        "bearing_extra_mm": "Added to the length on the inner side only, as a joist ends flush "
        "with its bearing: 30 mm (EN 1995-1-1 6.1.5(1), from memory).",
        "combination": "Expression of EN 1990 for strength: 6.10 (read in a lecture), or the pair "
        "6.10a/6.10b with 0.925 of the UK annex (from memory).",
        "most_packing_mm": "Highest stack of packers: 25 mm, above it a cut bearer (common "
        "practice, no source).",
        "most_packers": "Most packers in a stack: 3 (common practice, no source).",
        "most_hanger_gap_mm": "Widest gap from a joist's end to the back of its hanger: 6 mm "
        "(from memory, medium).",
        "least_hanger_share": "Lower than this share of the joist's depth a hanger is a warning: "
        "0.6 (makers' advice, from memory, medium).",
        "least_masonry_above_mm": "Masonry built and set above a built-in hanger before it is "
        "loaded: 675 mm (NHBC Technical Guidance 6.4/09, read: typically).",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BearingPacker:
    """One packer under a joist's end; `material` is one of `MATERIALS`."""

    thickness_mm: float
    material: str

    def __post_init__(self) -> None:
        between("The thickness of a packer", self.thickness_mm, 0.1, 200)
        one_of("A packer", self.material, tuple(MATERIALS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanger:
    """A steel hanger.

    Attributes:
        seat_mm: how much of the joist its seat can take.
        height_mm, breadth_mm: of its sides, and between them.
        round_holes, nailed_holes: round holes, and how many have a nail.
        wall_bearing_mm, masonry_above_mm: of one built into masonry; None: it is nailed to timber.
        gap_mm: behind the joist's end; None: not measured.
    """

    seat_mm: float
    height_mm: float
    breadth_mm: float
    round_holes: int
    nailed_holes: int
    wall_bearing_mm: float | None = None
    masonry_above_mm: float | None = None
    gap_mm: float | None = None

    def __post_init__(self) -> None:
        between("The seat of a hanger", self.seat_mm, 1, 500)
        between("The height of a hanger", self.height_mm, 10, 800)
        between("The width of a hanger", self.breadth_mm, 10, 400)
        between("The holes of a hanger", self.round_holes, 1, 500, "")
        between("The nailed holes", self.nailed_holes, 0, self.round_holes, "")
        for what, value in (
            ("What a hanger bears on the wall", self.wall_bearing_mm),
            ("The masonry above a hanger", self.masonry_above_mm),
            ("The gap behind the joist", self.gap_mm),
        ):
            if value is not None:
                between(what, value, 0, 20_000)
        if self.wall_bearing_mm == 0:
            raise ValueError("A hanger bears on the wall by more than 0 mm.")


@dataclass(frozen=True, slots=True, kw_only=True)
class BearingInput:
    """One end of one joist.

    Attributes:
        kind: one of `BEARING_KINDS`.
        length_mm: on sound timber, along the joist.
        breadth_mm, depth_mm: of the joist.
        permanent_n, imposed_n, point_n: what it brings down, characteristic; the concentrated load
            is not together with the imposed one.
        dpc: whether a damp-proof course lies under it; None: not known.
        outer_wall, treated: whether the wall is an outer one, the joist's end preserved.
        hanger: needed for kind "hanger".
    """

    kind: str
    length_mm: float
    breadth_mm: float
    depth_mm: float
    strength_class: str
    permanent_n: float
    imposed_n: float
    point_n: float = 0.0
    grade_basis: str = "assumed"
    graded_by: str = ""
    service_class: int = 2
    load_duration: str = "medium_term"
    packers: tuple[BearingPacker, ...] = ()
    dpc: bool | None = None
    outer_wall: bool = False
    treated: bool = False
    hanger: Hanger | None = None
    settings: BearingSettings = BearingSettings()

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a bearing."""
        one_of("The kind of bearing", self.kind, BEARING_KINDS)
        between("A bearing", self.length_mm, 1, 1000)
        between("The breadth of a joist", self.breadth_mm, 10, 400)
        between("The depth of a joist", self.depth_mm, 20, 800)
        for what, load in (
            ("The permanent load on a bearing", self.permanent_n),
            ("The imposed load on a bearing", self.imposed_n),
            ("The point load on a bearing", self.point_n),
        ):
            between(what, load, 0, 1e6, "N")
        if self.permanent_n + self.imposed_n + self.point_n <= 0:
            raise ValueError("Something stands on a bearing: give its load.")
        if self.hanger is not None and self.kind != "hanger":
            raise ValueError("A hanger is given for a bearing in a hanger.")
        one_of("How the class is known", self.grade_basis, tuple(GRADE_BASES))
        strength_class(self.strength_class)
        k_mod(self.service_class, self.load_duration)
