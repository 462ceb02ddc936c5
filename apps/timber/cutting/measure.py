"""What a finished plan is worth, worked out from the patterns alone.

Written apart from the search, so that the two can be set against each other.
"""

from __future__ import annotations

from collections.abc import Sequence

from apps.timber.cutting.problem import (
    CuttingProblem,
    LevelName,
    Pattern,
    cuts_in,
    left_mm,
    waste_mm,
)


def measure(
    problem: CuttingProblem,
    patterns: Sequence[Pattern],
    unmet: Sequence[tuple[str, int]],
) -> tuple[tuple[LevelName, int | None, int], ...]:
    """Each level's name, rank (for `unmet`) and value, in order of importance."""
    parts = {part.key: part for part in problem.parts}
    bins = {bin_.key: bin_ for bin_ in problem.bins}
    cost = waste = cuts = 0
    opened = set()
    for pattern in patterns:
        bin_ = bins[pattern.bin_key]
        lengths = [parts[key].length_mm for key in pattern.part_keys]
        left = left_mm(bin_.length_mm, lengths, problem.kerf_mm)
        handling = sum(bin_.handling.get(key, 0) for key in pattern.part_keys)
        cost += pattern.count * (bin_.cost + handling)
        waste += pattern.count * waste_mm(left, problem.least_offcut_mm)
        cuts += pattern.count * cuts_in(bin_.length_mm, lengths, problem.kerf_mm)
        opened.add(bin_.opens)
    levels: list[tuple[LevelName, int | None, int]] = [
        ("unmet", rank, sum(count for key, count in unmet if parts[key].rank == rank))
        for rank in sorted({part.rank for part in problem.parts})
    ]
    levels += [
        ("cost", None, cost),
        ("opened", None, len(opened - {None})),
        ("waste", None, waste),
        ("cuts", None, cuts),
    ]
    return tuple(levels)
