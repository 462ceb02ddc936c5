"""Arithmetic of windows: stretches of quarter-hours, and a clock that runs only inside them.

Windows are sorted, disjoint, half-open intervals. Nothing here knows what they are for.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence

from .problem import Interval

# Later than any plan: the answer of a clock that has run out of windows.
NEVER = 1 << 40


def intersect(first: Sequence[Interval], second: Sequence[Interval]) -> tuple[Interval, ...]:
    """The stretches that lie in both."""
    both: list[Interval] = []
    i = j = 0
    while i < len(first) and j < len(second):
        start = max(first[i][0], second[j][0])
        end = min(first[i][1], second[j][1])
        if start < end:
            both.append((start, end))
        if first[i][1] < second[j][1]:
            i += 1
        else:
            j += 1
    return tuple(both)


def merge(intervals: Iterable[Interval]) -> list[Interval]:
    """The same quarters as sorted stretches that neither overlap nor touch."""
    merged: list[Interval] = []
    for start, end in sorted(intervals):
        if start >= end:
            continue
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return merged


def complement(windows: Sequence[Interval], start: int, end: int) -> list[Interval]:
    """The breaks: what of `[start, end)` no window covers."""
    breaks: list[Interval] = []
    at = start
    for opens, closes in windows:
        if opens > at:
            breaks.append((at, min(opens, end)))
        at = max(at, closes)
    if at < end:
        breaks.append((at, end))
    return breaks


def full_stretches(intervals: Iterable[Interval], capacity: int) -> list[Interval]:
    """Where `capacity` or more of the intervals lie over each other."""
    return loaded_stretches([(start, end, 1) for start, end in intervals], capacity)


def loaded_stretches(taken: Sequence[tuple[int, int, int]], load: int) -> list[Interval]:
    """Where intervals `(start, end, units)` add up to `load` units or more."""
    events = sorted([(start, units) for start, _, units in taken] +
                    [(end, -units) for _, end, units in taken])  # fmt: skip
    full: list[Interval] = []
    used = 0
    since = 0
    for at, step in events:
        before, used = used, used + step
        if before < load <= used:
            since = at
        elif used < load <= before:
            full.append((since, at))
    return merge(full)


class Clock:
    """Counts quarter-hours inside windows only, as a person counts working hours."""

    def __init__(self, windows: Sequence[Interval]) -> None:
        self.windows = tuple(windows)
        self._starts = [start for start, _ in windows]
        self._ends = [end for _, end in windows]
        self._before: list[int] = [0]
        for start, end in windows:
            self._before.append(self._before[-1] + end - start)

    def reading(self, at: int) -> int:
        """Working quarters before `at`."""
        k = bisect_right(self._starts, at)
        if k == 0:
            return 0
        return self._before[k - 1] + min(at, self._ends[k - 1]) - self._starts[k - 1]

    def first_with(self, reading: int) -> int:
        """The earliest quarter with that many working quarters before it."""
        if reading <= 0:
            return -NEVER
        k = bisect_left(self._before, reading)
        if k == len(self._before):
            return NEVER
        return self._starts[k - 1] + reading - self._before[k - 1]

    def last_with(self, reading: int) -> int:
        """The latest quarter with no more than that many working quarters before it."""
        if reading < 0:
            return -NEVER
        k = bisect_right(self._before, reading)
        if k == len(self._before):
            return NEVER
        return self._starts[k - 1] + reading - self._before[k - 1]

    def wait(self, since: int, until: int) -> int:
        """Working quarters from `since` to `until`; negative when `until` comes first.

        Coming first counts as at least one quarter even if no working time lies between:
        an order is broken by being out of order.
        """
        if until >= since:
            return self.reading(until) - self.reading(since)
        return -max(1, self.reading(since) - self.reading(until))
