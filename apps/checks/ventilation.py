"""Air under a suspended timber floor: required against provided, wall by wall.

Rule: openings on two opposite walls of at least 1500 mm² for each metre run of wall, or 500 mm²
for each square metre of floor, whichever is more (Approved Document C section 4; sources and
readings: `ventilation_settings`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, dist

from apps.checks.results import Check, Note, Outcome
from apps.checks.ventilation_settings import READINGS, VentilationSettings
from apps.checks.ventilation_sides import Side, judged_side
from apps.checks.ventilation_void import Opening, Point, SideOfVoid, Void, corners, sides

EDITION = (
    "Approved Document C (England) section 4: 1500 mm² a metre read in a copy of the 1992 edition, "
    "500 mm² a square metre second hand as in that of 2004"
)
CAUTIONS = (
    "Building control decides how the rule is read here, and may ask for more.",
    "Count what is marked on the grille, not the size of the brick: a screen takes air away.",
    "An opening that stops in the cavity is none.",
    "Air must also pass the sleeper walls, and must not come by way of a garage.",
)
OPPOSITE = {0: 2, 1: 3, 2: 0, 3: 1}


@dataclass(frozen=True, slots=True)
class DeadCorner:
    """A corner of the void that no open air brick is near enough to."""

    at: Point
    nearest_mm: int | None
    sentence: str


@dataclass(frozen=True, slots=True)
class VoidAir:
    """Whether the void is aired as the rule asks, and what would put it right."""

    outcome: Outcome
    reading: str
    by_run_mm2: int
    by_area_mm2: int
    required_mm2: int
    provided_mm2: int
    sides: tuple[Side, ...]
    not_counted: tuple[Note, ...]
    dead_corners: tuple[DeadCorner, ...]


def void_air(void: Void, settings: VentilationSettings | None = None) -> VoidAir:
    """The air of one void.

    Raises:
        ValueError: an opening that lies at no wall of the floor.
    """
    settings = settings or VentilationSettings()
    around = sides(void)
    vented = vented_sides(around, settings)
    run_mm = sum(side.run_mm for side in vented)
    by_run = ceil(round(run_mm * settings.mm2_per_metre / 1000, 6))
    by_area = -(-void.area_mm2 * settings.mm2_per_square_metre // 1_000_000)
    required = max(by_run, by_area)
    provided = sum(side.open_mm2 for side in vented)
    judged = tuple(
        judged_side(side, required, run_mm, enough=provided >= required, settings=settings)
        for side in vented
    )
    dead = dead_corners(void, around, settings)
    outcome = put_together(void, judged, required, provided, dead, settings)
    return VoidAir(
        outcome=outcome,
        reading=READINGS[settings.reading],
        by_run_mm2=by_run,
        by_area_mm2=by_area,
        required_mm2=required,
        provided_mm2=provided,
        sides=judged,
        not_counted=not_counted(around, vented),
        dead_corners=dead,
    )


def vented_sides(
    around: Sequence[SideOfVoid], settings: VentilationSettings
) -> tuple[SideOfVoid, ...]:
    """The sides that the rule is asked of: the opposite pair with more air, or all outer ones."""
    if settings.reading == "all_outer_walls":
        return tuple(side for side in around if side.run_mm > 0)

    def worth(pair: tuple[SideOfVoid, SideOfVoid]) -> tuple[bool, int, int, float]:
        opens = [side.open_mm2 for side in pair]
        outer = all(side.run_mm > 0 for side in pair)
        return (outer, min(opens), sum(opens), sum(side.run_mm for side in pair))

    return max(((around[0], around[2]), (around[1], around[3])), key=worth)


def not_counted(around: Sequence[SideOfVoid], vented: Sequence[SideOfVoid]) -> tuple[Note, ...]:
    """Openings that are there and do not count, each with why."""
    notes = [
        Note("opening-not-counted", f"{begun(one.opening)} counts for nothing: "
             f"{one.why_not}.")
        for side in around
        for one in side.placed
        if not one.counts
    ]  # fmt: skip
    beside = [
        one for side in around if side not in vented for one in side.placed if one.counts
    ]  # fmt: skip
    notes += [
        Note("opening-beside", f"{begun(one.opening)} helps, but is on neither of "
             "the two walls that are counted.")
        for one in beside
    ]  # fmt: skip
    return tuple(notes)


def begun(opening: Opening) -> str:
    """An opening as a sentence begins."""
    return f"{opening.name[0].upper()}{opening.name[1:]}"


def dead_corners(
    void: Void, around: Sequence[SideOfVoid], settings: VentilationSettings
) -> tuple[DeadCorner, ...]:
    """Corners that no open air brick reaches, and those on the far side of one-sided openings."""
    live = [one.opening for side in around for one in side.placed if one.counts]
    aired = [side for side in around if side.open_mm2]
    far = around[OPPOSITE[aired[0].quarter]] if len(aired) == 1 else None
    behind = {point for wall in far.walls for point in wall.line} if far else set()
    found = []
    for corner in corners(void):
        nearest = min((dist(corner, one.at) for one in live), default=None)
        where = f"The corner at {corner[0]}, {corner[1]} mm"
        if nearest is None:
            found.append(DeadCorner(corner, None, f"{where} is dead: no air brick is open."))
        elif corner in behind:
            words = (
                f"{where} is dead: air bricks are open on one side only, {round(nearest)} mm away."
            )
            found.append(DeadCorner(corner, round(nearest), words))
        elif nearest > settings.corner_reach_mm:
            words = f"{where} may be dead: the nearest open air brick is {round(nearest)} mm away."
            found.append(DeadCorner(corner, round(nearest), words))
    return tuple(found)


def put_together(
    void: Void,
    judged: Sequence[Side],
    required: int,
    provided: int,
    dead: Sequence[DeadCorner],
    settings: VentilationSettings,
) -> Outcome:
    """All checks of the void: the openings, each wall, the heights."""
    checks = [reaches("openings", "Openings in all", provided, required, "mm²", "AD C section 4")]
    checks += [
        reaches("wall", f"Openings in {side.name}", side.open_mm2, side.required_mm2, "mm²",
                "AD C section 4, " + READINGS[settings.reading])
        for side in judged
        if settings.reading != "both_walls_added" and side.required_mm2
    ]  # fmt: skip
    checks += heights(void, settings)
    warnings = [Note("dead-corner", corner.sentence, "common practice, no source")
                for corner in dead]  # fmt: skip
    if void.clear_mm is None:
        warnings.append(
            Note("void-not-measured", "The height of the void was not measured, so not checked.")
        )
    across = [side for side in judged if side.open_mm2 > 0]
    one_sided = len(across) < 2
    if one_sided:
        warnings.insert(
            0,
            Note("one-side-only", "Air bricks are open on fewer than two sides: the air cannot "
                 "cross.", "AD C section 4"),
        )  # fmt: skip
    if any(side.run_mm == 0 for side in judged) or len(judged) < 2:
        warnings.append(
            Note("no-opposite-wall", "There is no outer wall opposite: look at the neighbouring "
                 "void too, or lead pipes to outside.", "AD C section 4"),
        )  # fmt: skip
    passes = all(check.passes for check in checks) and not one_sided
    governing = max(checks, key=lambda check: check.utilisation)
    short = [side.sentence for side in judged if side.short_mm2]
    sentence = (
        f"The void has {provided} mm² of the {required} mm² wanted"
        + (": enough." if passes else ".")
        + "".join(f" {words}" for words in short)
        + "".join(f" {check.sentence}" for check in checks[1:] if not check.passes and not short)
        + (f" {warnings[0].sentence}" if one_sided else "")
    )
    return Outcome(
        edition=EDITION,
        checks=tuple(checks),
        governing=governing.code,
        passes=passes,
        warnings=tuple(warnings),
        cautions=CAUTIONS,
        sentence=sentence,
    )


def heights(void: Void, settings: VentilationSettings) -> list[Check]:
    """The void's clear heights and the openings' height above ground, where measured."""
    rows = [
        ("void_height", "The void under the joists", void.clear_mm, settings.least_void_mm),
        ("plate_height", "The space under the plate", void.under_plate_mm,
         settings.least_under_plate_mm),
        *(
            ("above_ground", f"{begun(one)} above ground", one.above_ground_mm,
             settings.least_above_ground_mm)
            for one in void.openings
        ),
    ]  # fmt: skip
    return [
        reaches(code, what, found, least, "mm", "AD C section 4")
        for code, what, found, least in rows
        if found is not None
    ]


def reaches(code: str, what: str, found: int, least: int, unit: str, clause: str) -> Check:
    """A check that a figure reaches its least; utilisation is least over found, nought as 1."""
    passes = found >= least
    said = "enough" if passes else f"{least - found} {unit} short"
    sentence = f"{what}: {found} {unit} of {least} {unit} wanted, {said}."
    return Check(code, sentence, float(least), float(found), unit, least / max(found, 1), passes,
                 clause)  # fmt: skip
