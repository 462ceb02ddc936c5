"""Where may a hole go through this joist? Ranges along it, and what limits each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from apps.checks.cut_rules import CutRules, cut_rules
from apps.checks.joist import check_joist
from apps.checks.joist_input import Cut, JoistInput
from apps.checks.results import CAUTIONS, EDITION, Note

PURPOSES = ("pipe", "cable", "gas_pipe", "other")
GAS_DEPTHS_MM = (100, 250)  # a tubing maker's guide (flexigas.com), read
GAS_CAUTION = (
    "Only a registered gas engineer may run, alter or test a gas pipe, and an unventilated void "
    "needs ventilation or a protected pipe."
)
CABLE_SOURCE = "BS 7671 522.6.201 and 522.6.204, read as quoted (owelectric.co.uk)"
GAS_SOURCE = (
    "BS 6891:2015+A1:2019 has a figure of its own, not seen; a tubing maker's guide, read; that "
    "only a registered engineer may do it: from memory"
)


@dataclass(frozen=True, slots=True)
class DrillRange:
    """Where the middle of the hole may be, from the left end of the clear span [mm].

    `with_care`: allowed, but nearer an old notch than is wanted.
    """

    from_mm: int
    to_mm: int
    limited_left: str
    limited_right: str
    with_care: bool


@dataclass(frozen=True, slots=True)
class Drilling:
    """The answer: ranges from left to right, the height, and what goes with it.

    Attributes:
        height_mm: where the middle of the hole may be, lowest and highest above the bottom edge;
            None where it may be nowhere.
        protected: a cable there needs metal or other protection from nails.
    """

    edition: str
    rules: str
    ranges: tuple[DrillRange, ...]
    height_mm: tuple[float, float] | None
    protected: bool
    refused: tuple[Note, ...]
    warnings: tuple[Note, ...]
    cautions: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class _Keep:
    """A stretch the middle of the hole stays out of."""

    start: float
    end: float
    why: str


def where_to_drill(given: JoistInput, diameter_mm: float, purpose: str = "pipe") -> Drilling:
    """Where a hole may go by the rule of thumb of the settings.

    Args:
        given: the joist with all notches and holes it has, used or not.
        diameter_mm: of the hole.
        purpose: "pipe", "cable", "gas_pipe" or "other".

    Only for ordinary floor joists: a beam, rafter, purlin, trimmer or binder is never cut without a
    calculation (LABC, read). Raises ValueError for a diameter or purpose that is none.
    """
    if not (math.isfinite(diameter_mm) and 1 <= diameter_mm <= 800):
        raise ValueError("The diameter of a hole is 1 to 800 mm.")
    if purpose not in PURPOSES:
        raise ValueError(f"What the hole is for is one of {', '.join(PURPOSES)}.")
    rules = cut_rules(given.settings.notch_rules)
    refused = _refused(given, diameter_mm, purpose, rules)
    height = None if refused else _height(given, diameter_mm, rules)
    ranges = () if refused else _ranges(given, diameter_mm, rules)
    protected = purpose == "cable" and _needs_protection(given, diameter_mm)
    warnings = (*_of_the_joist(given), *_of_the_purpose(given, diameter_mm, purpose))
    cautions = CAUTIONS
    if purpose == "gas_pipe":
        cautions = (GAS_CAUTION, *CAUTIONS)
    return Drilling(
        EDITION, rules.title, ranges, height, protected, refused, warnings, cautions,
        _sentence(diameter_mm, ranges, refused),
    )  # fmt: skip


def _refused(
    given: JoistInput, diameter_mm: float, purpose: str, rules: CutRules
) -> tuple[Note, ...]:
    notes = []
    depth = given.depth_mm
    if given.decayed or given.through_split:
        notes.append(Note("unsound", "A decayed or split joist is not drilled before repair."))
    if not given.load_sharing:
        notes.append(Note(
            "not-a-common-joist",
            "A trimmer, a lone beam or a joist beside an opening is never cut by rule of thumb.",
            "LABC, read",
        ))  # fmt: skip
    if depth <= given.settings.undrilled_depth_mm:
        notes.append(Note(
            "too-shallow-to-cut",
            f"Joists of {given.settings.undrilled_depth_mm:g} mm or less are not drilled: go over, "
            "under or round.",
            "City & Guilds plumbing book 1, p. 336, read",
        ))  # fmt: skip
    if not rules.covers(depth):
        notes.append(Note(
            "too-deep-for-rule",
            f"{rules.title} says nothing of joists over {rules.deepest_mm:g} mm deep.",
            rules.source,
        ))  # fmt: skip
    if purpose == "gas_pipe" and not GAS_DEPTHS_MM[0] <= depth <= GAS_DEPTHS_MM[1]:
        notes.append(Note(
            "gas-depth",
            "A joist cut for a gas pipe is 100 to 250 mm deep.",
            GAS_SOURCE,
        ))  # fmt: skip
    limit = rules.hole_limit_mm(depth)
    if diameter_mm > limit:
        notes.append(Note(
            "hole-too-wide",
            f"A hole in this joist is {limit:.1f} mm at most by the rule; a wider one is "
            "calculated: enter it as a cut and check the joist.",
            rules.source,
        ))  # fmt: skip
    elif rules.hole_cover_mm is not None and depth - 2 * rules.hole_cover_mm < diameter_mm:
        notes.append(Note(
            "no-height-left",
            f"Nowhere in this depth are {rules.hole_cover_mm:.0f} mm left above and below.",
            rules.source,
        ))  # fmt: skip
    return tuple(notes)


def _height(given: JoistInput, diameter_mm: float, rules: CutRules) -> tuple[float, float]:
    if rules.hole_cover_mm is None:
        return given.depth_mm / 2, given.depth_mm / 2
    least = rules.hole_cover_mm + diameter_mm / 2
    return least, given.depth_mm - least


def _needs_protection(given: JoistInput, diameter_mm: float) -> bool:
    return given.depth_mm / 2 - diameter_mm / 2 < given.settings.cable_cover_mm


def _ranges(given: JoistInput, diameter_mm: float, rules: CutRules) -> tuple[DrillRange, ...]:
    """The zones of the rule, less what old cuts forbid, split where they only want care."""
    forbidden = [_around(cut, given, diameter_mm, rules) for cut in given.cuts]
    careful = [_wide_around(cut, given, diameter_mm) for cut in given.cuts if cut.kind == "notch"]
    found = []
    for start, end, left, right in _zones(given.span_mm, diameter_mm / 2, rules):
        edges = {start: left, end: right}
        for keep in (*forbidden, *careful):
            for edge in (keep.start, keep.end):
                if start < edge < end:
                    edges.setdefault(edge, keep.why)
        places = sorted(edges)
        for low, high in pairwise(places):
            middle = (low + high) / 2
            if any(keep.start < middle < keep.end for keep in forbidden):
                continue
            first, last = math.ceil(low - 1e-9), math.floor(high + 1e-9)
            if first <= last:
                care = any(keep.start < middle < keep.end for keep in careful)
                found.append(DrillRange(first, last, edges[low], edges[high], care))
    return tuple(found)


def _zones(
    span_mm: float, radius_mm: float, rules: CutRules
) -> list[tuple[float, float, str, str]]:
    if rules.hole_zone is None:
        return [(radius_mm, span_mm - radius_mm, "the left bearing", "the right bearing")]
    low, high = rules.hole_zone
    inner, outer = (
        f"the zone of the rule, {share:g} of the span from the bearing" for share in (high, low)
    )
    zones = [
        (low * span_mm + radius_mm, high * span_mm - radius_mm, outer, inner),
        ((1 - high) * span_mm + radius_mm, (1 - low) * span_mm - radius_mm, inner, outer),
    ]
    return [zone for zone in zones if zone[0] <= zone[1]]


def _around(cut: Cut, given: JoistInput, diameter_mm: float, rules: CutRules) -> _Keep:
    radius = diameter_mm / 2
    clear = max(rules.clear_apart_mm, radius)
    if cut.kind == "notch":
        clear = max(clear, given.settings.notch_to_hole_least_mm)
        why = f"the notch at {cut.at_mm} mm, {clear:.0f} mm of wood beside it"
        return _Keep(cut.from_mm - clear - radius, cut.to_mm + clear + radius, why)
    apart = max(
        rules.diameters_apart * max(diameter_mm, cut.size_mm), cut.size_mm / 2 + clear + radius
    )
    why = f"the hole at {cut.at_mm} mm, {apart:.0f} mm centre to centre"
    return _Keep(cut.at_mm - apart, cut.at_mm + apart, why)


def _wide_around(cut: Cut, given: JoistInput, diameter_mm: float) -> _Keep:
    wanted = max(given.depth_mm, given.settings.notch_to_hole_wanted_mm)
    reach = wanted + diameter_mm / 2
    why = f"the notch at {cut.at_mm} mm, {wanted:.0f} mm of wood beside it wanted"
    return _Keep(cut.from_mm - reach, cut.to_mm + reach, why)


def _of_the_joist(given: JoistInput) -> tuple[Note, ...]:
    now = check_joist(given).outcome
    if now.passes:
        return ()
    return (
        Note(
            "joist-not-adequate",
            f"The rule presumes a joist that is good enough for its span: {now.sentence}",
            "LABC, read",
        ),
    )


def _of_the_purpose(given: JoistInput, diameter_mm: float, purpose: str) -> tuple[Note, ...]:
    if purpose == "cable":
        cover = given.settings.cable_cover_mm
        band = given.depth_mm - 2 * cover - diameter_mm
        if _needs_protection(given, diameter_mm):
            text = (
                f"In this depth no hole is {cover:g} mm from top and bottom: the cable needs "
                "earthed metal or other protection from nails."
            )
        else:
            text = (
                f"The cable stays {cover:g} mm from top and bottom: the middle of the hole within "
                f"{band / 2:.0f} mm of the centre line."
            )
        return (Note("cable-cover", text, CABLE_SOURCE),)
    if purpose == "gas_pipe":
        return (
            Note(
                "gas-pipe",
                "A gas pipe runs along or square to joists, never diagonally, 50 mm from the faces "
                "or behind a 1 mm steel plate.",
                GAS_SOURCE,
            ),
        )
    if purpose == "pipe":
        return (
            Note(
                "pipe-moves",
                "A water pipe lies loose in its hole so that it can move, and boards over it are "
                "screwed, not nailed.",
                "City & Guilds plumbing book 1, read",
            ),
        )
    return ()


def _sentence(diameter_mm: float, ranges: tuple[DrillRange, ...], refused: tuple[Note, ...]) -> str:
    if refused:
        return f"Do not drill {diameter_mm:g} mm here. {' '.join(n.sentence for n in refused)}"
    if not ranges:
        return f"There is no place left for a hole of {diameter_mm:g} mm in this joist."
    places = ", ".join(
        f"{one.from_mm} to {one.to_mm} mm{' (with care)' if one.with_care else ''}"
        for one in ranges
    )
    return f"The middle of a {diameter_mm:g} mm hole may be at {places} from the left."
