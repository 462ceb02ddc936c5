"""A problem as arrays for the compiled loops: calendars unrolled, links and uses in rows."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from apps.planning.problem import Activity, Calendar, Link, Problem
from apps.planning.year import kernels as k

Ints = NDArray[np.int64]
Halves = NDArray[np.int32]
KINDS = {"FS": k.FS, "SS": k.SS, "FF": k.FF, "SF": k.SF}


@dataclass(frozen=True, slots=True)
class Tables:
    """The arrays of one problem (`kernels` says what each holds) and what was read off them.

    `above[i, j]` is 1 where links put i before j; `first[i, j]` where every order does, so that
    what must not come too early is placed when the rest is known; `behind[i]` has the arcs that
    this comes from. `fixed[i]`: it is not to move.
    `links` are rows (before, after, kind, min lag, max lag, clock); `spans` those of the problem
    as indexes (opens, closes, excluded).
    """

    keys: tuple[str, ...]
    horizon: int
    act: Ints
    row: Ints
    unit: Halves
    hour: Halves
    res: Ints
    span: Ints
    above: Halves
    first: Halves
    behind: tuple[tuple[int, ...], ...]
    fixed: NDArray[np.bool_]
    at: Ints
    links: tuple[tuple[int, int, int, int, int, int], ...]
    spans: tuple[tuple[int, int, tuple[int, ...]], ...]

    @property
    def n(self) -> int:
        return len(self.keys)

    def uses(self, i: int) -> Ints:
        """Rows (resource, demand, least hold or -1) of an activity."""
        return self.row[self.act[i, k.USE] : self.act[i, k.USE + 1]]


def tables_of(problem: Problem, kept: Mapping[str, int] | None = None) -> Tables:
    """The arrays of a problem. `kept`: starts of activities that are not to move, by key.

    Raises:
        KeyError: a link, span or use names something that is not there.
    """
    activities = problem.activities
    index = {activity.key: i for i, activity in enumerate(activities)}
    n = len(activities)
    shelf = _Shelf(problem)
    cal = [shelf.of(activity.calendars) for activity in activities]
    within = [shelf.of((a.within,)) if a.within else -1 for a in activities]
    clock = shelf.of((problem.working_calendar,) if problem.working_calendar else ())
    resources = {resource.key: r for r, resource in enumerate(problem.resources)}
    uses = [_uses(activity, resources) for activity in activities]
    axis = [shelf.union(_hours_of(r, uses, cal, activities)) for r in range(len(resources))]
    unit, hour = shelf.arrays()

    act = _attributes(activities, cal, within)
    at = np.full((n, 2), k.FAR, np.int64)
    fixed = np.zeros(n, np.bool_)
    for i, activity in enumerate(activities):
        if activity.fixed is not None:
            at[i], fixed[i] = activity.fixed, True
        elif kept is not None and activity.key in kept:
            start = kept[activity.key]
            at[i], fixed[i] = (start, end_of(act[i], unit, hour, start)), True

    links = tuple(_link(link, index, clock) for link in problem.links)
    spans = tuple(
        (
            -1 if span.opens is None else index[span.opens],
            -1 if span.closes is None else index[span.closes],
            tuple(index[key] for key in span.excludes),
        )
        for span in problem.open_spans
    )
    rows = _Rows()
    rows.add(act, k.PRED, [(b, (a, *r)) for a, b, *r in links if not fixed[b]])
    rows.add(act, k.SUCC, [(a, (b, *r)) for a, b, *r in links if fixed[b] and not fixed[a]])
    need = [
        (i, (*row, int(act[i, k.WORK]) if axis[row[0]] == cal[i] else 1))
        for i, of in enumerate(uses)
        for row in of
    ]
    rows.add(act, k.USE, need)
    rows.add(act, k.SHUT, [(i, (s,)) for s, of in enumerate(spans) for i in of[2]])
    rows.add(act, k.OPENS, [(of[0], (s,)) for s, of in enumerate(spans) if of[0] >= 0])
    rows.add(act, k.CLOSES, [(of[1], (s,)) for s, of in enumerate(spans) if of[1] >= 0])
    arcs = [(a, b) for a, b, *_ in links if not (fixed[a] or fixed[b])]
    above = _above(n, arcs)
    follow = [
        (a, (b, int(kind == k.SS), most))
        for a, b, kind, _, most, clock in links
        if most < k.FAR and clock < 0 and kind in {k.FS, k.SS} and not (fixed[a] or fixed[b])
    ]
    rows.add(act, k.FOLLOW, follow)
    act[:, k.DEADLINE] = k.FAR
    for a, b, kind, lag, _, clock in links:
        if fixed[b] and not fixed[a] and kind == k.FS and clock < 0:
            act[a, k.DEADLINE] = min(act[a, k.DEADLINE], at[b, 0] - lag)
    pairs = [(a, row[0]) for a, row in follow] + [(a, b) for a, b, _ in spans if min(a, b) >= 0]
    arcs += _early(above, fixed, pairs)
    first = _above(n, arcs)
    behind: list[list[int]] = [[] for _ in range(n)]
    for a, b in dict.fromkeys(arcs):
        if first[a, b] and a != b:
            behind[a].append(b)
    span = np.zeros((len(spans), 5), np.int64)
    for s, (a, b, _) in enumerate(spans):
        span[s, :3] = a, b, _ahead(a, b, above, act, hour)
    rows.add(span, 3, [(s, (i,)) for s, of in enumerate(spans) for i in of[2]])

    return Tables(
        tuple(activity.key for activity in activities),
        problem.horizon,
        act,
        rows.array(),
        unit,
        hour,
        _resources(problem, axis, uses),
        span,
        above,
        first,
        tuple(map(tuple, behind)),
        fixed,
        at,
        links,
        spans,
    )


def _attributes(activities: Sequence[Activity], cal: list[int], within: list[int]) -> Ints:
    act = np.zeros((len(activities), k.ACT), np.int64)
    act[:, k.WORK] = [a.effort + a.set_up + a.clear_up for a in activities]
    act[:, k.KIND] = [_kind(a) for a in activities]
    act[:, k.CAL], act[:, k.WITHIN] = cal, within
    act[:, k.RELEASE] = [max((r.at for r in a.releases), default=0) for a in activities]
    act[:, k.DUE] = [k.FAR if a.due is None else a.due for a in activities]
    act[:, k.AIM] = act[:, k.DUE]
    act[:, k.WEIGHT] = [a.due_weight for a in activities]
    return act


def _resources(
    problem: Problem, axis: Sequence[int], uses: Sequence[Sequence[tuple[int, int, int]]]
) -> Ints:
    res = np.zeros((len(problem.resources), 3), np.int64)
    profiles = 0
    for r, resource in enumerate(problem.resources):
        demands = [d for of in uses for which, d, _ in of if which == r]
        single = resource.capacity == 1 and max(demands, default=1) == 1
        res[r] = axis[r], -1 if single else profiles, resource.capacity
        profiles += not single
    return res


class _Rows:
    """Lists of numbers, one after another in one array; who has which stands in two columns."""

    def __init__(self) -> None:
        self.rows: list[tuple[int, ...]] = []

    def add(self, whose: Ints, column: int, pairs: Iterable[tuple[int, Sequence[int]]]) -> None:
        heaps: list[list[Sequence[int]]] = [[] for _ in range(len(whose))]
        for where, row in pairs:
            heaps[where].append(row)
        for i, heap in enumerate(heaps):
            whose[i, column] = len(self.rows)
            self.rows += [tuple(row) + (0,) * (5 - len(row)) for row in heap]
            whose[i, column + 1] = len(self.rows)

    def array(self) -> Ints:
        return np.array(self.rows, np.int64).reshape(-1, 5)


class _Shelf:
    """Every set of hours that is needed, once: intersections of calendars, unions of them."""

    def __init__(self, problem: Problem) -> None:
        self.horizon = problem.horizon
        self.windows = {
            calendar.key: _open(calendar, problem.horizon) for calendar in problem.calendars
        }
        self.hours: list[NDArray[np.bool_]] = []
        self.ends: list[Ints] = []
        self.known: dict[object, int] = {}

    def of(self, keys: Sequence[str]) -> int:
        """The hours common to these calendars; all hours for none."""
        name = frozenset(keys)
        if name not in self.known:
            if len(name) == 1:
                hours, ends = self.windows[keys[0]]
            else:
                hours, ends = _common([self.windows[key] for key in sorted(name)], self.horizon)
            self.known[name] = self._keep(hours, ends)
        return self.known[name]

    def union(self, numbers: Iterable[int]) -> int:
        """The hours of any of these; all hours for none."""
        some = tuple(sorted(set(numbers)))
        if not some:
            return self.of(())
        if len(some) == 1:
            return some[0]
        if some not in self.known:
            hours = np.logical_or.reduce([self.hours[one] for one in some])
            self.known[some] = self._keep(hours, np.zeros(self.horizon + 1, np.int64))
        return self.known[some]

    def _keep(self, hours: NDArray[np.bool_], ends: Ints) -> int:
        self.hours.append(hours)
        self.ends.append(ends)
        return len(self.hours) - 1

    def arrays(self) -> tuple[Halves, Halves]:
        most = max(int(hours.sum()) for hours in self.hours)
        unit = np.full((len(self.hours), most + 1), k.FAR, np.int32)
        hour = np.zeros((len(self.hours), self.horizon + 1, 2), np.int32)
        for number, hours in enumerate(self.hours):
            units = np.flatnonzero(hours)
            unit[number, : len(units)] = units
            hour[number, 1:, 0] = np.cumsum(hours)
            hour[number, :, 1] = self.ends[number]
        return unit, hour


def _open(calendar: Calendar, horizon: int) -> tuple[NDArray[np.bool_], Ints]:
    hours = np.zeros(horizon, np.bool_)
    ends = np.zeros(horizon + 1, np.int64)
    for window in calendar.windows:
        begin, end = max(0, window[0]), min(window[1], horizon)
        if begin < end:
            hours[begin:end] = True
            ends[begin:end] = end
    return hours, ends


def _common(
    several: Sequence[tuple[NDArray[np.bool_], Ints]], horizon: int
) -> tuple[NDArray[np.bool_], Ints]:
    hours = np.ones(horizon, np.bool_)
    ends = np.full(horizon + 1, horizon, np.int64)
    for more, their in several:
        hours &= more
        ends = np.minimum(ends, their)
    ends[:-1][~hours] = 0
    ends[-1] = 0
    return hours, ends


def _uses(activity: Activity, resources: dict[str, int]) -> list[tuple[int, int, int]]:
    demand = activity.demand or (1,) * len(activity.uses)
    rows = [(resources[key], d, -1) for key, d in zip(activity.uses, demand, strict=True) if d]
    return rows + [(resources[hold.resource], 1, hold.least) for hold in activity.holds]


def _hours_of(
    resource: int,
    uses: Sequence[Sequence[tuple[int, int, int]]],
    cal: Sequence[int],
    activities: Sequence[Activity],
) -> Iterable[int]:
    """The calendars in whose hours a resource is used; none means all hours, as for a hold."""
    numbers = set()
    for i, of in enumerate(uses):
        for r, _, least in of:
            if r == resource:
                if least >= 0 or activities[i].mode == "elapsed" or activities[i].fixed:
                    return ()
                numbers.add(cal[i])
    return numbers


def _kind(activity: Activity) -> int:
    if activity.mode == "elapsed":
        return k.ELAPSED
    return k.CARRIED if activity.splittable else k.WHOLE


def end_of(act: Ints, unit: Halves, hour: Halves, start: int) -> int:
    """The end of an activity (its row of `act`) begun at `start`."""
    if act[k.KIND] == k.CARRIED and 0 <= start < hour.shape[1]:
        last = int(hour[act[k.CAL], start, 0] + act[k.WORK]) - 1
        if last < unit.shape[1] and unit[act[k.CAL], last] < k.FAR:
            return int(unit[act[k.CAL], last]) + 1
    return int(start + act[k.WORK])


def _link(link: Link, index: Mapping[str, int], clock: int) -> tuple[int, int, int, int, int, int]:
    return (
        index[link.before],
        index[link.after],
        KINDS[link.kind],
        link.min_lag,
        k.FAR if link.max_lag is None else link.max_lag,
        clock if link.clock == "working" else -1,
    )


def _above(n: int, arcs: Sequence[tuple[int, int]]) -> Halves:
    """Who comes before whom, through any chain; an arc that would close a circle is left out."""
    above = np.zeros((n, n), np.bool_)
    for before, after in arcs:
        if before == after or above[after, before] or above[before, after]:
            continue
        ups = above[:, before].copy()
        ups[before] = True
        downs = above[after].copy()
        downs[after] = True
        above |= np.outer(ups, downs)
    return above.astype(np.int32)


def _early(
    above: Halves, fixed: NDArray[np.bool_], pairs: Iterable[tuple[int, int]]
) -> list[tuple[int, int]]:
    """What else leads to the second of a pair: it is to be placed before the first."""
    early = []
    for a, b in pairs:
        if not fixed[a] and not fixed[b]:
            others = (above[:, b] == 1) & (above[a] == 0)
            early += [(int(c), a) for c in np.flatnonzero(others) if c != a]
    return early


def _ahead(a: int, b: int, above: Halves, act: Ints, hour: Halves) -> int:
    """How long a span is likely to stay open: twice the work from opening to closing."""
    if a < 0 or b < 0:
        return 0
    between = np.flatnonzero(above[a] & above[:, b])
    effort = int(act[[a, b, *between], k.WORK].sum())
    share = max(1, int(hour[act[a, k.CAL], -1, 0])) / hour.shape[1]
    return int(2 * effort / share)


def in_order(t: Tables, rank: Callable[[int], Any]) -> Ints:
    """All free activities by rank, none before what must be placed before it."""
    waits = [0] * t.n
    for after in t.behind:
        for j in after:
            waits[j] += 1
    heap = [(rank(i), i) for i in range(t.n) if not t.fixed[i] and not waits[i]]
    heapq.heapify(heap)
    order = []
    while heap:
        _, i = heapq.heappop(heap)
        order.append(i)
        for j in t.behind[i]:
            waits[j] -= 1
            if not waits[j]:
                heapq.heappush(heap, (rank(j), j))
    return np.array(order, np.int64)
