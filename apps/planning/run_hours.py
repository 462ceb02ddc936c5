"""Hours for many runs at once: arrays of minutes in, arrays of minutes out.

The last window is endless and lies beyond any plan (`NEVER`): who finds no place before the
plan's days are over lands there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from .problem import QUARTER_MINUTES, Interval
from .windows import NEVER as NEVER_QUARTER

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Minutes = NDArray[np.int64]

NEVER = NEVER_QUARTER * QUARTER_MINUTES
ENDLESS = 1 << 55


class Hours:
    """The windows of one activity, with what each stint in them costs besides work.

    Args:
        windows: quarter-hours, sorted, disjoint.
        least: quarter-hours of work in the shortest stint; shorter windows are no use.
        around: quarter-hours of set-up and clear-up of each stint.
    """

    def __init__(self, windows: Sequence[Interval], least: int = 1, around: int = 0) -> None:
        kept = [(a, b) for a, b in windows if b - a >= least + around]
        self.around = around * QUARTER_MINUTES
        self.least = least * QUARTER_MINUTES
        self.opens = np.array([a * QUARTER_MINUTES for a, _ in kept] + [NEVER], dtype=np.int64)
        self.closes = np.array([b * QUARTER_MINUTES for _, b in kept] + [ENDLESS], dtype=np.int64)
        # Work that the windows before each one can hold.
        self.before = np.concatenate(
            [[0], np.cumsum((self.closes - self.opens - self.around)[:-1])]
        )
        self.sizes, self.next_fit = _next_fits(self.closes - self.opens)
        self.longest = max((b - a for a, b in kept), default=0) * QUARTER_MINUTES

    def begin(self, ready: Minutes, need: Minutes | int) -> Minutes:
        """The first start at or after `ready` in a window that has room for `need` minutes.

        What fits into no window at all begins in one of the longest.
        """
        need = np.minimum(need, max(self.longest, 1))
        k = np.searchsorted(self.closes, ready, side="right")
        at = np.maximum(ready, self.opens[k])
        full = self.closes[k] - at < need
        if full.any():
            size = np.broadcast_to(np.searchsorted(self.sizes, need), at.shape)[full]
            at[full] = self.opens[self.next_fit[size, k[full] + 1]]
        return at

    def close_after(self, at: Minutes) -> Minutes:
        """When the window closes in which a time lies."""
        return self.closes[np.searchsorted(self.closes, at, side="right")]

    def end(self, start: Minutes, work: Minutes, around: Minutes | int) -> Minutes:
        """When `work` begun at `start` is done, carried on through window after window.

        `around` is what the first window's stint costs besides; the others cost their own.
        """
        k = np.searchsorted(self.closes, start, side="right")
        first_end = start + around + work
        over = first_end > self.closes[k]
        if not over.any():
            return first_end
        k = k[over]
        cost = around[over] if isinstance(around, np.ndarray) else around
        given = self.closes[k] - start[over] - cost
        target = self.before[k + 1] + work[over] - np.maximum(given, 0)
        j = np.searchsorted(self.before, target, side="left") - 1
        first_end[over] = self.opens[j] + self.around + target - self.before[j]
        return first_end

    def end_from(self, floor: Minutes, work: Minutes) -> Minutes:
        """The first time at or after `floor` at which a stint can end."""
        k = np.searchsorted(self.closes, floor, side="left")
        shortest = self.opens[k] + self.around + np.minimum(work, self.least)
        return np.maximum(floor, shortest)


def _next_fits(lengths: Minutes) -> tuple[Minutes, NDArray[np.int64]]:
    """For each length that occurs, and each window, the first from it on that is as long."""
    sizes = np.unique(lengths)
    count = len(lengths)
    found = np.full((len(sizes), count + 1), count - 1, dtype=np.int64)
    for n, size in enumerate(sizes):
        following = np.where(lengths >= size, np.arange(count), count - 1)
        found[n, :count] = np.minimum.accumulate(following[::-1])[::-1]
    return sizes, found


class WorkingClock:
    """A clock that runs inside windows only, for waits counted in working time."""

    def __init__(self, windows: Sequence[Interval]) -> None:
        self.hours = Hours(windows)

    def later(self, since: Minutes, lag: int) -> Minutes:
        """The first time by which `lag` working minutes have passed since `since`."""
        if lag == 0:
            return since
        opens, closes, before = self.hours.opens, self.hours.closes, self.hours.before
        k = np.searchsorted(opens, since, side="right") - 1
        passed = np.where(k < 0, 0, before[k] + np.minimum(since, closes[k]) - opens[k])
        target = passed + lag
        j = np.searchsorted(before, target, side="left") - 1
        later: Minutes = opens[j] + target - before[j]
        return later
