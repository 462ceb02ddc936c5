"""A new end lapped onto an old joist: does the lap pass, and how long has it to be?"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache

from apps.checks.fixing_patterns import Pattern, least_length_mm, two_groups
from apps.checks.joist_input import JoistInput
from apps.checks.joist_notes import reasons_to_wait
from apps.checks.lap_input import MOST_COLUMNS, LapInput
from apps.checks.lap_model import Lap, cuts_in_lap, lap, mirrored
from apps.checks.lap_notes import cautions, warnings
from apps.checks.lap_strength import sag, strength_rows
from apps.checks.lap_whole import WHOLE, whole_joist
from apps.checks.results import Check, Outcome, against, outcome
from apps.checks.timber_size import size_at

__all__ = ["LapInput", "LapNeeded", "LapOutcome", "check_lap", "lap_needed_mm"]

MORE_FIXINGS_HELP = ("fixing", "row", "deflection")
STEP_MM = 10
COARSE_STEPS = 10
# code: (what, unit, clause)
WORDS = {
    "fixing": ("The force on the hardest-worked {fastener}", "N", "EN 1995-1-1 8.2.2"),
    "splitting_new": (
        "The force that would split the new piece at the fixings", "N", "EN 1995-1-1 8.1.4",
    ),
    "splitting_old": (
        "The force that would split the old joist at the fixings", "N", "EN 1995-1-1 8.1.4",
    ),
    "bending_new": ("The bending stress in the new piece", "N/mm²", "EN 1995-1-1 6.1.6, 5.2"),
    "bending_old": (
        "The bending stress in the old joist within the lap", "N/mm²", "EN 1995-1-1 6.1.6, 5.2",
    ),
    "shear_new": ("The shear stress in the new piece", "N/mm²", "EN 1995-1-1 6.1.7"),
    "shear_old": ("The shear stress in the old joist within the lap", "N/mm²", "EN 1995-1-1 6.1.7"),
    "bending_old_cut": (
        "The bending stress at an old cut within the lap", "N/mm²", "EN 1995-1-1 6.1.6",
    ),
    "shear_old_cut": (
        "The shear stress at an old cut within the lap", "N/mm²", "EN 1995-1-1 6.1.7",
    ),
    "bearing_new": ("The pressure of the new piece on its bearing", "N/mm²", "EN 1995-1-1 6.1.5"),
    "bearing_old": ("The pressure of the old joist on its bearing", "N/mm²", "EN 1995-1-1 6.1.5"),
    "row": (
        "The force along the grain on a row of fixings", "N",
        "EN 1995-1-1 8.1.2(5), 8.3.1.1(8), 8.5.1.1(4)",
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class LapOutcome:
    """The answer about one lap.

    Attributes:
        outcome: the checks, the governing one, the sentence.
        lap_mm: the lap that was checked.
        figures: numbers on the way, units in their names; empty where no capacity is given.
        pattern: where the fixings go, from the saw cut on; None where the lap has no room.
    """

    outcome: Outcome
    given: LapInput
    lap_mm: int
    figures: dict[str, float] = field(default_factory=dict)
    pattern: Pattern | None = None


@dataclass(frozen=True, slots=True)
class LapNeeded:
    """The least lap that passes [mm], or None with the sentence saying why there is none."""

    lap_mm: int | None
    sentence: str
    lap: LapOutcome | None


def check_lap(given: LapInput) -> LapOutcome:
    """All checks of a lapped joist: fixings, splitting, each piece, bearings, sag, the whole span.

    Both pieces carry their own moment and shear between the fixings, where shear is far greater
    than in a whole joist. Where no lap is given, the least that passes is taken, or else the one
    nearest to it; where no columns are, the fewest that pass.

    Raises:
        ValueError: the fasteners do not fit these pieces at all, with a sentence.
    """
    if given.lap_mm is None:
        needed = lap_needed_mm(given)
        if needed.lap is None:
            raise ValueError(needed.sentence)
        return needed.lap
    return _checked(given, given.lap_mm)


def _checked(asked: LapInput, lap_mm: int) -> LapOutcome:
    given = replace(asked, lap_mm=lap_mm)
    joist = mirrored(given.joist) if given.end == "right" else given.joist
    told = warnings(given, cuts_in_lap(joist, given.cut_mm, lap_mm))
    known = cautions(given)
    kept = tuple(
        (max(start, given.cut_mm), end) for start, end in joist.decayed if end > given.cut_mm
    )
    if blocked := reasons_to_wait(replace(joist, decayed=kept)):
        answer = outcome(_name(given), (), blocked=blocked, warnings=told, cautions=known)
        return LapOutcome(answer, given, lap_mm)
    share = given.settings.screw_root_share
    least = least_length_mm(given.fastener, given.columns or 1, root_share=share)
    if lap_mm < least:
        short = against(
            "lap_length", "The lap", demand=lap_mm, capacity=least, unit="mm",
            clause="EN 1995-1-1 tables 8.2, 8.4", at_least=True,
        )  # fmt: skip
        answer = outcome(_name(given), (short,), warnings=told, cautions=known)
        return LapOutcome(replace(answer, sentence=_sentence(given, lap_mm, answer)), given, lap_mm)
    tried = []
    for columns in range(1, MOST_COLUMNS + 1) if given.columns is None else (given.columns,):
        if lap_mm < least_length_mm(given.fastener, columns, root_share=share):
            break
        tried.append(_tried(given, joist, lap_mm, columns))
        # Where the fixings are enough, more of them only bring both groups nearer to each other.
        if all(check.passes for check in tried[-1][1] if check.code in MORE_FIXINGS_HELP):
            break
    pattern, checks, figures = min(tried, key=lambda one: _used(one[1]))
    answer = outcome(_name(given), checks, warnings=told, cautions=known)
    answer = replace(answer, sentence=_sentence(given, lap_mm, answer))
    return LapOutcome(answer, given, lap_mm, figures, pattern)


# Accepting a repair works out again what proposing it did: the same question, half a second each.
@lru_cache(maxsize=64)
def lap_needed_mm(given: LapInput) -> LapNeeded:
    """The least lap that passes, in steps of 10 mm; the lap given does not matter.

    Looked for in steps of 100 mm first, then of 10 mm: a shorter lap that passes between two
    hundreds that fail is not found.
    """
    share = given.settings.screw_root_share
    least = least_length_mm(given.fastener, given.columns or 1, root_share=share)
    longest = min(given.settings.most_lap_mm, given.joist.span_mm - given.cut_mm)
    laps = range(-(-least // STEP_MM) * STEP_MM, longest + 1, STEP_MM)
    if not laps:
        why = f"There is no room for a lap: {least} mm is the shortest, and {max(longest, 0)} mm "
        return LapNeeded(None, f"{why}the longest there may be.", None)
    try:
        return _least(given, laps)
    except ValueError as exc:
        return LapNeeded(None, str(exc), None)


def _least(given: LapInput, laps: range) -> LapNeeded:
    failed: list[LapOutcome] = []
    for first in range(0, len(laps), COARSE_STEPS):
        ten = laps[first : first + COARSE_STEPS]
        found = _checked(given, ten[-1])
        if found.outcome.passes is None:
            return LapNeeded(None, found.outcome.sentence, found)
        if found.outcome.passes:
            shorter = (_checked(given, lap_mm) for lap_mm in ten[:-1])
            found = next((one for one in shorter if one.outcome.passes), found)
            sentence = f"{_name(given)} has to be at least {found.lap_mm} mm. {_fixed(found)}"
            return LapNeeded(found.lap_mm, sentence, found)
        for check in found.outcome.checks:
            if check.code.startswith(WHOLE) and not check.passes:
                return LapNeeded(None, f"No lap helps here. {check.sentence}", found)
        failed.append(found)
    nearest = min(failed, key=lambda one: _used(one.outcome.checks))
    why = f"No lap up to {laps[-1]} mm passes. The nearest: {nearest.outcome.sentence}"
    return LapNeeded(None, why, nearest)


def _tried(
    given: LapInput, joist: JoistInput, lap_mm: int, columns: int
) -> tuple[Pattern, tuple[Check, ...], dict[str, float]]:
    section = (
        size_at(joist.breadth_mm, joist.moisture_pct),
        size_at(joist.depth_mm, joist.moisture_pct),
    )
    pattern = two_groups(
        given.fastener,
        length_mm=lap_mm,
        depth_mm=min(section[1], given.depth_mm),
        columns=columns,
        root_share=given.settings.screw_root_share,
        rows=given.rows,
    )
    found = lap(given, joist, pattern, section)
    checks = []
    for code, (demand, capacity) in strength_rows(found).items():
        what, unit, clause = WORDS[code]
        checks.append(against(
            code, what.format(fastener=given.fastener), demand=demand, capacity=capacity, unit=unit,
            clause=clause,
        ))  # fmt: skip
    checks += whole_joist(found, joist, given.cut_mm)
    sags = sag(found)
    plastered = joist.ceiling == "plastered"
    over = joist.settings.plastered_span_over if plastered else joist.settings.bare_span_over
    checks.append(against(
        "deflection", "The final sag, slip of the fixings included", demand=sags["sag_final_mm"],
        capacity=found.shape.span / over, unit="mm",
        clause="EN 1995-1-1 2.2.3, 7.1, 7.2 and UK annex NA.5",
    ))  # fmt: skip
    return pattern, tuple(checks), {**_figures(found), **sags}


def _figures(found: Lap) -> dict[str, float]:
    return {
        "design_span_mm": found.shape.span,
        "fixing_f_v_rk_n": found.f_v_rk,
        "fixing_slip_n_mm": found.k_ser,
        "shear_planes": found.planes,
        "permanent_kn_m": found.permanent,
        "imposed_kn_m": found.imposed,
        "old_breadth_at_20_mm": found.old.breadth,
        "old_depth_at_20_mm": found.old.depth,
    }


def _used(checks: tuple[Check, ...]) -> float:
    return max(check.utilisation for check in checks)


def _name(given: LapInput) -> str:
    return f"{given.mark}'s lap" if given.mark else "The lap"


def _sentence(given: LapInput, lap_mm: int, answer: Outcome) -> str:
    worst = max(answer.checks, key=lambda check: check.utilisation)
    verdict = "passes" if answer.passes else "fails"
    return (
        f"{_name(given)} of {lap_mm} mm {verdict} the lap check at "
        f"{worst.utilisation * 100:.0f} %. {worst.sentence}"
    )


def _fixed(found: LapOutcome) -> str:
    return "" if found.pattern is None else found.pattern.sentence
