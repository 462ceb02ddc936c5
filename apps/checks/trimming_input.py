"""What the check of a trimmer is asked with, and its answer. Every refusal is a ValueError."""

from __future__ import annotations

from dataclasses import dataclass, field

from apps.checks.asked import between, one_of
from apps.checks.joist_input import CEILINGS, DEFAULT_BEARING_MM, Bearing
from apps.checks.results import GRADE_BASES, Outcome
from apps.checks.settings import Settings
from apps.checks.strength import k_mod, strength_class

KINDS = ("trimmer", "trimming_joist")
MOST_POINTS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class PointLoad:
    """A load at a place from the left end of the clear span [N, characteristic]."""

    at_mm: float
    permanent_n: float
    imposed_n: float

    def __post_init__(self) -> None:
        between("The place of a load", self.at_mm, 0, 20_000)
        between("A permanent load", self.permanent_n, 0, 1e6, "N")
        between("An imposed load", self.imposed_n, 0, 1e6, "N")


def trimmed_joists(
    *,
    first_mm: float,
    spacing_mm: float,
    count: int,
    joist_span_mm: float,
    dead_kn_m2: float,
    imposed_kn_m2: float = 1.5,
    joist_kn_m: float = 0.0,
) -> tuple[PointLoad, ...]:
    """What trimmed joists put on their trimmer: each the half of what stands on it.

    Args:
        first_mm: the first of them, from the left end of the trimmer's clear span.
        joist_span_mm: of the trimmed joists.
        dead_kn_m2: floor and ceiling without the joists.
        joist_kn_m: weight of a trimmed joist itself.
    """
    between("The trimmed joists", count, 1, MOST_POINTS, "")
    between("The spacing of trimmed joists", spacing_mm, 50, 3000)
    between("The span of trimmed joists", joist_span_mm, 100, 20_000)
    between("The dead load", dead_kn_m2, 0, 20, "kN/m²")
    between("The imposed load", imposed_kn_m2, 0, 20, "kN/m²")
    between("The weight of a joist", joist_kn_m, 0, 5, "kN/m")
    half = joist_span_mm / 2
    return tuple(
        PointLoad(
            at_mm=first_mm + number * spacing_mm,
            permanent_n=(dead_kn_m2 * spacing_mm * 1e-3 + joist_kn_m) * half,
            imposed_n=imposed_kn_m2 * spacing_mm * 1e-3 * half,
        )
        for number in range(count)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimmerInput:
    """A trimmer, which carries the trimmed joists, or a trimming joist, which carries the trimmer.

    Attributes:
        span_mm: clear span.
        breadth_mm, depth_mm: of one piece, as measured at `moisture_pct` (None: 20 %).
        pieces: how many stand side by side, bolted together.
        strip_mm: width of floor it carries along its whole length: for a trimming joist half the
            gaps to its neighbours; 0: none.
        dead_kn_m2, imposed_kn_m2: on that strip, without the timber's own weight.
        points: trimmed joists, or the trimmer.
        common_breadth_mm: of the common joists of this floor; None: not known.
        boards_on: the top edge is held by boards or by the joists hung on it.
        bearings: left and right; empty: 40 mm each.
    """

    span_mm: int
    breadth_mm: float
    depth_mm: float
    strength_class: str
    kind: str = "trimmer"
    pieces: int = 1
    grade_basis: str = "assumed"
    graded_by: str = ""
    moisture_pct: float | None = None
    dead_kn_m2: float = 0.0
    imposed_kn_m2: float = 1.5
    strip_mm: float = 0.0
    points: tuple[PointLoad, ...] = ()
    common_breadth_mm: float | None = None
    service_class: int = 2
    load_duration: str = "medium_term"
    ceiling: str = "plastered"
    boards_on: bool = True
    bearings: tuple[Bearing, ...] = ()
    settings: Settings = field(default_factory=Settings)

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a trimmer."""
        between("The clear span", self.span_mm, 100, 20_000)
        between("The breadth of a trimmer", self.breadth_mm, 10, 400)
        between("The depth of a trimmer", self.depth_mm, 20, 800)
        between("The pieces side by side", self.pieces, 1, 6, "")
        between("The dead load", self.dead_kn_m2, 0, 20, "kN/m²")
        between("The imposed load", self.imposed_kn_m2, 0, 20, "kN/m²")
        between("The strip of floor", self.strip_mm, 0, 10_000)
        if self.moisture_pct is not None:
            between("The moisture of the trimmer", self.moisture_pct, 0, 200, "%")
        if self.common_breadth_mm is not None:
            between("The breadth of the common joists", self.common_breadth_mm, 10, 400)
        one_of("A trimmer", self.kind, KINDS)
        one_of("The ceiling", self.ceiling, CEILINGS)
        one_of("How the class is known", self.grade_basis, tuple(GRADE_BASES))
        if len(self.points) > MOST_POINTS:
            raise ValueError(f"At most {MOST_POINTS} loads stand on a trimmer.")
        if not all(point.at_mm <= self.span_mm for point in self.points):
            raise ValueError("A load stands within the clear span.")
        if len(self.bearings) not in {0, 2}:
            raise ValueError("Give two bearings, left and right, or none.")
        strength_class(self.strength_class)
        k_mod(self.service_class, self.load_duration)

    @property
    def ends(self) -> tuple[Bearing, Bearing]:
        """The two bearings, with the usual ones where none were given."""
        if self.bearings:
            return self.bearings[0], self.bearings[1]
        return Bearing(length_mm=DEFAULT_BEARING_MM), Bearing(length_mm=DEFAULT_BEARING_MM)


@dataclass(frozen=True, slots=True)
class TrimmerOutcome:
    """The answer about one trimmer.

    Attributes:
        ends: what it puts on its left and right support, characteristic: at 0 and at its clear
            span; moved to its place, this is the point load of the trimming joist.
    """

    outcome: Outcome
    given: TrimmerInput
    figures: dict[str, float] = field(default_factory=dict)
    ends: tuple[PointLoad, ...] = ()
