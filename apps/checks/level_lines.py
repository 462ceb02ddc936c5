"""Lines of spots along and across the joists, and where a straightedge lies on them.

Everything is exact in whole numbers: a height between two spots is taken by whole thousandths
of the way between them, and a straightedge's height over a spot likewise, so a gap is a sum of
weights times heights over `SCALE`.

A straightedge is tried on every two spots within its length, with either end on each spot, with
its middle over each, and slid on by 200 mm; a rise and a hollow are judged alike (equal offsets
at both ends: NHBC Standards 2020 9.1.5, read).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from apps.checks.level_settings import LONG_FLOOR_MM, LevelSettings

SCALE = 1_000_000
SLOPE_FROM_MM = 1000
"""Fall is judged between spots at least this far apart (common practice, no source)."""

SLIDE_MM = 200
"""A straightedge longer than the spots are apart is slid on by this: our choice."""

Direction = Literal["along", "across"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One measured height [mm] of a joist's top, to one datum, up positive.

    `along_mm` and `across_mm` place it on the floor: along the joists and square to them. A spot
    with a `bearing`'s name is over it: there the joist can be packed up.
    """

    id: int
    joist: str
    along_mm: int
    across_mm: int
    height_mm: float
    bearing: str = ""

    @property
    def tenths(self) -> int:
        return round(self.height_mm * 10)

    @property
    def name(self) -> str:
        """The place in a sentence."""
        return f"{self.joist} at {self.bearing or f'{self.along_mm} mm'}"


@dataclass(frozen=True, slots=True)
class Line:
    """Spots one behind the other, by their numbers, and how far each lies along the line."""

    name: str
    direction: Direction
    spots: tuple[int, ...]
    at_mm: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """What a straightedge shows over one spot: a sum of weights times heights, over `SCALE`."""

    line: int
    spot: int
    weights: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Fall:
    """Two spots of a line and how far [mm] one may lie below the other."""

    line: int
    first: int
    second: int
    most_mm: float


def lines(spots: Sequence[Spot], settings: LevelSettings) -> tuple[Line, ...]:
    """All lines of two spots and more, along each joist and across the joists."""
    found = []
    by_joist: dict[str, list[int]] = defaultdict(list)
    for number, spot in enumerate(spots):
        by_joist[spot.joist].append(number)
    for joist, numbers in by_joist.items():
        ordered = sorted(numbers, key=lambda n: spots[n].along_mm)
        at = tuple(spots[n].along_mm for n in ordered)
        found.append(Line(f"along {joist}", "along", tuple(ordered), at))
    for numbers in rows_across(spots, settings.line_mm):
        ordered = sorted(numbers, key=lambda n: spots[n].across_mm)
        at = tuple(spots[n].across_mm for n in ordered)
        found.append(Line(across_in_words(spots, ordered), "across", tuple(ordered), at))
    return tuple(line for line in found if len(line.spots) > 1)


def across_in_words(spots: Sequence[Spot], row: Sequence[int]) -> str:
    names = {spots[number].bearing for number in row}
    where = names.pop() if len(names) == 1 else ""
    return f"across at {where or f'{spots[row[0]].along_mm} mm'}"


def rows_across(spots: Sequence[Spot], within_mm: int) -> list[list[int]]:
    """Spots of different joists that lie about as far along."""
    rows: list[list[int]] = []
    for number in sorted(range(len(spots)), key=lambda n: (spots[n].along_mm, n)):
        spot = spots[number]
        row = rows[-1] if rows else []
        near = bool(row) and spot.along_mm - spots[row[0]].along_mm <= within_mm
        clash = {(spots[n].joist, spots[n].across_mm) for n in row}
        taken = any(spot.joist == joist or spot.across_mm == at for joist, at in clash)
        if near and not taken:
            row.append(number)
        else:
            rows.append([number])
    return rows


def gaps(all_lines: Sequence[Line], straightedge_mm: int) -> tuple[Gap, ...]:
    """Every place of the straightedge that shows something over a spot."""
    found: dict[tuple[int, tuple[tuple[int, int], ...]], Gap] = {}
    for number, line in enumerate(all_lines):
        for middle in range(1, len(line.spots) - 1):
            for start, end in edges(line.at_mm, middle, straightedge_mm):
                weights = over(line, middle, start, end)
                gap = Gap(number, line.spots[middle], weights)
                found.setdefault((number, weights), gap)
    return tuple(found.values())


def edges(at_mm: Sequence[int], middle: int, long_mm: int) -> list[tuple[int, int]]:
    """Where the straightedge may begin and end so that a spot lies under it."""
    here, first, last = at_mm[middle], at_mm[0], at_mm[-1]
    found = [
        (start, end)
        for start, end in combinations(at_mm, 2)
        if start < here < end and end - start <= long_mm
    ]
    if last - first > long_mm:
        starts = {at for at in at_mm if at + long_mm <= last}
        starts |= {at - long_mm for at in at_mm if at - long_mm >= first}
        starts |= {min(max(here - long_mm // 2, first), last - long_mm)}
        starts |= set(range(max(first, here - long_mm), min(here, last - long_mm), SLIDE_MM))
        found += [(at, at + long_mm) for at in sorted(starts) if at < here < at + long_mm]
    return found


def over(line: Line, middle: int, start: int, end: int) -> tuple[tuple[int, int], ...]:
    """Weights of the spots in a straightedge's height over one of them, less its own height."""
    share = thousandths(line.at_mm[middle] - start, end - start)
    total: dict[int, int] = defaultdict(int)
    for at, part in ((start, 1000 - share), (end, share)):
        for spot, weight in height_at(line, at):
            total[spot] += part * weight
    total[line.spots[middle]] -= SCALE
    return tuple(sorted((spot, weight) for spot, weight in total.items() if weight))


def height_at(line: Line, at_mm: int) -> tuple[tuple[int, int], ...]:
    """The height at a place of a line, as weights of its spots that add up to 1000."""
    after = next(number for number, at in enumerate(line.at_mm) if at >= at_mm)
    if line.at_mm[after] == at_mm:
        return ((line.spots[after], 1000),)
    before = line.at_mm[after - 1]
    share = thousandths(at_mm - before, line.at_mm[after] - before)
    return ((line.spots[after - 1], 1000 - share), (line.spots[after], share))


def thousandths(part: int, whole: int) -> int:
    """A share in whole thousandths, halves up."""
    return (2000 * part + whole) // (2 * whole)


def falls(all_lines: Sequence[Line], settings: LevelSettings) -> tuple[Fall, ...]:
    """Every two spots of a line that are far enough apart to have a slope."""
    found = []
    for number, line in enumerate(all_lines):
        places = list(zip(line.spots, line.at_mm, strict=True))
        for (first, a), (second, b) in combinations(places, 2):
            if b - a >= SLOPE_FROM_MM:
                by_metre = settings.slope_mm_per_m * (b - a) / 1000
                most = by_metre if b - a <= LONG_FLOOR_MM else settings.long_fall_mm
                found.append(Fall(number, first, second, most))
    return tuple(found)
