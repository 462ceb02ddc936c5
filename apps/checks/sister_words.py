"""The checks and findings of a sistered joist in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from apps.checks.joist_input import JoistInput
from apps.checks.joist_words import in_words
from apps.checks.member import Row
from apps.checks.results import Check, Note, against
from apps.checks.sister_input import SisterInput
from apps.checks.sister_model import lost_ends, sound_stretches

PIECES: Mapping[str, str] = MappingProxyType({"old": "The old joist", "sister": "The sister"})
# code: (what, unit, clause)
LINKED: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "bending": ("the bending stress beside the other", "N/mm²", "EN 1995-1-1 6.1.6, 6.3.3"),
        "bending_bare": (
            "the bending stress where it is alone, beyond the other's ends",
            "N/mm²",
            "EN 1995-1-1 6.1.6, 6.3.3",
        ),
        "shear": ("the greatest shear stress", "N/mm²", "EN 1995-1-1 6.1.7"),
        "bearing_left": ("the pressure on its left bearing", "N/mm²", "EN 1995-1-1 6.1.5"),
        "bearing_right": ("the pressure on its right bearing", "N/mm²", "EN 1995-1-1 6.1.5"),
        "notch_left": ("the shear stress over its notched left end", "N/mm²", "EN 1995-1-1 6.5.2"),
        "notch_right": (
            "the shear stress over its notched right end", "N/mm²", "EN 1995-1-1 6.5.2",
        ),
        "splitting": ("the force that splits it at a fixing", "N", "EN 1995-1-1 8.1.4"),
    }
)  # fmt: skip
FIXINGS: Mapping[str, str] = MappingProxyType(
    {
        "fixings_ends": "The force on one fixing at the sister's ends",
        "fixings_along": "The force on one fixing between the ends",
    }
)


def piece_check(piece: str, row: Row, given: JoistInput) -> Check:
    """A row of one piece as a check: "old_bending", "The old joist: the bending stress is …"."""
    code, demand, capacity = row
    if code in LINKED and code not in {"bending", "shear"}:
        what, unit, clause = LINKED[code]
        return against(
            f"{piece}_{code}",
            f"{PIECES[piece]}: {what}",
            demand=demand,
            capacity=capacity,
            unit=unit,
            clause=clause,
        )
    found = in_words(code, demand, capacity, given)
    first, rest = found.sentence[0].lower(), found.sentence[1:]
    return replace(found, code=f"{piece}_{code}", sentence=f"{PIECES[piece]}: {first}{rest}")


def fixing_check(row: Row) -> Check:
    """A row about the fixings or the splitting of a piece as a check."""
    code, demand, capacity = row
    if code in FIXINGS:
        return against(
            code,
            FIXINGS[code],
            demand=demand,
            capacity=capacity,
            unit="N",
            clause="EN 1995-1-1 8.2.2 and 2.4.3",
        )
    piece, _, kind = code.partition("_")
    return piece_check(piece, (kind, demand, capacity), JOIST_ONLY)


def reasons_in_the_sister(given: SisterInput) -> tuple[Note, ...]:
    """Why this sister does not repair this joist at all; empty where it may."""
    notes = []
    low, high = given.reach
    span = given.old.span_mm
    both = zip(("left", "right"), lost_ends(given), given.sister_bearings, strict=True)
    for (side, lost, on), gap in zip(both, (low, span - high), strict=True):
        if lost and on is None:
            notes.append(Note(
                "end-not-carried",
                f"The old joist is rotten on its {side} bearing and the sister stops "
                f"{max(gap, 0):.0f} mm short of it: nothing carries that end. A sister that does "
                "not reach the bearing does not repair a rotten end: let it bear there, hang it "
                "in a hanger, or lap a new end on.",
                "statics",
            ))  # fmt: skip
    inset = given.settings.end_mm
    for start, end in given.old.decayed:
        inside = max(start, 0), min(end, span)
        if inside[0] < low - 1e-6 or inside[1] > high + 1e-6:
            notes.append(Note(
                "decay-not-covered",
                f"The decay at {start} to {end} mm lies beyond the sister, which runs from "
                f"{low:.0f} to {high:.0f} mm.",
                "statics",
            ))  # fmt: skip
        elif not given.full_length and (
            (start > 0 and start - low < 2 * inset) or (end < span and high - end < 2 * inset)
        ):
            notes.append(Note(
                "decay-at-the-sisters-end",
                f"The decay at {start} to {end} mm leaves less than {2 * inset} mm of sound joist "
                "beside the sister's end: no room for the fixings that carry it past.",
                "EN 1995-1-1 8.3 and 8.5, end distances",
            ))  # fmt: skip
    if given.old.through_split and not given.full_length:
        notes.append(Note(
            "through-split",
            "The old joist is split through its depth, so a sister has to bear at both ends.",
            "judgement; strength classes of EN 338 presuppose graded timber",
        ))  # fmt: skip
    if given.fixings is None and not given.full_length:
        notes.append(Note(
            "fixings-not-given",
            "A sister that stops short is as good as the fixings at its ends: choose them.",
            "statics",
        ))  # fmt: skip
    if not sound_stretches(given) and not given.full_length:
        notes.append(Note("nothing-sound", "No sound length of the old joist is left.", ""))
    return tuple(notes)


def about_the_sister(given: SisterInput) -> tuple[Note, ...]:
    """Warnings about the two together."""
    notes = []
    new, old, settings = given.new, given.old, given.settings
    if new.moisture_pct is not None and old.moisture_pct is not None:
        apart = new.moisture_pct - old.moisture_pct
        if abs(apart) >= settings.moisture_apart_pct:
            notes.append(Note(
                "moisture-apart",
                f"The sister reads {new.moisture_pct:g} %, the joist {old.moisture_pct:g} %: the "
                "wetter one will shrink away from the deck and loosen its fixings. Let it dry "
                "first.",
                "EN 336, judgement",
            ))  # fmt: skip
    fixings = given.fixings
    if fixings is None:
        notes.append(Note(
            "fixings-not-given",
            "No fixings were chosen, so they were not checked: what joins the two must carry what "
            "moves from one to the other.",
            "EN 1995-1-1 section 8",
        ))  # fmt: skip
    if fixings is not None and fixings.bolts:
        notes.append(Note(
            "bolts-arrive-late",
            "Bolts slip by the play of their holes before they carry: drill tight, prop the joist "
            "to its line first, tighten again when the timber has dried.",
            "EN 1995-1-1 7.1(3) and 10.4.3, from memory",
        ))  # fmt: skip
    if fixings is not None and fixings.spacing_mm > settings.most_spacing_mm:
        notes.append(Note(
            "fixings-far-apart",
            f"Fixings {fixings.spacing_mm} mm apart are farther than the "
            f"{settings.most_spacing_mm} mm that hold two pieces together.",
            "from memory, medium confidence",
        ))  # fmt: skip
    if not given.full_length:
        notes.append(Note(
            "ends-hold-a-couple",
            "This sister stops short of a bearing: its end is held by a push and a pull in its "
            "last two places of fixings, several times what the others carry.",
            "statics; frame model B5, PyNiteFEA 3.2.0",
        ))  # fmt: skip
    for side, on in zip(("left", "right"), given.sister_bearings, strict=True):
        if on is not None and on.kind == "hanger":
            notes.append(Note(
                "hanger-of-the-sister",
                f"The sister hangs at the {side}: check the hanger and what it hangs from as a "
                "bearing of their own.",
                "NHBC 6.4.13 (2024), read",
            ))  # fmt: skip
    if given.old.decayed or given.old.through_split:
        notes.append(Note(
            "old-part-left-out",
            "Where the old joist is decayed or split it is counted for nothing. Cut the decay "
            "away first: beside a new sister it goes on.",
            "judgement: no method gives decayed wood a strength",
        ))  # fmt: skip
    return tuple(notes)


JOIST_ONLY = JoistInput(
    span_mm=1000, breadth_mm=47, depth_mm=100, spacing_mm=400, strength_class="C16", dead_kn_m2=0
)
