"""One stretch of a plan to optimality: only what lies in it is modelled, the rest are bounds.

Each free activity has a position on the axis of its own resource's working units, a few hundred
at most in a window; its start and end on the wall, and positions on other axes, are looked up
in one table of its allowed places, and only where a link, a date or another resource asks.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from apps.planning.year import kernels as k
from apps.planning.year.tables import Ints, Tables

Column = tuple[str, int]  # "start" or "end" on the wall (-1) or on a calendar's units
WALL = -1


@dataclass(frozen=True, slots=True)
class Improved:
    """A window's outcome: all starts and ends, or None; whether no better one exists."""

    at: Ints | None
    proven: bool


@dataclass(slots=True)
class _Place:
    """Where one activity may go: its allowed starts and ends, and the variables made so far."""

    starts: Ints
    ends: Ints
    position: Any
    positions: Ints
    variables: dict[tuple[str, int], Any] = field(default_factory=dict)


def improve(
    t: Tables,
    at: Ints,
    free: Collection[int],
    *,
    begin: int,
    end: int,
    seconds: float,
    seed: int,
    workers: int = 1,
    cost_at_most: int | None = None,
    hint: Ints | None = None,
) -> Improved:
    """The cheapest way to place `free` inside [begin, end), everything else as `at` has it.

    With `cost_at_most` (last end plus weighted lateness of everything) it is the way that moves
    the fewest activities instead, among those that cost no more. `hint`: a plan to begin at.
    """
    window = _Window(t, at, frozenset(free), begin, end, at if hint is None else hint)
    if not window.places:
        return Improved(None, window.possible)
    return window.solve(seconds, seed, workers, cost_at_most)


class _Window:
    def __init__(
        self, t: Tables, at: Ints, free: frozenset[int], begin: int, end: int, hint: Ints
    ) -> None:
        from ortools.sat.python import cp_model  # noqa: PLC0415 (half a second to load)

        self.cp: Any = cp_model
        self.model: Any = cp_model.CpModel()
        self.t, self.at, self.free, self.hint = t, at, free, hint
        self.begin, self.end = begin, min(end, t.horizon)
        self.places: dict[int, _Place] = {}
        self.possible = True
        self.outside = np.array([i for i in range(t.n) if i not in free], np.int64)
        for i in sorted(free):
            place = self._place(i)
            if place is None:
                self.possible, self.places = False, {}
                return
            self.places[i] = place
        self._link()
        self._share()
        self._keep_open()
        self.cost = self._cost()

    # Places

    def _place(self, i: int) -> _Place | None:
        starts = self._allowed(i)
        if not len(starts):
            return None
        ends = self._ends(i, starts)
        for fits in self._against_outside(i, starts, ends):
            starts, ends = starts[fits], ends[fits]
        if not len(starts):
            return None
        positions = self.t.hour[self._axis(i), starts, 0].astype(np.int64)
        domain = self.cp.Domain.FromValues(positions.tolist())
        name = self.t.keys[i]
        place = _Place(starts, ends, self.model.new_int_var_from_domain(domain, name), positions)
        here = np.flatnonzero(starts == self.hint[i, 0])
        self.model.add_hint(place.position, int(positions[here[0] if len(here) else 0]))
        return place

    def _axis(self, i: int) -> int:
        return int(self.t.act[i, k.CAL])

    def _allowed(self, i: int) -> Ints:
        """Starts in the window that the activity's own calendars and release allow."""
        t, act = self.t, self.t.act[i]
        first = max(self.begin, int(act[k.RELEASE]))
        low, high = t.hour[act[k.CAL], min(first, t.horizon), 0], t.hour[act[k.CAL], self.end, 0]
        starts = t.unit[act[k.CAL], low:high].astype(np.int64)
        if act[k.KIND] == k.WHOLE:
            starts = starts[t.hour[act[k.CAL], starts, 1] >= starts + act[k.WORK]]
        ends = self._ends(i, starts)
        fits = ends <= self.end
        if act[k.WITHIN] >= 0:
            fits &= t.hour[act[k.WITHIN], starts, 1] >= ends
        return starts[fits]

    def _ends(self, i: int, starts: Ints) -> Ints:
        t, act = self.t, self.t.act[i]
        if act[k.KIND] != k.CARRIED:
            after: Ints = starts + act[k.WORK]
            return after
        last = t.hour[act[k.CAL], starts, 0].astype(np.int64) + act[k.WORK] - 1
        inside = np.minimum(last, t.unit.shape[1] - 1)
        ends = t.unit[act[k.CAL], inside].astype(np.int64) + 1
        return np.where(last < t.unit.shape[1], ends, k.FAR)

    def _against_outside(self, i: int, starts: Ints, ends: Ints) -> list[NDArray[np.bool_]]:
        """One mask: places that keep links, single resources and spans with what stays put."""
        t, at = self.t, self.at
        fits = np.ones(len(starts), np.bool_)
        for a, b, kind, least, most, clock in self._links_of(i):
            other = b if a == i else a
            if at[other, 0] >= k.FAR:
                continue
            mine = self._side(kind, i == a, starts, ends)
            theirs = self._side(kind, other == a, *at[other][:, None])
            wait = (
                self._on(clock, theirs) - self._on(clock, mine)
                if a == i
                else self._on(clock, mine) - self._on(clock, theirs)
            )
            wall = theirs - mine if a == i else mine - theirs
            fits &= (wait >= least) & (wait <= most) & ((least != 0) | (wall >= 0))
        for r, _, least, _ in t.uses(i)[:, :4]:
            if t.res[r, 1] >= 0:
                continue
            until = np.maximum(ends, starts + least)
            for j in self._users(int(r)):
                taken = self._until(j, int(r))
                fits &= (until <= at[j, 0]) | (starts >= taken)
        for a, b, excluded in t.spans:
            sides = {one for one in (a, b) if one >= 0}
            if i in excluded and not sides & self.free:
                opened, closed = self._span(a, b)
                fits &= (ends <= opened) | (starts >= closed)
        return [fits]

    def _links_of(self, i: int) -> list[tuple[int, int, int, int, int, int]]:
        return [
            link
            for link in self.t.links
            if (link[0] == i and link[1] not in self.free)
            or (link[1] == i and link[0] not in self.free)
        ]

    @staticmethod
    def _side(kind: int, before: bool, starts: Ints, ends: Ints) -> Ints:
        at_end = kind in {k.FS, k.FF} if before else kind in {k.FF, k.SF}
        return ends if at_end else starts

    def _on(self, clock: int, times: Ints) -> Ints:
        if clock < 0:
            return times
        counted: Ints = self.t.hour[clock, np.minimum(times, self.t.horizon), 0].astype(np.int64)
        return counted

    def _users(self, r: int) -> list[int]:
        """Activities outside that use a resource somewhere in the window."""
        return [
            int(j)
            for j in self.outside
            if self.at[j, 0] < self.end
            and any(use[0] == r for use in self.t.uses(j))
            and self._until(int(j), r) > self.begin
        ]

    def _until(self, j: int, r: int) -> int:
        least = max(int(use[2]) for use in self.t.uses(j) if use[0] == r)
        return max(int(self.at[j, 1]), int(self.at[j, 0]) + least)

    def _span(self, a: int, b: int) -> tuple[int, int]:
        opened = int(self.at[a, 0]) if a >= 0 else 0
        return opened, int(self.at[b, 1]) if b >= 0 else self.t.horizon

    # Variables

    def _of(self, i: int, side: str, axis: int) -> Any:
        """An activity's start or end on an axis (WALL or a calendar): variable or number."""
        if i not in self.places:
            return int(self._on(axis, self.at[i, 0 if side == "start" else 1]))
        place = self.places[i]
        if axis == self._axis(i) and side == "start":
            return place.position
        if (side, axis) in place.variables:
            return place.variables[side, axis]
        if side == "end" and axis == WALL and self.t.act[i, k.KIND] != k.CARRIED:
            return self._of(i, "start", WALL) + int(self.t.act[i, k.WORK])
        values = self._on(axis, place.starts if side == "start" else place.ends)
        return self._looked_up(place, (side, axis), values)

    def _looked_up(self, place: _Place, name: Column, values: Ints) -> Any:
        apart = values - place.positions
        if (apart == apart[0]).all():
            place.variables[name] = place.position + int(apart[0])
            return place.variables[name]
        variable = self.model.new_int_var(int(values.min()), int(values.max()), "")
        first = int(place.positions.min())
        table = np.full(int(place.positions.max()) - first + 1, int(values[0]), np.int64)
        for where in range(len(values) - 1, -1, -1):
            table[int(place.positions[where]) - first] = values[where]
        for where in range(1, len(table)):  # holes are never looked at: keep the table monotone
            table[where] = max(table[where], table[where - 1])
        self.model.add_element(place.position - first, table.tolist(), variable)
        place.variables[name] = variable
        return variable

    # Rules

    def _link(self) -> None:
        for a, b, kind, least, most, clock in self.t.links:
            if a not in self.places or b not in self.places:
                continue
            one = "end" if kind in {k.FS, k.FF} else "start"
            two = "start" if kind in {k.FS, k.SS} else "end"
            axis = clock
            if least == 0:  # no wait: on the axis of the second, where nothing is looked up
                axis = self._axis(b) if two == "start" else WALL
            self.model.add(self._of(b, two, axis) - self._of(a, one, axis) >= least)
            if most < k.FAR:
                self.model.add(self._of(b, two, clock) - self._of(a, one, clock) <= most)

    def _share(self) -> None:
        t = self.t
        for r in range(len(t.res)):
            users = [i for i in self.places if any(use[0] == r for use in t.uses(i))]
            if not users:
                continue
            intervals, demands = [], []
            for i in users:
                for use in t.uses(i):
                    if use[0] == r:
                        intervals.append(self._interval(i, r, int(use[2])))
                        demands.append(int(use[1]))
            if t.res[r, 1] < 0:
                if len(intervals) > 1:
                    self.model.add_no_overlap(intervals)
                continue
            for j in self._users(r):
                demand = sum(int(use[1]) for use in t.uses(j) if use[0] == r)
                begin, until = self._on(
                    int(t.res[r, 0]), np.array([self.at[j, 0], self._until(j, r)])
                ).tolist()
                intervals.append(self.model.new_fixed_size_interval_var(begin, until - begin, ""))
                demands.append(demand)
            self.model.add_cumulative(intervals, demands, int(t.res[r, 2]))

    def _interval(self, i: int, r: int, least: int) -> Any:
        place, axis = self.places[i], int(self.t.res[r, 0])
        start = self._of(i, "start", axis)
        until = np.minimum(np.maximum(place.ends, place.starts + least), self.t.horizon)
        ends, starts = self._on(axis, until), self._on(axis, place.starts)
        sizes = ends - starts
        if (sizes == sizes[0]).all():
            return self.model.new_fixed_size_interval_var(start, int(sizes[0]), "")
        end = self._looked_up(place, (f"held {r}", axis), ends)
        size = self.model.new_int_var(int(sizes.min()), int(sizes.max()), "")
        return self.model.new_interval_var(start, size, end, "")

    def _keep_open(self) -> None:
        for a, b, excluded in self.t.spans:
            sides = {one for one in (a, b) if one >= 0}
            for x in excluded:
                if not (sides & self.free) and x in self.free:
                    continue  # among its places already
                if not ({x} | sides) & self.free:
                    continue
                opened = self._of(a, "start", WALL) if a >= 0 else 0
                closed = self._of(b, "end", WALL) if b >= 0 else self.t.horizon
                before = self.model.new_bool_var("")
                self.model.add(self._of(x, "end", WALL) <= opened).only_enforce_if(before)
                self.model.add(self._of(x, "start", WALL) >= closed).only_enforce_if(~before)

    def _cost(self) -> Any:
        t = self.t
        outside = self.outside[self.at[self.outside, 1] < k.FAR]
        last = int(self.at[outside, 1].max(initial=0))
        terms = []
        late = np.maximum(0, self.at[outside, 1] - t.act[outside, k.DUE]) * t.act[outside, k.WEIGHT]
        ends = [i for i, place in self.places.items() if int(place.ends.max()) > last]
        for i, place in self.places.items():
            due, weight = int(t.act[i, k.DUE]), int(t.act[i, k.WEIGHT])
            if weight and int(place.ends.max()) > due:
                by = self.model.new_int_var(
                    max(0, int(place.ends.min()) - due), int(place.ends.max()) - due, ""
                )
                self.model.add(by >= self._of(i, "end", WALL) - due)
                terms.append(weight * by)
        finish: Any = last
        if ends:
            finish = self.model.new_int_var(last, self.end, "finish")
            for i in ends:
                self.model.add(finish >= self._of(i, "end", WALL))
        return sum(terms) + finish + int(late.sum())

    # Solving

    def solve(self, seconds: float, seed: int, workers: int, cost_at_most: int | None) -> Improved:
        if cost_at_most is None:
            self.model.minimize(self.cost)
        else:
            self.model.add(self.cost <= cost_at_most)
            self.model.minimize(sum(self._moved()))
        solver = self.cp.CpSolver()
        parameters = solver.parameters
        parameters.max_time_in_seconds = max(0.01, seconds)
        parameters.num_workers = workers
        parameters.random_seed = seed
        parameters.cp_model_probing_level = 0
        status = solver.solve(self.model)
        if status == self.cp.INFEASIBLE:
            return Improved(None, proven=True)
        if status not in {self.cp.OPTIMAL, self.cp.FEASIBLE}:
            return Improved(None, proven=False)
        at = self.at.copy()
        for i, place in self.places.items():
            where = int(np.flatnonzero(place.positions == solver.value(place.position))[0])
            at[i] = place.starts[where], place.ends[where]
        return Improved(at, status == self.cp.OPTIMAL)

    def _moved(self) -> list[Any]:
        moved = []
        for i, place in self.places.items():
            here = np.flatnonzero(place.starts == self.at[i, 0])
            stays = self.model.new_bool_var("")
            if len(here):
                self.model.add(place.position == int(place.positions[here[0]])).only_enforce_if(
                    stays
                )
            else:
                self.model.add(stays == 0)
            moved.append(1 - stays)
        return moved
