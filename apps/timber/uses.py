"""A piece put to a use: is its section right, or can it be made so, and what may it carry."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from apps.checks.results import Outcome
from apps.checks.strength import strength_class
from apps.timber.pieces_as_data import GradeBasis, NeedData, PieceData
from apps.timber.roles import ROLES
from apps.timber.sections import MOST_PACKING_MM, Section, section_for
from apps.timber.verdicts import Reason, Verdict, refused

# The most that undocumented timber counts as: customary, from memory. Less if in doubt.
CEILING = "C16"

JoistCheck = Callable[[Section, str, str], Outcome]
"""The joist check of a need, asked of a section, the class it counts as, and the `GradeBasis`."""


@dataclass(frozen=True, slots=True)
class Use:
    """What does not depend on length or day: section, strength, treatment.

    Attributes:
        section: as the piece would stand.
        counts_as: the strength class it may be given; empty: none.
        reasons: found so far.
        check: the joist check at the real section, where it was needed.
    """

    section: Section
    counts_as: str
    reasons: tuple[Reason, ...]
    check: Outcome | None

    @property
    def refused(self) -> bool:
        """Whether one of the reasons says that the piece will not do."""
        return refused(self.reasons)


def use_of(
    need: NeedData, piece: PieceData, joist_check: JoistCheck | None, packers_mm: tuple[int, ...]
) -> Use:
    """A piece put to a need: its section, its strength and its treatment, with what they say."""
    section = section_for(need, piece, packers_mm)
    counts_as, strength = _strength(need, piece, section)
    reasons = [*strength]
    if section.rip:
        reasons.append(_ripped(section, piece))
    if section.packers_mm:
        packers = " + ".join(f"{one}" for one in section.packers_mm)
        figures = {"pack_mm": section.pack_mm, "packers": f"{packers} mm"}
        reasons.append(Reason(Verdict.FITS_PACKED, figures))
    small, check = _small(need, piece, section, counts_as, joist_check)
    reasons += small
    if need.treated and not piece.treated:
        reasons.append(Reason(Verdict.NOT_TREATED))
    return Use(section, counts_as, tuple(reasons), check)


def _ripped(section: Section, piece: PieceData) -> Reason:
    rip = section.rip
    assert rip is not None, "asked of a section that is ripped"  # nosec B101
    graded = piece.grade_basis != GradeBasis.ASSUMED and bool(piece.strength_class)
    lost = graded and not rip.keeps_grade
    return Reason(
        Verdict.FITS_RIPPED,
        {
            "from_breadth_mm": rip.from_breadth_mm,
            "from_depth_mm": rip.from_depth_mm,
            "to_breadth_mm": rip.to_breadth_mm,
            "to_depth_mm": rip.to_depth_mm,
            "cuts": rip.cuts,
            "keeps_grade": rip.keeps_grade,
            "loses": f", which loses its grade {piece.strength_class}" if lost else "",
        },
    )


def _strength(need: NeedData, piece: PieceData, section: Section) -> tuple[str, list[Reason]]:
    """The class a piece counts as in this use, and what is to be said of it."""
    structural, wanted = ROLES[need.role].structural, need.strength_class
    lost = section.rip is not None and not section.rip.keeps_grade
    graded = piece.grade_basis != GradeBasis.ASSUMED and bool(piece.strength_class)
    certain = graded and not lost
    counts_as = piece.strength_class
    if not certain and counts_as and not _at_least(CEILING, counts_as):
        counts_as = CEILING
    figures = {
        "has": counts_as or "no class",
        "wanted": wanted,
        "lost": " any more once ripped" if graded and lost else "",
    }
    if wanted and not (counts_as and _at_least(counts_as, wanted)):
        code = Verdict.WRONG_CLASS if certain else Verdict.NOT_GRADED
        return counts_as, [Reason(code, figures)]
    if structural and not certain:
        return counts_as, [Reason(Verdict.ASSUMED, figures)]
    return counts_as, []


def _at_least(name: str, wanted: str) -> bool:
    """Whether a class is as strong in bending and as stiff as another (EN 338)."""
    has, want = strength_class(name), strength_class(wanted)
    return has.f_m_k >= want.f_m_k and has.e_0_mean >= want.e_0_mean


def _small(
    need: NeedData,
    piece: PieceData,
    section: Section,
    counts_as: str,
    joist_check: JoistCheck | None,
) -> tuple[list[Reason], Outcome | None]:
    """What is to be said of a section smaller than wanted, and the check if it was asked."""
    rule = ROLES[need.role]
    missing = {"breadth": section.short_breadth_mm, "depth": section.short_depth_mm}
    unpacked = {side: mm for side, mm in missing.items() if mm}
    if section.packers_mm:
        unpacked.pop("depth")
    figures: dict[str, Any] = {
        "breadth_mm": section.breadth_mm,
        "depth_mm": section.depth_mm,
        "wanted_breadth_mm": need.breadth_mm,
        "wanted_depth_mm": need.depth_mm,
        "missing": " and ".join(f"{mm} mm short in {side}" for side, mm in unpacked.items()),
        "remedy": "",
        "rule": rule.sentence,
    }
    checkable = rule.checks and any(missing.values())
    if not checkable:
        return ([Reason(Verdict.TOO_SMALL, figures)] if unpacked else []), None
    if rule.packs and "depth" in unpacked:
        figures["remedy"] = f", more than packers on hand make up (at most {MOST_PACKING_MM} mm)"
        return [Reason(Verdict.TOO_SMALL, figures)], None
    if joist_check is None or not counts_as:
        figures["missing"] = " and ".join(
            f"{mm} mm short in {side}" for side, mm in missing.items() if mm
        )
        figures["remedy"] = ", and there is no joist check to ask"
        return [Reason(Verdict.TOO_SMALL, figures)], None
    basis = piece.grade_basis if counts_as == piece.strength_class else GradeBasis.ASSUMED
    check = joist_check(section, counts_as, basis)
    if check.passes:
        return [Reason(Verdict.FITS_BY_CHECK, figures)], check
    figures["outcome"] = check.sentence.rstrip(".")
    return [Reason(Verdict.CHECK_FAILS, figures)], check
