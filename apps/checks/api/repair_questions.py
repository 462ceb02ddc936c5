"""What is asked of pieces beside each other: laps, sisters, trimmers, and how it is answered.

Modules that load numpy are imported when a question comes, not before.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from apps.checks.between_pieces import FixingInput, FixingOutcome, check_fixing, sister_fixings
from apps.checks.fasteners import Fastener
from apps.checks.fixing_drawing import drawn
from apps.checks.fixing_patterns import Pattern
from apps.checks.joist_input import JoistInput
from apps.checks.lap_input import LapInput
from apps.checks.laps import check_lap, lap_needed_mm
from apps.checks.results import Outcome
from apps.checks.sister_input import (
    SisterFixings,
    SisterInput,
    SisterOutcome,
    SisterPiece,
    SisterSettings,
)
from apps.checks.trimming_input import TrimmerInput, TrimmerOutcome, trimmed_joists


@dataclass(frozen=True, slots=True, kw_only=True)
class FixingAnswered:
    """What one fixing carries, and its pattern drawn.

    Attributes:
        drawing: the pattern as SVG, 1 unit = 1 mm; null where none was asked for.
    """

    fixing: FixingOutcome
    drawing: str | None


def fixing(asked: FixingInput) -> FixingAnswered:
    """Work out one fixing and draw its pattern."""
    found = check_fixing(asked)
    return FixingAnswered(
        fixing=found, drawing=None if found.pattern is None else drawn(found.pattern)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LapAnswered:
    """The answer about one lap.

    Attributes:
        lap_mm: the lap that was checked.
        least_lap_mm: the shortest that passes, where no lap was given; null: none does.
        figures: numbers on the way, units in their names; empty where no capacity is given.
        pattern: where the fixings go, from the saw cut on; null where there is no room.
        drawing: the pattern as SVG, 1 unit = 1 mm.
    """

    outcome: Outcome
    given: LapInput
    lap_mm: int
    least_lap_mm: int | None
    figures: dict[str, float]
    pattern: Pattern | None
    drawing: str | None
    sentence: str


def lap(asked: LapInput) -> LapAnswered:
    """Check a lap, or look for the shortest that passes, and draw its fixings.

    Raises:
        ValueError: the fixings do not fit these pieces, with a sentence.
    """
    needed = lap_needed_mm(asked) if asked.lap_mm is None else None
    found = check_lap(asked) if needed is None else needed.lap
    if found is None:
        raise ValueError(needed.sentence if needed else "")
    return LapAnswered(
        outcome=found.outcome,
        given=found.given,
        lap_mm=found.lap_mm,
        least_lap_mm=needed.lap_mm if needed else None,
        figures=found.figures,
        pattern=found.pattern,
        drawing=None if found.pattern is None else drawn(found.pattern),
        sentence=needed.sentence if needed else found.outcome.sentence,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedBy:
    """A fixing for a sister, whose strength and slip are worked out by EN 1995-1-1.

    Attributes:
        spacing_mm: from place to place along the joist, at most.
        per_place: fixings at one place, above each other.
        end_per_place: at each of the two last places at both ends.
    """

    fastener: Fastener
    spacing_mm: int = 400
    per_place: int = 1
    end_per_place: int = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class SisterAsked:
    """A joist with another beside it.

    Attributes:
        old: the joist as for `checks/joist/`. Its decay is left out of what carries; a decayed
            stretch that reaches 0 or the clear span takes that bearing away.
        fixings: what joins them, with strength and slip as their maker declares them.
        fixed_by: instead of `fixings`: a fastener to be worked out. With neither, a sister that
            stops short is given no capacity.
        deck_on: which piece the boards rest on: "old", "both" or "new".
    """

    old: JoistInput
    new: SisterPiece
    fixings: SisterFixings | None = None
    fixed_by: FixedBy | None = None
    deck_on: str = "old"
    settings: SisterSettings = field(default_factory=SisterSettings)

    def __post_init__(self) -> None:
        """Raise ValueError, with a sentence, for fixings given twice."""
        if self.fixings is not None and self.fixed_by is not None:
            raise ValueError("Give fixings or fixed_by, not both.")


def sister(asked: SisterAsked) -> SisterOutcome:
    """Check a sistered joist; the beams load numpy."""
    from apps.checks.sistering import check_sister  # noqa: PLC0415

    fixings, by = asked.fixings, asked.fixed_by
    if by is not None:
        fixings = sister_fixings(
            by.fastener,
            new_breadth_mm=asked.new.breadth_mm,
            new_class=asked.new.strength_class,
            old_breadth_mm=asked.old.breadth_mm,
            old_class=asked.old.strength_class,
            spacing_mm=by.spacing_mm,
            per_place=by.per_place,
            end_per_place=by.end_per_place,
        )
    return check_sister(
        SisterInput(
            old=asked.old,
            new=asked.new,
            fixings=fixings,
            deck_on=asked.deck_on,
            settings=asked.settings,
        )
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimmedJoists:
    """A row of trimmed joists hung on a trimmer: each puts half of what stands on it there.

    Attributes:
        first_mm: the first of them, from the left end of the trimmer's clear span.
        joist_span_mm: of the trimmed joists.
        dead_kn_m2: floor and ceiling without the joists.
        joist_kn_m: weight of a trimmed joist itself.
    """

    first_mm: float
    spacing_mm: float
    count: int
    joist_span_mm: float
    dead_kn_m2: float
    imposed_kn_m2: float = 1.5
    joist_kn_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimmerAsked:
    """A trimmer or a trimming joist.

    Attributes:
        trimmed: a row of joists hung on it, besides its `points`; left out: none.
    """

    trimmer: TrimmerInput
    trimmed: TrimmedJoists | None = None


def trimmer(asked: TrimmerAsked) -> TrimmerOutcome:
    """Check a trimmer; the beams load numpy."""
    from apps.checks.trimming import check_trimmer  # noqa: PLC0415

    row = asked.trimmed
    if row is None:
        return check_trimmer(asked.trimmer)
    hung = trimmed_joists(
        first_mm=row.first_mm,
        spacing_mm=row.spacing_mm,
        count=row.count,
        joist_span_mm=row.joist_span_mm,
        dead_kn_m2=row.dead_kn_m2,
        imposed_kn_m2=row.imposed_kn_m2,
        joist_kn_m=row.joist_kn_m,
    )
    return check_trimmer(replace(asked.trimmer, points=(*asked.trimmer.points, *hung)))
