"""Is this joist good enough? EN 1995-1-1 with the UK National Annex, for a joist on two supports.

Strength (bending, shear, bearing) under the spread load, the permanent load alone and the
concentrated load; net final deflection; vibration; and every notch and hole on what it leaves.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, floor, log

from apps.checks.joist_input import Bearing, Cut, Deck, JoistInput, Layer, Partition
from apps.checks.joist_notes import reasons_to_wait, worth_knowing
from apps.checks.joist_words import in_words
from apps.checks.member import Member, member, rows, utilisation
from apps.checks.results import Note, Outcome, outcome, salvaged_cautions
from apps.checks.settings import Settings
from apps.checks.timber_size import size_at, stock_sections

__all__ = [
    "Bearing",
    "Cut",
    "Deck",
    "JoistInput",
    "JoistOutcome",
    "Layer",
    "Partition",
    "Settings",
    "check_joist",
    "smallest_section",
]

LEAST_SPAN_MM, MOST_SPAN_MM = 100, 20_000
USUAL_POWER = 3.0  # most limits are used up about as span³: only where a search begins
STOCK = sorted(
    ((one.breadth_mm, one.depth_mm) for one in stock_sections()),
    key=lambda size: (size[0] * size[1], size[1]),
)


@dataclass(frozen=True, slots=True)
class JoistOutcome:
    """The answer about one joist.

    Attributes:
        outcome: the checks, the governing one, the sentence.
        given: what was asked.
        figures: numbers on the way, units in their names; empty when blocked.
        greatest_span_mm: longest clear span that passes, all else the same; None when blocked or
            where even a short one fails.
        smallest_section: breadth and depth of the smallest stock section of the same class that
            passes without cuts; None when blocked or where none does.
    """

    outcome: Outcome
    given: JoistInput
    figures: dict[str, float] = field(default_factory=dict)
    greatest_span_mm: int | None = None
    smallest_section: tuple[int, int] | None = None


def check_joist(given: JoistInput) -> JoistOutcome:
    """All checks of one joist, the greatest span that passes and the smallest section that does.

    No capacity is given in a void over 20 % moisture, with decay, a through split, or a cut that
    leaves nothing, until it is inspected.
    """
    basis = given.grade_basis
    if basis == "graded_by" and not given.graded_by.strip():
        basis = "assumed"
    cautions = salvaged_cautions(basis)
    blocked = reasons_to_wait(given)
    joist = None if blocked else _as_measured(given)
    if not blocked and joist is None:
        blocked = (Note("cut-through", "A notch or hole leaves nothing of the joist there."),)
    warnings = worth_knowing(given)
    if joist is None:
        answer = outcome("The joist", (), blocked=blocked, warnings=warnings, cautions=cautions)
        return JoistOutcome(answer, given)
    seen = _figures(joist)
    checks = tuple(in_words(*row, given) for row in rows(joist, given.span_mm, seen))
    answer = outcome("The joist", checks, warnings=warnings, cautions=cautions)
    used = max(check.utilisation for check in checks)
    return JoistOutcome(answer, given, seen, _greatest_span(joist, used), smallest_section(given))


def smallest_section(given: JoistInput) -> tuple[int, int] | None:
    """Breadth and depth of the smallest stock section (by area) of this class, uncut, that passes.

    For a new joist in the place of the old one, so the state of the old one does not matter.
    """
    for breadth, depth in STOCK:
        new = member(given, breadth, depth, with_cuts=False)
        if new is not None and utilisation(new, given.span_mm) <= 1:
            return breadth, depth
    return None


def _as_measured(given: JoistInput) -> Member | None:
    return member(
        given,
        size_at(given.breadth_mm, given.moisture_pct),
        size_at(given.depth_mm, given.moisture_pct),
        with_cuts=True,
    )


def _figures(joist: Member) -> dict[str, float]:
    loads = joist.loads
    return {
        "breadth_at_20_mm": joist.breadth,
        "depth_at_20_mm": joist.depth,
        "design_span_mm": joist.design_span(joist.given.span_mm),
        "dead_kn_m2": joist.given.dead,
        "permanent_kn_m": loads.permanent,
        "imposed_kn_m": loads.imposed,
        "k_h": joist.k_h,
        "k_sys": joist.k_sys,
        "k_cr": joist.given.settings.k_cr,
        "k_def": joist.k_def,
        "k_c_90": joist.k_c_90,
    }


def _greatest_span(joist: Member, used: float) -> int | None:
    """To the millimetre: secants on logarithms between a span that passes and one that fails."""
    span = joist.given.span_mm
    logs: dict[int, float] = {span: log(used)}

    def over(clear: int) -> float:
        if clear not in logs:
            logs[clear] = log(utilisation(joist, clear))
        return logs[clear]

    low, high = (span, MOST_SPAN_MM + 1) if used <= 1 else (LEAST_SPAN_MM - 1, span)
    here, slope = span, USUAL_POWER
    for turn in range(60):
        if high - low <= 1:
            break
        guess = floor(here * exp(-logs[here] / slope)) if turn < 12 else (low + high) // 2
        guess = min(max(guess, low + 1), high - 1)
        if over(guess) <= 0:
            low = guess
        else:
            high = guess
        if guess != here and logs[guess] != logs[here]:
            slope = max((logs[guess] - logs[here]) / (log(guess) - log(here)), 0.5)
        here = guess
    return low if low >= LEAST_SPAN_MM else None
