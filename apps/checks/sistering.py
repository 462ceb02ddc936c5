"""Is this joist good enough with another beside it? EN 1995-1-1 with the UK National Annex.

A sister that bears at both ends beside a sound joist: the load is shared by stiffness EI, and each
piece is checked against its own grade. Beside a decayed joist it is checked for the whole load. A
sister that stops short, or is one half of a repaired end, is worked out as two beams joined by
their fixings: its end groups hold a couple, and the old joist is bare beyond it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from apps.checks.joist_input import JoistInput
from apps.checks.joist_notes import reasons_to_wait, worth_knowing
from apps.checks.joist_words import in_words
from apps.checks.loads import JoistLoads
from apps.checks.member import Member, Row, member, rows
from apps.checks.results import Check, Note, outcome, salvaged_cautions
from apps.checks.sister_input import (
    FixingNeed,
    SisterFixings,
    SisterInput,
    SisterOutcome,
    SisterPiece,
    SisterSettings,
)
from apps.checks.sister_model import Pair, effects, pair
from apps.checks.sister_rows import (
    all_loads,
    fixing_rows,
    linked_rows,
    linked_sag,
    pair_vibration,
    shared_rows,
)
from apps.checks.sister_words import (
    about_the_sister,
    fixing_check,
    piece_check,
    reasons_in_the_sister,
)
from apps.checks.timber_size import size_at

__all__ = [
    "FixingNeed",
    "SisterFixings",
    "SisterInput",
    "SisterOutcome",
    "SisterPiece",
    "SisterSettings",
    "check_sister",
]

WHAT = "The sistered joist"
TIDY_SPACINGS_MM = (600, 500, 450, 400, 350, 300, 250, 200, 150, 100)


def check_sister(given: SisterInput) -> SisterOutcome:
    """All checks of a joist and its sister.

    No capacity is given where a rotten end is left without a bearing, where decay lies beyond the
    sister, in a damp void, or where a cut leaves nothing.
    """
    old = _as_measured(given.old_joist())
    new = _as_measured(given.sister_joist())
    blocked = (*reasons_to_wait(given.old_joist()), *reasons_in_the_sister(given))
    if old is None or new is None:
        blocked += (Note("cut-through", "A notch or hole leaves nothing of a piece there."),)
    warnings = _warnings(given)
    cautions = _cautions(given)
    two = None
    if old is not None and new is not None and not blocked:
        two = pair(given, old, new, given.fixings) if given.fixings else None
        if two is None and given.fixings:
            room = Note(
                "no-room-for-fixings",
                "The sister lies beside too little sound joist to be fixed to it: it stands alone.",
            )
            blocked, warnings = (
                (blocked, (*warnings, room)) if given.full_length else ((*blocked, room), warnings)
            )
    if blocked or old is None or new is None:
        answer = outcome(WHAT, (), blocked=blocked, warnings=warnings, cautions=cautions)
        return SisterOutcome(answer, given)
    loads = all_loads(given, old, new)
    if given.full_length:
        checks, figures = _full_length(given, old, new, loads)
    else:
        assert two is not None  # nosec B101 # it narrows a type
        checks, figures = _short(given, two, old, new, loads)
    need = None
    if two is not None:
        found, seen = _fixed(two, old, new, loads)
        checks += tuple(fixing_check(row) for row in found)
        figures |= seen
        need = _need(two, old, new, loads, seen)
    answer = outcome(WHAT, checks, warnings=warnings, cautions=cautions)
    return SisterOutcome(answer, given, figures, need)


def _as_measured(given: JoistInput) -> Member | None:
    return member(
        given,
        size_at(given.breadth_mm, given.moisture_pct),
        size_at(given.depth_mm, given.moisture_pct),
        with_cuts=True,
    )


def _full_length(
    given: SisterInput, old: Member, new: Member, loads: JoistLoads
) -> tuple[tuple[Check, ...], dict[str, float]]:
    span = given.old.span_mm
    stiff = [m.grade.e_0_mean * m.inertia for m in (old, new)]
    gone = bool(given.old.decayed) or given.old.through_split
    share = 1.0 if gone else stiff[1] / sum(stiff)
    figures = {"sister_share": share, "old_ei_nmm2": stiff[0], "sister_ei_nmm2": stiff[1]}
    found: list[Check] = []
    pieces = [("sister", new, share)] if gone else [("old", old, 1 - share), ("sister", new, share)]
    for piece, m, part in pieces:
        seen: dict[str, float] = {}
        rows(replace(m, loads=loads), span, seen)
        figures |= {
            f"{piece}_moment_knm": seen["moment_knm"] * part,
            f"{piece}_reaction_kn": seen["reaction_kn"] * part,
        }
        for row in shared_rows(m, loads, part, span):
            found.append(piece_check(piece, row, m.given))
            if row[0] == "deflection":
                figures["deflection_final_mm"] = max(
                    row[1], figures.get("deflection_final_mm", 0.0)
                )
    ei = stiff[1] if gone else sum(stiff)
    design = max(old.design_span(span), new.design_span(span))
    shaking = pair_vibration(given, old, loads, design, ei)
    return (*found, *(in_words(*row, given.old) for row in shaking)), figures


def _short(
    given: SisterInput, two: Pair, old: Member, new: Member, loads: JoistLoads
) -> tuple[tuple[Check, ...], dict[str, float]]:
    span = float(given.old.span_mm)
    design = old.design_span(span)
    strong = effects(two, loads, _stands(given), strength=True)
    used = effects(two, loads, (span / 2,), strength=False)
    checks: list[Check] = []
    for piece, key, m in (("old", "old", old), ("sister", "new", new)):
        found = linked_rows(two, m, strong, key, design)
        checks += [piece_check(piece, row, m.given) for row in found]
    creep = max(old.k_def, new.k_def)
    final, per_n = linked_sag(two, old, new, used, creep)
    settings = given.old.settings
    plastered = given.old.ceiling == "plastered"
    over = settings.plastered_span_over if plastered else settings.bare_span_over
    shaking: list[Row] = [("deflection", final, design / over)]
    ei = design**3 / (48 * per_n)
    shaking += pair_vibration(given, old, loads, design, ei)
    checks += [in_words(*row, given.old) for row in shaking]
    return tuple(checks), {"deflection_final_mm": final, "ei_as_one_nmm2": ei}


def _stands(given: SisterInput) -> tuple[float, ...]:
    """Where the concentrated load is tried: mid-span, over the ends, and at the sister's ends."""
    span = given.old.span_mm
    edges = (0.0, span / 2, float(span), *(min(max(at, 0.0), span) for at in given.reach))
    return tuple(sorted(set(edges)))


def _fixed(
    two: Pair, old: Member, new: Member, loads: JoistLoads
) -> tuple[list[Row], dict[str, float]]:
    found = effects(two, loads, _stands(two.given), strength=True)
    return fixing_rows(two, old, new, found)


def _need(
    two: Pair, old: Member, new: Member, loads: JoistLoads, seen: dict[str, float]
) -> FixingNeed:
    given, fixings, widest = two.given, two.fixings, None
    for spacing in TIDY_SPACINGS_MM:
        if spacing > given.settings.most_spacing_mm:
            continue
        tried = pair(given, old, new, replace(fixings, spacing_mm=spacing))
        if tried is not None:
            found, _ = _fixed(tried, old, new, loads)
            if all(demand <= capacity for _, demand, capacity in found):
                widest = spacing
                break
    along, ends = seen.get("fixing_along_n", 0.0), seen["fixing_ends_n"]
    each = max(fixings.end_per_place, fixings.per_place)
    sentence = (
        f"{fixings.name}: {sum(two.counts)} in {len(two.places)} places, {each} at each of "
        f"the last two of both ends, the last {given.settings.end_mm} mm from the end; one carries "
        f"{ends / 1000:.2f} kN at the ends and {along / 1000:.2f} kN between. "
    )
    sentence += (
        f"The widest spacing that carries is {widest} mm."
        if widest
        else f"No spacing down to {TIDY_SPACINGS_MM[-1]} mm carries: take more or stronger ones."
    )
    return FixingNeed(along, ends, widest, len(two.places), sum(two.counts), sentence)


def _warnings(given: SisterInput) -> tuple[Note, ...]:
    known = worth_knowing(given.old_joist())
    about = [note for note in worth_knowing(given.sister_joist()) if note not in known]
    return tuple(_unique((*known, *about, *about_the_sister(given))))


def _unique(notes: Iterable[Note]) -> Iterable[Note]:
    return dict.fromkeys(notes)


def _cautions(given: SisterInput) -> tuple[str, ...]:
    bases = [
        "assumed" if m.grade_basis == "graded_by" and not m.graded_by.strip() else m.grade_basis
        for m in (given.old, given.new)
    ]
    return tuple(dict.fromkeys(line for basis in bases for line in salvaged_cautions(basis)))
