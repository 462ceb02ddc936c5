"""Bounds without search: longest ways through the waits, forced orders, work against capacity.

Nodes are the activities, then the beginning of everything and the end of everything.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .question import Question

NEVER = -(1 << 40)

Array = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Windows:
    """What every schedule that ends by a limit has in common.

    Attributes:
        way: longest way from start to start, `way[i, j]`; far below 0 where there is none.
        orders: pairs (i, j) that capacity and limit force one after the other, i first.
    """

    way: Array
    orders: tuple[tuple[int, int], ...] = ()

    @property
    def heads(self) -> Array:
        """Earliest starts."""
        return self.way[-2, :-2]

    @property
    def tails(self) -> Array:
        """The least time from the start of each to the end of everything."""
        return self.way[:-2, -1]

    @property
    def bound(self) -> int:
        """The longest way from beginning to end: no schedule is shorter."""
        return int(self.way[-2, -1])


def windows_of(question: Question, limit: int) -> Windows | None:
    """Longest ways (Floyd 1962, Warshall 1962); None if a circle of waits is longer than none.

    Such a circle asks an activity to start after its own start: nothing ends by the limit.
    """
    size = question.size
    way = np.full((size + 2, size + 2), NEVER, np.int64)
    np.fill_diagonal(way, 0)
    way[size, :] = 0
    way[:size, size + 1] = question.durations
    for arc in question.arcs:
        way[arc.before, arc.after] = max(way[arc.before, arc.after], arc.lag)
    way[size + 1, size] = -limit
    for middle in range(size + 2):
        if way[middle, middle] > 0:
            return None
        np.maximum(way, way[:, middle, None] + way[None, middle, :], out=way)
        np.maximum(way, NEVER, out=way)
    return None if (way.diagonal() > 0).any() else Windows(way)


def narrow(question: Question, limit: int, deadline: float) -> Windows | None:
    """Windows and forced orders of a limit; None if they contradict each other."""
    windows = windows_of(question, limit)
    return windows and _force_orders(question, windows, deadline)


def _force_orders(question: Question, windows: Windows, deadline: float) -> Windows | None:
    """Order every pair that may not overlap and fits only one way round; None if neither fits.

    i cannot come before j where j's start already forces i's beyond start(j) - duration(i).
    (Immediate selection, Carlier and Pinson 1989, on the matrix of longest ways as in
    Brucker, Knust, Schoo and Thiele 1998.) Repeated until nothing changes or time is up.
    """
    size = question.size
    way = windows.way.copy()
    durations = np.array(question.durations, np.int64)
    apart = np.zeros((size, size), bool)
    for at, capacity in enumerate(question.capacities):
        demand = np.array([units[at] for units in question.demands], np.int64)
        apart |= (demand[:, None] + demand[None, :] > capacity) & (demand > 0)[:, None]
    np.fill_diagonal(apart, False)
    orders: list[tuple[int, int]] = []
    while time.perf_counter() < deadline:
        between = way[:size, :size]
        never = apart & (between.T + durations[:, None] > 0)
        if (never & never.T).any():
            return None
        new = np.argwhere(never.T & (between < durations[:, None]))
        if not len(new):
            break
        for before, after in new.tolist():
            length = question.durations[before]
            if way[before, after] >= length:
                continue
            if time.perf_counter() >= deadline:
                break
            orders.append((before, after))
            np.maximum(way, way[:, before, None] + length + way[None, after, :], out=way)
            if (way.diagonal() > 0).any():
                return None
        np.maximum(way, NEVER, out=way)
    return Windows(way, tuple(orders))


def crowded(question: Question, windows: Windows) -> int:
    """All that starts at or after a head and leaves at least a tail behind it must fit between.

    A lower bound: for each resource and each pair, head + ceil(work / capacity) + tail.
    """
    durations = np.array(question.durations, np.int64)
    heads, behind = windows.heads, windows.tails - durations
    best = 0
    for at, capacity in enumerate(question.capacities):
        work = durations * np.array([demand[at] for demand in question.demands], np.int64)
        busy = work > 0
        for head in np.unique(heads[busy]):
            late = busy & (heads >= head)
            order = np.argsort(-behind[late], kind="stable")
            total = np.cumsum(work[late][order])
            bounds = head + -(-total // capacity) + behind[late][order]
            best = max(best, int(bounds.max()))
    return best
