"""How little the errors can sum to at every height of the floor, and a first guess at the stacks.

Each joist is taken by itself and with nothing planed: no levelling can do better, whatever the
straightedge says besides. The search then tries the most promising heights first and knows when
to stop.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]
Shares = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Bounds:
    """For each height from 0 [tenths]: the least sum of errors, what the nearest stacks give, and
    the fewest pieces that come to the least errors (nought where that was not looked at).

    Errors are in thousandths of a tenth, as `fine` says.
    """

    least: Numbers
    nearest: Numbers
    fewest: Numbers

    def by_errors(self) -> list[tuple[int, int]]:
        """(bound of the errors, height), the most promising first."""
        return sorted((int(bound), height) for height, bound in enumerate(self.least))

    def by_pieces(self, errors: int) -> list[tuple[int, int]]:
        """(bound of the pieces, height) where so little error is possible.

        Where the bound of the errors is reached, every joist is at its own best.
        """
        return sorted(
            (int(self.fewest[height]) if bound == errors else 0, height)
            for height, bound in enumerate(self.least)
            if bound <= errors
        )


@dataclass(frozen=True, slots=True)
class JoistSpots:
    """The spots of one joist: heights [tenths], and by which of its bearings each is lifted."""

    raw: tuple[int, ...]
    shares: tuple[Shares, ...]

    @property
    def bearings(self) -> tuple[int, ...]:
        """Numbers, within the joist, of the spots that are over a bearing."""
        return tuple(sorted({key for share in self.shares for key, _ in share}))

    def errors(self, lifts: dict[int, Numbers], heights: Numbers, fine: int) -> Numbers:
        """The sum of errors for some lifts of the bearings at some heights, all in one shape."""
        total = np.zeros(1, dtype=np.int64)
        for raw, share in zip(self.raw, self.shares, strict=True):
            lifted = sum((part * lifts[key] for key, part in share), 0 * heights)
            total = total + np.abs(fine * (raw - heights) + lifted)
        return total


def nearest_lifts(raw: int, heights: Numbers, stack: Numbers) -> Numbers:
    """For each height the stack that brings a bearing nearest to it; `stack` is sorted."""
    wanted = heights - raw
    after = np.clip(np.searchsorted(stack, wanted), 1, max(1, len(stack) - 1))
    if len(stack) == 1:
        return np.broadcast_to(stack, heights.shape)
    low, high = stack[after - 1], stack[after]
    return np.where(wanted - low <= high - wanted, low, high)


def bounds(
    joists: Sequence[JoistSpots], stacks: Sequence[tuple[int, int]], *, highest: int, fine: int
) -> Bounds:
    """The bounds of a floor.

    Args:
        stacks: height [tenths] and pieces of each stack that can be made, every height once.
        highest: the greatest height worth trying [tenths].
        fine: parts of a tenth that shares and errors are reckoned in.
    """
    stack, pieces = (
        np.array(column, dtype=np.int64) for column in zip(*sorted(stacks), strict=True)
    )
    heights = np.arange(highest + 1, dtype=np.int64)
    least = np.zeros(highest + 1, dtype=np.int64)
    nearest = np.zeros(highest + 1, dtype=np.int64)
    fewest = np.zeros(highest + 1, dtype=np.int64)
    for joist in joists:
        near = {key: nearest_lifts(joist.raw[key], heights, stack) for key in joist.bearings}
        nearest += joist.errors(near, heights, fine)
        for key, lift in near.items():
            least += fine * np.abs(joist.raw[key] + lift - heights)
    for height in np.flatnonzero(least <= nearest.min()):
        alone = [exact(joist, int(height), stack, pieces, fine) for joist in joists]
        least[height] = sum(errors for errors, _ in alone)
        fewest[height] = sum(count for _, count in alone)
    return Bounds(least, nearest, fewest)


def exact(
    joist: JoistSpots, height: int, stack: Numbers, pieces: Numbers, fine: int
) -> tuple[int, int]:
    """The least sum of one joist's errors at a height, and the fewest pieces that come to it.

    A bearing that is off by more than the nearest stacks' whole sum cannot be part of the best.
    With more than two bearings each is taken by itself, which is a bound still.
    """
    at = np.array([height], dtype=np.int64)
    near = {key: nearest_lifts(joist.raw[key], at, stack) for key in joist.bearings}
    if len(near) > 2:
        off = sum(int(fine * abs(joist.raw[key] + lift[0] - height)) for key, lift in near.items())
        return off, 0
    most = int(joist.errors(near, at, fine).min())
    grid, used = {}, np.zeros(1, dtype=np.int64)
    for shape, key in zip(((-1, 1), (1, -1)), near, strict=False):
        worth = fine * np.abs(joist.raw[key] + stack - height) <= most
        grid[key] = stack[worth].reshape(shape)
        used = used + pieces[worth].reshape(shape)
    errors = joist.errors(grid, at, fine)
    least = int(errors.min())
    return least, int(np.broadcast_to(used, errors.shape)[errors == least].min())
