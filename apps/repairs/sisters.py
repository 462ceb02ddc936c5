"""A sister beside a joist: what carries over each of its spans, and what fixes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from apps.checks.between_pieces import sister_fixings
from apps.checks.joist import check_joist
from apps.checks.sister_input import SisterFixings, SisterSettings
from apps.checks.sister_model import sound_stretches
from apps.checks.sistering import SisterInput, SisterOutcome, SisterPiece, check_sister
from apps.repairs.damage import Damage
from apps.repairs.facts import Asked, JoistFacts
from apps.repairs.fixings import NoRoomError, fastener, pattern_told
from apps.repairs.hangers import hanger_check
from apps.repairs.members import figures_of, member_input, old_section
from apps.repairs.options import Checked, Section
from apps.repairs.sister_patterns import AT_ENDS, Rule, rule, sister_pattern

SPACING_MM = 400
"""Where it begins: closer only where the check wants it (common practice, no source)."""

MID_DEPTH = 0.5
"""Fixings that stand alone stand at mid-depth, which decides when the wood splits (8.1.4)."""

NONE = "Too little of the joist is sound beside the sister to fix it: it stands alone."

LOOK_AT_HANGER = "hanger-of-the-sister"
"""The note that asks for the hanger's own check: it stands beside the sister's here."""

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Sistered:
    """The checks of a sister and the pattern of its fixings."""

    checks: tuple[Checked, ...]
    fixings: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sister:
    """A sister to work out.

    Attributes:
        reach: its ends along the joist [mm].
        hung: bearings, by their number, at which it rests in a hanger instead.
    """

    facts: JoistFacts
    asked: Asked
    harm: Damage
    section: Section
    reach: Span
    hung: frozenset[int] = frozenset()

    def rule(self) -> Rule:
        """What its fixings ask of the two pieces."""
        return rule(fastener(self.asked), min(self.facts.depth_mm, self.section.depth_mm))


def sistered(sister: Sister) -> Sistered:
    """A sister over all of the joist's spans: it carries its share over a sound one, and everything
    where the joist is decayed.

    Raises:
        NoRoomError: the fixing does not reach, or the pieces are too shallow for it.
        ValueError: figures that no joist has.
    """
    facts = sister.facts
    fixings = fixed(sister.asked, old_section(facts, sister.asked), sister.section)
    given = {span: sister_input(sister, span, fixings) for span in facts.clear_spans()}
    found = {span: check_sister(one) for span, one in given.items()}
    closest = min(
        (need.widest_spacing_mm or SPACING_MM for need in needs(found)), default=SPACING_MM
    )
    if closest < SPACING_MM:
        closer = replace(fixings, spacing_mm=closest)
        given = {span: replace(one, fixings=closer) for span, one in given.items()}
        found = {span: check_sister(one) for span, one in given.items()}
    checks = [checked(facts, span, given[span], one) for span, one in found.items()]
    hangers = [
        hanger_check(facts, one.sister_joist(), sister.section, at_mm)
        for span, one in given.items()
        for at_mm, bearing in zip(span, one.sister_bearings, strict=True)
        if bearing is not None and bearing.kind == "hanger"
    ]
    return Sistered((*checks, *hangers), told(sister, given, found))


def could_carry(facts: JoistFacts, asked: Asked, harm: Damage, section: Section) -> bool:
    """Whether a sister of this section would carry where it carries alone: quicker than its whole
    check, and False only where that fails too."""
    spans = [span for span in facts.clear_spans() if decayed(facts, harm, span)]
    given = [member_input(facts, asked, section, span=span) for span in spans]
    return all(check_joist(one).outcome.passes is not False for one in given)


def fixed(asked: Asked, old: Section, new: Section) -> SisterFixings:
    """One fixing between the two.

    Raises:
        NoRoomError: it does not reach, or would split a piece.
    """
    try:
        return sister_fixings(
            fastener(asked),
            new_breadth_mm=new.breadth_mm,
            new_class=new.strength_class,
            old_breadth_mm=old.breadth_mm,
            old_class=old.strength_class,
            spacing_mm=SPACING_MM,
            end_per_place=AT_ENDS,
        )
    except ValueError as exc:
        raise NoRoomError(str(exc)) from exc


def sister_input(sister: Sister, span: Span, fixings: SisterFixings) -> SisterInput:
    facts, asked, section = sister.facts, sister.asked, sister.section
    old = member_input(facts, asked, old_section(facts, asked), span=span, cuts=True)
    bears = member_input(facts, asked, section, span=span, hung=sister.hung).bearings
    return SisterInput(
        old=replace(old, decayed=decayed(facts, sister.harm, span)),
        new=SisterPiece(
            breadth_mm=section.breadth_mm,
            depth_mm=section.depth_mm,
            strength_class=section.strength_class,
            grade_basis=section.grade_basis,
            bearings=(bears[0], bears[1]),
        ),
        fixings=fixings,
        deck_on="both",
        settings=SisterSettings(end_mm=sister.rule().end_mm, farthest_share=MID_DEPTH),
    )


def needs(found: Mapping[Span, SisterOutcome]) -> list[Any]:
    return [one.fixings for one in found.values() if one.fixings is not None]


def checked(facts: JoistFacts, span: Span, given: SisterInput, found: SisterOutcome) -> Checked:
    who = "the sister alone" if given.old.decayed else "the joist and its sister"
    where = f", {span[0]} to {span[1]} mm" if len(facts.clear_spans()) > 1 else ""
    warnings = tuple(note for note in found.outcome.warnings if note.code != LOOK_AT_HANGER)
    return Checked(
        of=f"{who}{where}",
        outcome=replace(found.outcome, warnings=warnings),
        figures={**figures_of(given.old), **found.figures},
    )


def told(
    sister: Sister, given: Mapping[Span, SisterInput], found: Mapping[Span, SisterOutcome]
) -> Mapping[str, Any]:
    """What fixes the sister, in plain values, with the pattern that was checked."""
    blocked = [one.outcome.sentence for one in found.values() if one.outcome.passes is None]
    if blocked:
        return pattern_told("the sister", None, blocked[0])
    spacing_mm = next(one.fixings.spacing_mm for one in given.values() if one.fixings)
    low, high = sister.reach
    stretches = [
        (max(start, one.reach[0]) + span[0] - low, min(end, one.reach[1]) + span[0] - low)
        for span, one in given.items()
        for start, end in sound_stretches(one)
    ]
    harm = sister.harm
    cuts = [cut.cut_mm for cut in harm.ends] + [edge for part in harm.middle for edge in part]
    pattern = sister_pattern(
        fastener(sister.asked),
        sister.rule(),
        stretches,
        length_mm=high - low,
        spacing_mm=spacing_mm,
        ends=[at - low for at in (0, sister.facts.length_mm, *cuts)],
    )
    row = pattern_told("the sister", pattern, NONE)
    if pattern is None:
        return row
    widest = [need.widest_spacing_mm for need in needs(found)]
    return {
        **row,
        "spacing_mm": spacing_mm,
        "widest_spacing_mm": min(widest) if widest and None not in widest else None,
    }


def decayed(facts: JoistFacts, harm: Damage, span: Span) -> tuple[Span, ...]:
    """The decay from the left end of a span, the cut-off ends whole [mm]."""
    low, high = span
    stretches = [
        *(
            (cut.cut_mm, facts.length_mm) if cut.end == "far" else (0, cut.cut_mm)
            for cut in harm.ends
        ),
        *harm.middle,
    ]
    return tuple(
        (max(0, start - low), min(high, end) - low)
        for start, end in stretches
        if start < high and end > low
    )
