"""The joist check of a need, asked of whatever piece is offered for it."""

from __future__ import annotations

from dataclasses import replace

from apps.checks.joist import JoistInput, check_joist
from apps.checks.results import Outcome
from apps.timber.sections import Section
from apps.timber.uses import JoistCheck


def joist_check(given: JoistInput) -> JoistCheck:
    """The check of a joist's place, for a piece's real section, class and how that is known.

    Args:
        given: the place: span, spacing, loads, bearings. What is written there of the old joist's
            section, cuts and decay does not count.
    """

    def ask(section: Section, counts_as: str, grade_basis: str) -> Outcome:
        piece = replace(
            given,
            breadth_mm=section.breadth_mm,
            depth_mm=section.depth_mm,
            strength_class=counts_as,
            grade_basis=grade_basis,
            moisture_pct=None,
            cuts=(),
            decayed=(),
            through_split=False,
        )
        return check_joist(piece).outcome

    return ask
