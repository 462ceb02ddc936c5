"""What a lap check is asked with: the old joist, where it is sawn, and the new end beside it."""

from __future__ import annotations

from dataclasses import dataclass

from apps.checks.asked import between, one_of
from apps.checks.fastener_settings import FixingSettings
from apps.checks.fasteners import COMMON, Fastener
from apps.checks.joist_input import JoistInput
from apps.checks.results import GRADE_BASES
from apps.checks.strength import strength_class

USUAL = FixingSettings()
MOST_COLUMNS = 3
ENDS = ("left", "right")


@dataclass(frozen=True, slots=True, kw_only=True)
class LapInput:
    """A rotten end sawn off and a new one lapped onto the side of what is left.

    Attributes:
        joist: the old joist with its whole clear span, loads and cuts, as if it still ran through.
        end: which end is new, "left" or "right" of `joist`.
        cut_mm: from the inner face of that end's bearing to the saw cut, along the clear span.
        lap_mm: how far old and new lie side by side, from the saw cut on; None: the least that
            passes is looked for.
        breadth_mm, depth_mm, strength_class, grade_basis, graded_by: of the new piece, as it will
            be at 20 % moisture.
        sides: 1, or 2: a new piece on both faces of the old joist (bolts only).
        fastener: what joins them.
        columns: columns of fasteners near each end of the lap; None: the fewest that pass.
        rows: fasteners in a column, up the depth; None: as usual for their kind.
        mark: of the joist, for the sentence.
    """

    joist: JoistInput
    cut_mm: int
    breadth_mm: float
    depth_mm: float
    strength_class: str
    lap_mm: int | None = None
    end: str = "left"
    grade_basis: str = "stamped"
    graded_by: str = ""
    sides: int = 1
    fastener: Fastener = COMMON["bolt_m12"]
    columns: int | None = None
    rows: int | None = None
    mark: str = ""
    settings: FixingSettings = USUAL

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for what cannot be a lap."""
        one_of("The end of a lap", self.end, ENDS)
        between("The breadth of the new piece", self.breadth_mm, 10, 400)
        between("The depth of the new piece", self.depth_mm, 20, 800)
        between("The place of the saw cut", self.cut_mm, 0, 20_000)
        if self.lap_mm is not None:
            between("The lap", self.lap_mm, 1, 20_000)
        one_of("How the class is known", self.grade_basis, tuple(GRADE_BASES))
        one_of("On how many sides new timber lies", self.sides, (1, 2))
        if self.columns is not None:
            between("The columns of fasteners", self.columns, 1, MOST_COLUMNS, "")
        if self.rows is not None:
            between("The fasteners in a column", self.rows, 1, 10, "")
        if self.sides == 2 and self.fastener.kind != "bolt":
            raise ValueError("New timber on both sides is fixed with bolts right through.")
        if self.cut_mm + (self.lap_mm or 0) > self.joist.span_mm:
            raise ValueError(
                f"A lap of {self.lap_mm or 0} mm from a cut at {self.cut_mm} mm is longer than the "
                f"clear span of {self.joist.span_mm} mm: that is a sister, not a lap."
            )
        strength_class(self.strength_class)
