"""A new end lapped onto the old joist: how long a lap, and what fixes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from apps.checks.fixing_patterns import Pattern
from apps.checks.laps import LapInput, check_lap, lap_needed_mm
from apps.repairs.damage import EndCut
from apps.repairs.facts import Asked, End, JoistFacts
from apps.repairs.fixings import NoRoomError, fastener, pattern_told
from apps.repairs.members import figures_of, member_input, old_section
from apps.repairs.options import Checked, Section


@dataclass(frozen=True, slots=True, kw_only=True)
class Lapped:
    """One new end.

    Attributes:
        cut_mm: where the old joist is sawn.
        beyond_mm: new timber from the cut to the bearing's outer edge.
        lap_mm: new timber beside the old, back from the cut.
        from_mm, to_mm: where the new timber lies along the joist.
    """

    end: End
    cut_mm: int
    beyond_mm: int
    lap_mm: int
    from_mm: int
    to_mm: int
    fixings: Mapping[str, Any]
    check: Checked

    @property
    def length_mm(self) -> int:
        return self.to_mm - self.from_mm


def lapped(facts: JoistFacts, asked: Asked, section: Section, cut: EndCut) -> Lapped:
    """The shortest lap that passes with the fixing that was asked for, or the nearest to passing.

    Raises:
        NoRoomError: there is no room for a lap, or for the fixing in these pieces.
        ValueError: figures that no joist has.
    """
    span, far, beyond_face = where(facts, cut)
    outer = facts.bearings[-1].end_mm if far else facts.bearings[0].at_mm
    needed = lap_needed_mm(lap_input(facts, asked, section, span, far, beyond_face))
    found = needed.lap
    if found is None:
        raise NoRoomError(needed.sentence)
    lap_mm = found.lap_mm
    return Lapped(
        end=cut.end,
        cut_mm=cut.cut_mm,
        beyond_mm=abs(outer - cut.cut_mm),
        lap_mm=lap_mm,
        from_mm=cut.cut_mm - lap_mm if far else outer,
        to_mm=outer if far else cut.cut_mm + lap_mm,
        fixings=told(f"the lap at {outer} mm", lap_mm, found.pattern, needed.sentence),
        check=Checked(
            of=f"the lap of the new end at {outer} mm",
            outcome=found.outcome,
            figures={
                **figures_of(found.given.joist), **found.figures, "cut_mm": found.given.cut_mm,
                "lap_mm": lap_mm,
            },
        ),
    )  # fmt: skip


def passes_at(facts: JoistFacts, asked: Asked, section: Section, cut: EndCut, lap_mm: int) -> bool:
    """Whether a lap of this length would pass: quick, where the search for the least one is not."""
    try:
        given = lap_input(facts, asked, section, *where(facts, cut))
        return check_lap(replace(given, lap_mm=lap_mm)).outcome.passes is not False
    except ValueError:  # no room for the lap, or a fixing that does not reach
        return False


def where(facts: JoistFacts, cut: EndCut) -> tuple[tuple[int, int], bool, int]:
    """The span of a cut end, whether it is the far one, and from its bearing's face to the cut."""
    far = cut.end == "far"
    span = facts.clear_spans()[-1 if far else 0]
    return span, far, max(0, span[1] - cut.cut_mm if far else cut.cut_mm - span[0])


def told(of: str, lap_mm: int, pattern: Pattern | None, sentence: str) -> Mapping[str, Any]:
    """The fixings of a lap; the places along it are measured from the saw cut."""
    row = pattern_told(of, pattern, sentence)
    if pattern is None:
        return row
    return {**row, "sentence": f"Lap of {lap_mm} mm: {pattern.sentence}"}


def lap_input(
    facts: JoistFacts, asked: Asked, section: Section, span: tuple[int, int], far: bool, cut_mm: int
) -> LapInput:
    """The question of the least lap that passes.

    Raises:
        NoRoomError: the cut leaves nothing of this span to lap onto.
    """
    if cut_mm >= span[1] - span[0]:
        raise NoRoomError("The cut takes the whole of that span: there is nothing to lap onto.")
    return LapInput(
        joist=member_input(facts, asked, old_section(facts, asked), span=span, cuts=True),
        end="right" if far else "left",
        cut_mm=cut_mm,
        breadth_mm=section.breadth_mm,
        depth_mm=section.depth_mm,
        strength_class=section.strength_class,
        grade_basis=section.grade_basis,
        fastener=fastener(asked),
        mark=facts.mark,
    )
