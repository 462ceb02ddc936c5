"""Why a joist is given no capacity yet, and what to know about one besides its checks."""

from __future__ import annotations

from apps.checks.cuts import judge_cuts
from apps.checks.joist_input import JoistInput
from apps.checks.results import Note
from apps.checks.strength import strength_class

# Rows of strutting wanted for a clear span: NHBC 6.4.15 (2020 and 2024), read.
STRUTTING: tuple[tuple[int, int], ...] = ((2500, 0), (4500, 1))
STRUTTING_MOST = 2
WIDEST_SPACING_MM = 600  # NHBC Good Craftsmanship Guide, read


def reasons_to_wait(given: JoistInput) -> tuple[Note, ...]:
    """What must be looked at before any capacity is given; empty where nothing must."""
    limit = given.settings.void_limit_pct
    source = "EN 1995-1-1 2.3.1.3 (from memory): service class 2 ends at 20 % for softwood"
    notes = []
    if given.void_moisture_pct is not None and given.void_moisture_pct > limit:
        notes.append(Note(
            "void-damp",
            f"Joists in this void read {given.void_moisture_pct:g} %, over {limit:g} %: find and "
            "stop the damp first.",
            source,
        ))  # fmt: skip
    elif (
        given.void_moisture_pct is None
        and given.moisture_pct is not None
        and given.moisture_pct > limit
    ):
        notes.append(Note(
            "joist-damp",
            f"The joist reads {given.moisture_pct:g} %, over {limit:g} %: find why, or give the "
            "moisture of the void if this is a wet piece for a dry one.",
            source,
        ))  # fmt: skip
    if given.decayed:
        where = ", ".join(f"{start} to {end} mm" for start, end in given.decayed)
        notes.append(Note(
            "decay",
            f"There is decay ({where}): find how far it goes, then check what is kept.",
            "judgement: no method gives decayed wood a strength",
        ))  # fmt: skip
    if given.through_split:
        notes.append(Note(
            "through-split",
            "A split goes through the depth: the joist no longer acts as one piece.",
            "judgement; strength classes of EN 338 presuppose graded timber",
        ))  # fmt: skip
    return tuple(notes)


def worth_knowing(given: JoistInput) -> tuple[Note, ...]:
    """Warnings: assumptions, rules of thumb and gaps in what was given."""
    notes = [*_about_the_grade(given), *_about_the_floor(given), *_about_the_ends(given)]
    settings = given.settings
    if given.moisture_pct is None:
        notes.append(Note(
            "moisture-not-measured",
            "The moisture was not given: the section is taken as measured at 20 %.",
            "EN 336",
        ))  # fmt: skip
    elif given.moisture_pct >= settings.wet_timber_pct:
        notes.append(Note(
            "dries-under-load",
            f"At {given.moisture_pct:g} % it dries under load and sags more: k_def is 1.0 higher.",
            "EN 1995-1-1 3.2(4), from memory",
        ))  # fmt: skip
    notes += judge_cuts(given)
    return tuple(notes)


def _about_the_grade(given: JoistInput) -> list[Note]:
    notes = []
    if given.grade_basis == "graded_by" and not given.graded_by.strip():
        notes.append(Note(
            "grader-not-named", "Nobody is named as having graded it: it counts as assumed.", ""
        ))  # fmt: skip
    elif given.grade_basis != "assumed":
        return notes
    grade = strength_class(given.strength_class)
    most = strength_class(given.settings.assumed_class_at_most)
    notes.append(Note(
        "grade-assumed",
        f"{grade.name} is an assumption. It was used as asked, not changed.",
        "BS 4978 / EN 14081: structural timber is graded (read in a TRADA article)",
    ))  # fmt: skip
    if not grade.softwood or grade.f_m_k > most.f_m_k:
        notes.append(Note(
            "assumed-too-good",
            f"Timber without papers is customarily taken as {most.name} at best. {grade.name} "
            "departs from that: have it graded, or record why and who agreed.",
            "customary, from memory: no authority found",
        ))  # fmt: skip
    return notes


def _about_the_floor(given: JoistInput) -> list[Note]:
    notes = []
    if not given.boards_on:
        notes.append(Note(
            "boards-off",
            "The boards are up: the joist can buckle sideways and its neighbours do not help. Do "
            "not load it as a floor.",
            "EN 1995-1-1 6.3.3",
        ))  # fmt: skip
    if given.deck is None:
        notes.append(Note(
            "deck-not-given",
            "No deck was given: one joist is taken to carry a footstep alone, and the blow check "
            "is left out.",
            "EN 1995-1-1 7.3.3",
        ))  # fmt: skip
    elif given.floor_width_mm is None:
        notes.append(Note(
            "width-not-given",
            "The width of the floor was not given: taken as wide as the joist is long.",
            "EN 1995-1-1 7.3.3",
        ))  # fmt: skip
    wanted = next((rows for most, rows in STRUTTING if given.span_mm < most), STRUTTING_MOST)
    if given.span_mm == STRUTTING[-1][0]:
        wanted = STRUTTING[-1][1]
    if given.strutting_rows < wanted:
        notes.append(Note(
            "strutting-missing",
            f"A clear span of {given.span_mm} mm wants {wanted} "
            f"{'row' if wanted == 1 else 'rows'} of strutting.",
            "NHBC 6.4.15 (2020, 2024), read",
        ))  # fmt: skip
    if given.spacing_mm > WIDEST_SPACING_MM:
        notes.append(Note(
            "spacing-wide",
            f"Joists {given.spacing_mm} mm apart are farther apart than the usual 600 mm.",
            "NHBC Good Craftsmanship Guide, read",
        ))  # fmt: skip
    return notes


def _about_the_ends(given: JoistInput) -> list[Note]:
    if not given.bearings:
        return [Note(
            "bearings-not-given",
            f"The bearings were not given: taken as {given.ends[0].length_mm} mm each.",
            "NHBC 6.4.8, read: the length span tables assume",
        )]  # fmt: skip
    notes = []
    for side, end in zip(("left", "right"), given.bearings, strict=True):
        masonry = end.kind == "masonry_pocket"
        settings = given.settings
        least = settings.least_bearing_masonry_mm if masonry else settings.least_bearing_mm
        if end.length_mm < least:
            notes.append(Note(
                "bearing-short",
                f"The {side} end bears {end.length_mm} mm; {least} mm is wanted"
                f"{' on masonry' if masonry else ''}.",
                "NHBC Good Craftsmanship Guide, read" if masonry else "NHBC 6.4.8, read",
            ))  # fmt: skip
    return notes
