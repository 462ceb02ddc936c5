"""Where the boards of one course end: over joists, and not beside the joints of the next course."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Sequence
from itertools import pairwise

Cost = tuple[int, int, int, int, int, float]


def end_joints(
    start: float,
    end: float,
    joists: Sequence[float],
    *,
    longest: float,
    before: Collection[float] = (),
    before_that: Collection[float] = (),
) -> list[float]:
    """Choose the end joints of one unbroken course.

    The first of these that tells two choices apart decides: fewest boards that rest on one
    joist only, fewest joints shared with the course before, fewest boards of a single bay (two
    joints on neighbouring joists leave the next course none to miss them by), fewest boards,
    fewest joints shared with the course before that, boards of even length.

    Args:
        start, end: of the course along the run [mm].
        joists: centre lines it crosses, ascending [mm].
        longest: longest board [mm].
        before, before_that: joints of the last course and the one before it [mm].

    Returns:
        The joints, ascending; none if one board does.

    Raises:
        ValueError: two neighbouring joists are farther apart than the longest board.
    """
    stops = [start, *(joist for joist in joists if start < joist < end), end]
    best: list[tuple[Cost, int] | None] = [((0, 0, 0, 0, 0, 0.0), 0)]
    for here in range(1, len(stops)):
        choices = [
            (_sum(cost[0], _cost(stops, joists, there, here, (before, before_that))), there)
            for there in range(here)
            if (cost := best[there]) is not None and stops[here] - stops[there] <= longest
        ]
        best.append(min(choices, default=None))
    at = len(stops) - 1
    if best[at] is None:
        wide = max(b - a for a, b in pairwise(stops))
        raise ValueError(
            f"Boards of at most {longest:.0f} mm do not reach from joist to joist ({wide:.0f} mm)."
        )
    joints: list[float] = []
    while (choice := best[at]) is not None and choice[1] > 0:
        at = choice[1]
        joints.append(stops[at])
    return joints[::-1]


def _cost(
    stops: Sequence[float],
    joists: Sequence[float],
    there: int,
    here: int,
    taken: tuple[Collection[float], Collection[float]],
) -> Cost:
    """What one board between two stops adds; its far end is charged here, its near end before."""
    begin, stop = stops[there], stops[here]
    ends_here = here < len(stops) - 1
    rests_on = bisect_right(joists, stop) - bisect_left(joists, begin)
    return (
        int(rests_on < 2),
        int(ends_here and stop in taken[0]),
        int(ends_here and there > 0 and here == there + 1),
        1,
        int(ends_here and stop in taken[1]),
        (stop - begin) ** 2,
    )


def _sum(one: Cost, two: Cost) -> Cost:
    return (
        one[0] + two[0],
        one[1] + two[1],
        one[2] + two[2],
        one[3] + two[3],
        one[4] + two[4],
        one[5] + two[5],
    )
