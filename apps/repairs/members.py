"""The joist check of a repaired joist: whichever piece carries, on the bearings it will have."""

from __future__ import annotations

from typing import Any

from apps.checks.joist import (
    Bearing,
    Cut,
    Deck,
    JoistInput,
    check_joist,
)
from apps.checks.results import Outcome
from apps.repairs.facts import (
    ASSUMED_CLASS,
    DEAD_BARE_KN_M2,
    DEAD_PLASTERED_KN_M2,
    Asked,
    BearingAt,
    JoistFacts,
)
from apps.repairs.options import Checked, Section

HANGER_BEARING_MM = 75
"""Joist on its hanger: NHBC Standards 6.4.13, 2024 (read)."""


def old_section(facts: JoistFacts, asked: Asked) -> Section:
    """The joist as it is; where nobody noted its class, an assumed one."""
    grade = asked.old_strength_class or facts.strength_class or ASSUMED_CLASS
    return Section(facts.breadth_mm, facts.depth_mm, grade, "assumed")


def longest_span(facts: JoistFacts) -> tuple[int, int]:
    """The longest clear span, from and to along the joist [mm]."""
    return max(facts.clear_spans(), key=lambda span: span[1] - span[0])


def plastered(facts: JoistFacts, asked: Asked) -> bool:
    return asked.plastered if asked.plastered is not None else not facts.ground_floor


def dead_kn_m2(facts: JoistFacts, asked: Asked) -> float:
    """Boards and ceiling, without the joists themselves."""
    if asked.dead_kn_m2 is not None:
        return asked.dead_kn_m2
    return DEAD_PLASTERED_KN_M2 if plastered(facts, asked) else DEAD_BARE_KN_M2


def member_input(
    facts: JoistFacts,
    asked: Asked,
    section: Section,
    *,
    span: tuple[int, int] | None = None,
    hung: frozenset[int] = frozenset(),
    cuts: bool = False,
) -> JoistInput:
    """A piece over one of the joist's clear spans.

    Args:
        span: from and to along the joist [mm]; None: the longest.
        hung: the bearings, by their number, where it rests in a hanger instead.
        cuts: with the notches and holes that are noted on the joist.

    Raises:
        ValueError: figures that no joist has.
    """
    low, high = span or longest_span(facts)
    ends = [
        (number, row)
        for number, row in enumerate(facts.bearings)
        if row.end_mm == low or row.at_mm == high
    ]
    return JoistInput(
        span_mm=high - low,
        breadth_mm=section.breadth_mm,
        depth_mm=section.depth_mm,
        spacing_mm=facts.centres_mm,
        strength_class=section.strength_class,
        grade_basis=section.grade_basis,
        dead_kn_m2=dead_kn_m2(facts, asked),
        imposed_kn_m2=asked.imposed_kn_m2,
        service_class=asked.service_class,
        deck=Deck(thickness_mm=facts.board_mm),
        ceiling="plastered" if plastered(facts, asked) else "none",
        floor_width_mm=facts.floor_width_mm,
        bearings=tuple(bearing(row, number in hung) for number, row in ends),
        cuts=tuple(
            Cut(
                at_mm=cut.at_mm - low, size_mm=cut.size_mm, depth_mm=cut.depth_mm, kind=cut.kind,
                edge=cut.edge,
            )
            for cut in facts.cuts
            if cuts and low <= cut.at_mm <= high
        ),
    )  # fmt: skip


def bearing(row: BearingAt, hung: bool) -> Bearing:
    if hung:
        return Bearing(length_mm=HANGER_BEARING_MM, kind="hanger")
    return Bearing(length_mm=row.length_mm, kind=row.kind)


def member(of: str, given: JoistInput) -> Checked:
    """The check, with the figures a reader asks for next."""
    found = check_joist(given)
    return Checked(
        of=of,
        outcome=found.outcome,
        figures={**figures_of(given), "greatest_span_mm": found.greatest_span_mm},
    )


def worst_member(
    of: str, facts: JoistFacts, asked: Asked, section: Section, *, cuts: bool = False
) -> Checked:
    """The check of the span that is nearest its limit or furthest over it; one that fails goes
    before one without an answer."""
    given = [
        member_input(facts, asked, section, span=span, cuts=cuts) for span in facts.clear_spans()
    ]
    found = [member(of, one) for one in dict.fromkeys(given)]
    return max(found, key=lambda one: how_near(one.outcome))


def how_near(found: Outcome) -> tuple[bool, bool, float]:
    used = max((check.utilisation for check in found.checks), default=0.0)
    return found.passes is False, found.passes is None, used


def figures_of(given: JoistInput) -> dict[str, Any]:
    """What a check was asked with, as far as a reader wants to see it beside the answer."""
    return {
        "span_mm": given.span_mm,
        "breadth_mm": given.breadth_mm,
        "depth_mm": given.depth_mm,
        "spacing_mm": given.spacing_mm,
        "strength_class": given.strength_class,
        "grade_basis": given.grade_basis,
        "dead_kn_m2": given.dead,
        "imposed_kn_m2": given.imposed_kn_m2,
        "service_class": given.service_class,
        "ceiling": given.ceiling,
    }
