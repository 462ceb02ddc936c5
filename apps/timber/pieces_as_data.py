"""Pieces, their defects and readings, and needs as plain data: what the pure modules work on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class Stored(StrEnum):
    """Where a piece lies: in a room, under a roof open to the air, or in the rain."""

    DRY = "dry"
    COVERED = "covered"
    OUTSIDE = "outside"


class PieceState(StrEnum):
    """What has become of a piece."""

    IN_STOCK = "in_stock"
    RESERVED = "reserved"
    CUT = "cut"
    USED = "used"
    SCRAPPED = "scrapped"


class Source(StrEnum):
    """Where a piece comes from."""

    SALVAGED = "salvaged"
    BOUGHT = "bought"
    OFFCUT = "offcut"


class GradeBasis(StrEnum):
    """Why a piece is taken to be of its strength class."""

    STAMPED = "stamped"
    GRADED_BY = "graded_by"
    ASSUMED = "assumed"


class DefectKind(StrEnum):
    """What is wrong, or was made, in a piece."""

    DECAY = "decay"
    SPLIT = "split"
    KNOT = "knot"
    NOTCH = "notch"
    HOLE = "hole"
    INSECT = "insect"
    NAILS = "nails"
    BOW = "bow"


class Severity(StrEnum):
    """How bad a defect is, least first."""

    SLIGHT = "slight"
    MODERATE = "moderate"
    SEVERE = "severe"


class Face(StrEnum):
    """Where a defect shows, as the piece will lie."""

    TOP = "top"
    BOTTOM = "bottom"
    LEFT = "left"
    RIGHT = "right"
    ALL = "all"


class Role(StrEnum):
    """What a piece is wanted as."""

    JOIST = "joist"
    SISTER = "sister"
    LAP_END = "lap_end"
    NOGGIN = "noggin"
    PLATE = "plate"
    BATTEN = "batten"
    PACKER = "packer"
    TRIMMER = "trimmer"
    STRUT = "strut"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class DefectData:
    """A defect along a piece.

    Attributes:
        kind: a `DefectKind`.
        from_mm, to_mm: from the marked end [mm].
        severity: a `Severity`.
        face: a `Face`.
        drawn: nails that have been drawn; they count no more.
    """

    kind: str
    from_mm: int
    to_mm: int
    severity: str = Severity.MODERATE
    face: str = Face.ALL
    drawn: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingData:
    """A reading of a moisture meter, as it stood on the meter.

    Attributes:
        read_at: when, aware.
        measured_pct: as read, uncorrected [%].
        at_mm: from the marked end [mm].
        wood_temperature_c: of the wood [°C]; None: not measured, no correction.
        species_correction_pct: added to the reading for the species [% points].
    """

    read_at: datetime
    measured_pct: float
    at_mm: int = 0
    wood_temperature_c: float | None = None
    species_correction_pct: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceData:
    """A piece of timber.

    Attributes:
        id, mark: of the row, and what is painted on it (`T14`).
        breadth_mm, depth_mm, length_mm: as measured [mm].
        strength_class: an EN 338 class; empty: none assumed.
        grade_basis: a `GradeBasis`.
        source, stored, state: a `Source`, a `Stored` and a `PieceState`.
        treated: with preservative.
        defects, readings: in any order.
    """

    id: int
    mark: str
    breadth_mm: int
    depth_mm: int
    length_mm: int
    strength_class: str = ""
    grade_basis: str = GradeBasis.ASSUMED
    source: str = Source.SALVAGED
    stored: str = Stored.DRY
    state: str = PieceState.IN_STOCK
    treated: bool = False
    defects: tuple[DefectData, ...] = ()
    readings: tuple[ReadingData, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedData:
    """Timber that is wanted.

    Attributes:
        role: a `Role`.
        quantity: of pieces alike.
        length_mm, breadth_mm, depth_mm: of each [mm].
        strength_class: the least; empty: any.
        moisture_limit_pct: the wettest [%]; None: any.
        treated: preservative-treated timber is wanted.
        priority: 1 (first) to 9.
        needed_by: the day the work wants it; None: no day yet.
    """

    id: int
    role: str
    title: str
    quantity: int
    length_mm: int
    breadth_mm: int
    depth_mm: int
    strength_class: str = ""
    moisture_limit_pct: float | None = 20.0
    treated: bool = False
    priority: int = 5
    needed_by: date | None = None
