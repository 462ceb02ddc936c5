"""The hanger of a sister: the least one that does, and the check of the bearing in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from apps.checks.bearing import BearingInput, Hanger, check_bearing
from apps.checks.joist_input import JoistInput
from apps.checks.loads import joist_loads
from apps.checks.results import outcome
from apps.checks.strength import strength_class
from apps.repairs.facts import JoistFacts
from apps.repairs.members import HANGER_BEARING_MM, figures_of
from apps.repairs.options import Checked, Section

NAILS = "hanger_nails"
"""Left out of the check: how many holes a hanger has, its maker's sheet says. That each one has
its nail is a condition of the option, not a figure of it."""


def hanger_check(facts: JoistFacts, given: JoistInput, section: Section, at_mm: int) -> Checked:
    """The bearing of a sister that carries alone, in a hanger as deep and as wide as it is.

    Args:
        given: the sister as a joist of its own over the span that ends at the hanger.
        at_mm: where the hanger is along the joist.

    Raises:
        ValueError: figures that no bearing has.
    """
    grade = strength_class(section.strength_class)
    own_mm2 = section.breadth_mm * section.depth_mm + facts.breadth_mm * facts.depth_mm
    loads = joist_loads(given, own_mm2, grade.rho_mean)
    # From the middle of one bearing to the middle of the other; half of it comes down here.
    long_mm = given.span_mm + sum(bearing.length_mm for bearing in given.ends) / 2
    found = check_bearing(
        BearingInput(
            kind="hanger",
            length_mm=HANGER_BEARING_MM,
            breadth_mm=section.breadth_mm,
            depth_mm=section.depth_mm,
            strength_class=section.strength_class,
            permanent_n=loads.permanent * long_mm / 2,
            imposed_n=loads.imposed * long_mm / 2,
            point_n=given.settings.point_load_kn * 1000,
            grade_basis=section.grade_basis,
            service_class=given.service_class,
            load_duration=given.load_duration,
            hanger=Hanger(
                seat_mm=HANGER_BEARING_MM,
                height_mm=section.depth_mm,
                breadth_mm=section.breadth_mm,
                round_holes=1,
                nailed_holes=1,
            ),
        )
    )
    kept = tuple(check for check in found.outcome.checks if check.code != NAILS)
    told = outcome(
        "The sister's end in its hanger",
        kept,
        blocked=found.outcome.blocked,
        warnings=found.outcome.warnings,
        cautions=found.outcome.cautions,
    )
    return Checked(
        of=f"the hanger at {at_mm} mm",
        outcome=replace(told, edition=found.outcome.edition),
        figures={**figures_of(given), **found.figures},
    )


def hanger_told(section: Section, places_mm: tuple[int, ...]) -> Mapping[str, Any]:
    """The hangers to ask for, in plain values."""
    many = len(places_mm)
    return {
        "of": "the sister",
        "kind": "hanger",
        "count": many,
        "at_mm": list(places_mm),
        "seat_mm": HANGER_BEARING_MM,
        "breadth_mm": section.breadth_mm,
        "height_mm": section.depth_mm,
        "sentence": (
            f"{many} hanger{'s' if many > 1 else ''} at {' and '.join(map(str, places_mm))} mm: "
            f"{section.breadth_mm} mm wide, up to {section.depth_mm} mm high, with a seat of "
            f"{HANGER_BEARING_MM} mm or more and every round hole nailed."
        ),
    }
