"""What to know about a lap besides its checks."""

from __future__ import annotations

from apps.checks.joist_input import Cut
from apps.checks.lap_input import LapInput
from apps.checks.results import Note, salvaged_cautions
from apps.checks.strength import strength_class

CUT_CLEAR_MM = 100  # NHBC 6.4.18 keeps notches and holes so far apart (read); the same to a fixing
LAP_CAUTIONS: tuple[str, ...] = (
    "Prop the old joist on both sides of the cut, and leave the props until every fixing is in.",
    "Saw back to sound wood: rot left behind the cut goes on into the lap.",
    "A screw made for structural joints goes by its European Technical Assessment, not by this.",
    "Bolts want a washer under head and nut, at least three diameters wide.",
)


def cautions(given: LapInput) -> tuple[str, ...]:
    """Those of the worse known of the two timbers, and those of a lap."""
    bases = {_basis(given.grade_basis, given.graded_by),
             _basis(given.joist.grade_basis, given.joist.graded_by)}  # fmt: skip
    worst = next(one for one in ("assumed", "graded_by", "stamped") if one in bases)
    return (*salvaged_cautions(worst), *LAP_CAUTIONS)


def warnings(given: LapInput, cuts: list[Cut]) -> tuple[Note, ...]:
    """Assumptions, and what the checks do not cover."""
    notes = [Note(
        "shakes-more",
        "How the floor shakes is checked without the slip of the fixings: expect a lapped joist to "
        "be a little livelier than the figures say.",
        "judgement",
    )]  # fmt: skip
    if given.sides == 1:
        notes.append(Note(
            "one-sided",
            "New timber on one side only pulls the fixings out of line and twists the pair: board "
            "and strut both pieces close to the lap, or lay new timber on both sides.",
            "judgement: eccentricity is not in the checks",
        ))  # fmt: skip
    for piece, name, basis, who in (
        ("old joist", given.joist.strength_class, given.joist.grade_basis, given.joist.graded_by),
        ("new piece", given.strength_class, given.grade_basis, given.graded_by),
    ):
        grade = strength_class(name)
        if _basis(basis, who) == "assumed":
            notes.append(Note(
                "grade-assumed",
                f"{grade.name} for the {piece} is an assumption. It was used as asked.",
                "BS 4978 / EN 14081: structural timber is graded (read in a TRADA article)",
            ))  # fmt: skip
        if not grade.softwood:
            notes.append(Note(
                "splitting-softwood",
                f"The splitting rule is for softwood; the {piece} is {grade.name}.",
                "EN 1995-1-1 8.1.4, from memory",
            ))  # fmt: skip
    if cuts:
        notes.append(Note(
            "cut-in-lap",
            "An old notch or hole lies within the lap: the joist is checked on what it leaves. "
            f"Keep fixings {CUT_CLEAR_MM} mm clear of it.",
            "NHBC 6.4.18, read, for holes",
        ))  # fmt: skip
    if given.fastener.kind == "bolt" and given.settings.hole_clearance_mm > 0:
        notes.append(Note(
            "bolts-slide",
            f"Bolts slide up to {given.settings.hole_clearance_mm:g} mm before they bear: drill "
            "both pieces together, tight, and tighten them again after the first winter.",
            "EN 1995-1-1 10.4.3, from memory; tightening again: common practice, no source",
        ))  # fmt: skip
    return tuple(notes)


def _basis(basis: str, who: str) -> str:
    return "assumed" if basis == "graded_by" and not who.strip() else basis
