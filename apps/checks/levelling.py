"""Level a floor with packers: which stack on which bearing, and how flat it comes out.

Spot heights at bearings and along joists go in; the floor's height (given or free), a stack of
the packers to hand for each bearing and what to plane off come out, so that the straightedge
along and across, the fall, the stack and the planing keep their limits. When they cannot, the
answer names the rule that stands in the way and by how much.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from apps.checks.level_broken import gap_mm, signed, stands_in_the_way
from apps.checks.level_lines import Line, Spot, lines
from apps.checks.level_model import Found, Site
from apps.checks.level_results import Broken, Levelled, LineResult, SheetLine
from apps.checks.level_search import Effort, level
from apps.checks.level_settings import FLATNESS_MM
from apps.checks.level_task import LevelTask
from apps.checks.packers import Packer

__all__ = [
    "Broken",
    "LevelTask",
    "Levelled",
    "LineResult",
    "Packer",
    "SheetLine",
    "Spot",
    "levelled",
]

MOST_SPOTS = 120
MOST_SPREAD_MM = 300
MOST_UNDER_EDGE = 11
EFFORT = 1.5
"""How much effort one levelling takes at most, in the solver's own measure: our choice."""

CAUTIONS = (
    "Packing is hard, as wide as the joist, fixed so that it cannot walk out, no soft wood.",
    "Planing makes a joist shallower: check the joist again at its new depth.",
    "Prop a joist before you lift it off its bearing.",
    "A competent person decides about anything that carries a wall.",
)


def levelled(task: LevelTask, *, effort: float = EFFORT) -> Levelled:
    """The best levelling of a floor.

    Args:
        effort: limit in the solver's own measure, near seconds on a usual machine, so that the
            same question gets the same answer.

    Raises:
        ValueError: no bearing was measured, or spots that no floor has.
    """
    refuse(task)
    site = Site(task)
    found, ended = level(site, Effort(effort))
    if found is not None:
        return as_sheet(site, found, proven=ended)
    broken, sentence = (
        stands_in_the_way(site, effort)
        if ended
        else ((), "No answer was found in the effort allowed; try fewer thicknesses of packers.")
    )
    return Levelled(
        possible=False if ended else None,
        proven=ended,
        height_mm=task.target_mm,
        fixed=task.target_mm is not None,
        flatness=task.flatness,
        reached=None,
        sheet=(),
        lines=(),
        packers_used=(),
        planed_mm=0.0,
        levels=(),
        broken=broken,
        cautions=CAUTIONS,
        sentence=sentence,
    )


def refuse(task: LevelTask) -> None:
    """Raises ValueError: with a sentence, for spots that no floor has."""
    if not task.spots or len(task.spots) > MOST_SPOTS:
        raise ValueError(f"Give 1 to {MOST_SPOTS} spot heights.")
    if not any(spot.bearing for spot in task.spots):
        raise ValueError("No spot is at a bearing, and joists are packed at their bearings.")
    heights = [spot.height_mm for spot in task.spots]
    heights += [task.target_mm] if task.target_mm is not None else []
    if not all(abs(height) <= 20_000 for height in heights):
        raise ValueError("A height is within 20 m of the datum.")
    if max(heights) - min(heights) > MOST_SPREAD_MM:
        raise ValueError(f"The heights differ by more than {MOST_SPREAD_MM} mm: check the datum.")
    if not all(abs(mm) <= 1_000_000 for s in task.spots for mm in (s.along_mm, s.across_mm)):
        raise ValueError("A spot is within 1 km.")
    places = [(spot.joist, spot.along_mm) for spot in task.spots]
    if len(set(places)) < len(places):
        raise ValueError("Two heights were given for the same place of a joist.")
    for line in lines(task.spots, task.settings):
        if crowd(line.at_mm, task.settings.straightedge_mm) > MOST_UNDER_EDGE:
            raise ValueError(
                f"More than {MOST_UNDER_EDGE} heights lie under one straightedge {line.name}: one "
                "in 200 mm is enough."
            )
    if task.flatness not in FLATNESS_MM:
        raise ValueError(f"The flatness is one of {', '.join(FLATNESS_MM)}.")


def crowd(at_mm: Sequence[int], long_mm: int) -> int:
    """The most places of a line that lie within one length."""
    return max(bisect_right(at_mm, start + long_mm) - n for n, start in enumerate(at_mm))


def as_sheet(site: Site, found: Found, *, proven: bool) -> Levelled:
    """A levelled floor as the sheet for the wall."""
    task = site.task
    rows = tuple(sheet_line(task, found, number) for number in range(len(task.spots)))
    shown = line_results(site, found)
    worst = max((line.gap_mm for line in shown), default=0.0)
    reached = next((name for name, most in FLATNESS_MM.items() if worst <= most), None)
    used = tuple(
        (packer.thickness_mm, sum(stack.counts[kind] for stack in found.stacks if stack))
        for kind, packer in enumerate(task.packers)
    )
    planed = sum(found.planed) / 10
    pieces = sum(count for _, count in used)
    furthest = max(rows, key=lambda row: abs(row.error_mm))
    return Levelled(
        possible=True,
        proven=proven,
        height_mm=found.height / 10,
        fixed=task.target_mm is not None,
        flatness=task.flatness,
        reached=reached,
        sheet=rows,
        lines=shown,
        packers_used=used,
        planed_mm=planed,
        levels=found.levels,
        broken=(),
        cautions=CAUTIONS,
        sentence=(
            f"At {plain(found.height / 10)} mm the floor comes out within {worst:.1f} mm under the "
            f"straightedge ({task.flatness} allows {FLATNESS_MM[task.flatness]} mm) with "
            f"{pieces} packer{'' if pieces == 1 else 's'} and "
            f"{f'{planed:.1f} mm planed off' if planed else 'nothing planed off'}; furthest off is "
            f"{furthest.joist} at {furthest.bearing or f'{furthest.along_mm} mm'}, "
            f"{signed(furthest.error_mm)} mm."
        ),
    )


def sheet_line(task: LevelTask, found: Found, number: int) -> SheetLine:
    spot, stack = task.spots[number], found.stacks[number]
    thick = sorted(
        (
            packer.thickness_mm
            for kind, packer in enumerate(task.packers)
            for _ in range(stack.counts[kind] if stack else 0)
        ),
        reverse=True,
    )
    error = round((found.finals[number] - found.height) / 10, 4)
    planed = found.planed[number] / 10
    packing = " + ".join(f"{mm:g}" for mm in thick) or ("no packer" if spot.bearing else "")
    said = [part for part in (packing, f"plane off {planed:.1f} mm" if planed else "") if part]
    return SheetLine(
        spot_id=spot.id,
        joist=spot.joist,
        bearing=spot.bearing,
        along_mm=spot.along_mm,
        packers_mm=tuple(thick),
        lift_mm=found.lifts[number] / 10,
        planed_mm=planed,
        final_mm=round(found.finals[number] / 10, 4),
        error_mm=error,
        sentence=f"{spot.name}: {', '.join([*said, f'error {signed(error)} mm'])}.",
    )


def plain(mm: float) -> str:
    """To a tenth, with a minus that is one."""
    return f"{mm:.1f}".replace("-", "−")


def line_results(site: Site, found: Found) -> tuple[LineResult, ...]:
    """The worst gap and fall of every line."""
    results = []
    for number, line in enumerate(site.lines):
        shown = [(abs(gap_mm(gap, found)), gap.spot) for gap in site.gaps if gap.line == number]
        gap, at = max(shown, default=(0.0, None))
        spot_id = None if at is None else site.task.spots[at].id
        results.append(
            LineResult(
                line.name, line.direction, round(gap, 4), spot_id, steepest(line, found, site)
            )
        )
    return tuple(results)


def steepest(line: Line, found: Found, site: Site) -> float:
    """The greatest fall of a line [mm per metre] between spots a metre and more apart."""
    at = dict(zip(line.spots, line.at_mm, strict=True))
    slopes = [
        abs(found.finals[fall.first] - found.finals[fall.second])
        / 10
        / abs(at[fall.first] - at[fall.second])
        * 1000
        for fall in site.falls
        if site.lines[fall.line] is line
    ]
    return round(max(slopes, default=0.0), 3)
