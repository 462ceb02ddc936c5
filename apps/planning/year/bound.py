"""What no plan of a year can beat: last end plus weighted lateness, from relaxations.

Every activity has an earliest end: along its links, in its calendars, resources forgotten.
Sharper, for each resource that serves one at a time: the activities that must come before `i`
and whose ends lie at least `wait` before its start all need that resource, so the work of those
that cannot begin before `r` is done at `r` plus that work at the earliest, on the axis of its
working units (one machine with heads and tails; preemption changes nothing without tails, and
tails are met set by set). Lateness is bounded activity by activity, the last end as if by an
activity that comes after all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from apps.planning.year import kernels as k
from apps.planning.year.tables import Ints, Tables, in_order

After = list[list[tuple[int, int]]]


def bound_of(t: Tables) -> int:
    """A proven lower bound of last end + Σ weight × units late, over all activities.

    On the way the search is told (column AIM) which lateness no plan can avoid.
    """
    order, after = in_order(t, int), _after(t)
    low = _earliest(t, order, after)
    t.act[:, k.AIM] = np.maximum(t.act[:, k.DUE], low[:, 1])
    late = np.maximum(0, low[:, 1] - t.act[:, k.DUE]) * t.act[:, k.WEIGHT]
    last = int(low[:, 1].max(initial=0))
    tails = dict.fromkeys(map(int, order), 0)
    _lengthen(t, tails, reversed(tails), after)
    for r in range(len(t.res)):
        last = max(last, _one_machine(t, r, low, tails))
    return last + int(late.sum())


def _earliest(t: Tables, order: Ints, after: After) -> Ints:
    """Earliest starts and ends [n, 2]; what is fixed has its own."""
    low = np.where(t.fixed[:, None], t.at, 0)
    place = {int(i): position for position, i in enumerate(order)}
    for i in place:
        start, low_end = int(max(0, t.act[i, k.RELEASE])), 0
        for j, kind, lag, _, clock in t.row[t.act[i, k.PRED] : t.act[i, k.PRED + 1]]:
            if not (t.fixed[j] or t.above[j, i]):
                continue
            time = low[j, 1 if kind in {k.FS, k.FF} else 0]
            bound = k.after_lag(t.unit, t.hour, time, lag, clock)
            if kind in {k.FS, k.SS}:
                start = max(start, bound)
            else:
                low_end = max(low_end, bound)
        before = sorted(map(int, np.flatnonzero(t.above[:, i])), key=place.__getitem__)
        if before:
            tails = {i: -int(t.act[i, k.WORK])}
            _lengthen(t, tails, reversed(before), after)
            del tails[i]
            for r in {int(use[0]) for j in before for use in t.uses(j)}:
                start = max(start, _one_machine(t, r, low, tails))
        low[i] = _first(t, i, start, low_end)
    return low


def _first(t: Tables, i: int, start: int, low_end: int) -> tuple[int, int]:
    while True:
        start = k.fit(t.act, t.unit, t.hour, i, start)
        if start >= k.FAR:
            return t.horizon, t.horizon
        end = k.end_of(t.act, t.unit, t.hour, i, start)
        if end >= low_end:
            return int(start), int(end)
        start += 1


def _after(t: Tables) -> After:
    """What follows each free activity end to start, with the shortest wait."""
    after: After = [[] for _ in range(t.n)]
    for a, b, kind, lag, _, clock in t.links:
        if clock >= 0 > lag:
            continue  # a head start in working time has no length on the wall
        if kind == k.FS and not t.fixed[a] and not t.fixed[b] and t.above[a, b]:
            after[a].append((b, lag))
    return after


def _lengthen(t: Tables, tails: dict[int, int], backwards: Iterable[int], after: After) -> None:
    """At least how long each end lies before the last start: the longest chain into `tails`.

    What no chain of end-to-start links leads from is left out.
    """
    for j in list(backwards):
        ways = [tails[b] + int(t.act[b, k.WORK]) + lag for b, lag in after[j] if b in tails]
        if ways:
            tails[j] = max(*ways, tails.get(j, ways[0]))


def _one_machine(t: Tables, r: int, low: Ints, tails: Mapping[int, int]) -> int:
    """The time that the work on resource `r` alone pushes the end of the tails to."""
    axis = int(t.res[r, 0])
    if t.res[r, 1] >= 0:
        return 0
    rows = sorted(
        (int(t.hour[axis, low[i, 0], 0]), int(use[3]), tail)
        for i, tail in tails.items()
        for use in t.uses(i)
        if use[0] == r
    )
    best = 0
    for wait in {row[2] for row in rows}:
        done = 0
        for head, work, tail in rows:
            if tail >= wait:
                done = max(done, head) + work
        if 0 < done < t.unit.shape[1]:
            best = max(best, int(t.unit[axis, done - 1]) + 1 + wait)
    return best
