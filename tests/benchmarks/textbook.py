"""The textbook model of a house: one CP-SAT model, solved as it comes.

Every activity is cut into stints of nearly equal length beforehand (a task with a gap over
the night is otherwise beyond interval variables), each an interval that must be placed; breaks
are fixed intervals in the `no_overlap` of whoever has them; the levels are one weighted sum.
No plan to start from, no bounds of our own. It stands beside the planner in the benchmark. Its
bounds hold for tasks cut in just this way: the planner, free to cut, may finish sooner.
"""

from __future__ import annotations

import time
from collections.abc import Collection
from dataclasses import dataclass

from ortools.sat.python import cp_model

from apps.planning.problem import Activity, Interval, Problem
from apps.planning.windows import merge

# One quarter of a more important level (unready, late, finish) outweighs all of the next.
WEIGHTS = (10**10, 2 * 10**4, 1)


@dataclass(frozen=True, slots=True)
class Plan:
    """What the solver says in the end: levels as `[value, None]`, and the gap of their sum.

    The textbook model bounds the weighted sum only, so a level has no bound of its own.
    """

    levels: list[tuple[int, None]] | None
    gap: float | None
    first_plan_seconds: float | None


class _Watch(cp_model.CpSolverSolutionCallback):
    def __init__(self) -> None:
        super().__init__()
        self.begun = time.perf_counter()
        self.first: float | None = None

    def on_solution_callback(self) -> None:
        if self.first is None:
            self.first = time.perf_counter() - self.begun


def _breaks(problem: Problem, keys: Collection[str]) -> list[Interval]:
    """Where any of these calendars has no window, as a sorted list without overlaps."""
    breaks: list[Interval] = []
    for calendar in problem.calendars:
        if calendar.key in keys:
            at = 0
            for opens, closes in [*calendar.windows, (problem.horizon, problem.horizon)]:
                if opens > at:
                    breaks.append((at, opens))
                at = max(at, closes)
    return merge(breaks)


def _facts(cp: cp_model.CpModel, breaks: list[Interval]) -> list[cp_model.IntervalVar]:
    return [
        cp.new_fixed_size_interval_var(opens, closes - opens, "break") for opens, closes in breaks
    ]


def _pieces(activity: Activity) -> list[int]:
    """The quarters of work of each stint: as many of the shortest as there can be."""
    if not activity.splittable or activity.effort < 2 * activity.shortest_stint:
        return [activity.effort]
    count = activity.effort // activity.shortest_stint
    return [activity.effort // count + (k < activity.effort % count) for k in range(count)]


class _Model:
    """The variables by activity, filled rule by rule."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.cp = cp_model.CpModel()
        self.movable = [a for a in problem.activities if a.fixed is None]
        self.starts: dict[str, list[cp_model.LinearExprT]] = {}
        self.ends: dict[str, list[cp_model.LinearExprT]] = {}
        self.spans: dict[str, list[cp_model.IntervalVar]] = {}
        for activity in problem.activities:
            self._stints(activity)
        self._resources()
        self._calendars()
        self._open_spans()
        self.levels = (self._unready(), self._late(), self._finish())

    def _stints(self, activity: Activity) -> None:
        cp, key = self.cp, activity.key
        if activity.fixed is not None:
            start, end = activity.fixed
            self.starts[key], self.ends[key] = [start], [end]
            self.spans[key] = [cp.new_fixed_size_interval_var(start, end - start, key)]
            return
        earliest = max((release.at for release in activity.releases), default=0)
        sizes = [activity.set_up + work + activity.clear_up for work in _pieces(activity)]
        own = [cp.new_int_var(earliest, self.problem.horizon, key) for _ in sizes]
        pairs = list(zip(own, sizes, strict=True))
        self.starts[key] = list(own)
        self.ends[key] = [start + size for start, size in pairs]
        self.spans[key] = [cp.new_fixed_size_interval_var(*pair, key) for pair in pairs]
        for before, after in zip(self.ends[key], own[1:], strict=False):
            cp.add(after >= before)

    def _resources(self) -> None:
        for resource in self.problem.resources:
            users = [a for a in self.problem.activities if resource.key in a.uses]
            spans = [span for a in users for span in self.spans[a.key]]
            if resource.capacity > 1:
                self.cp.add_cumulative(spans, [1] * len(spans), resource.capacity)
            elif users:
                shared = set.intersection(*(set(a.calendars) for a in users if a.fixed is None))
                facts = _facts(self.cp, _breaks(self.problem, shared))
                self.cp.add_no_overlap([*spans, *facts])

    def _calendars(self) -> None:
        """One by one: what shares no resource may overlap."""
        for activity in self.movable:
            facts = _facts(self.cp, _breaks(self.problem, activity.calendars))
            self.cp.add_no_overlap([*self.spans[activity.key], *facts])

    def _open_spans(self) -> None:
        for span in self.problem.open_spans:
            assert span.opens is not None, "these houses have no other"
            assert span.closes is not None, "these houses have no other"
            opens, closes = self.starts[span.opens][0], self.ends[span.closes][-1]
            for key in span.excludes:
                for start, end in zip(self.starts[key], self.ends[key], strict=True):
                    before = self.cp.new_bool_var("before it opens")
                    self.cp.add(end <= opens).only_enforce_if(before)
                    self.cp.add(start >= closes).only_enforce_if(~before)

    def _unready(self) -> cp_model.LinearExprT:
        shorts = []
        movable = {a.key for a in self.movable}
        for link in self.problem.links:
            assert link.kind == "FS", "these houses have no other"
            wait = self.starts[link.after][0] - self.ends[link.before][-1]
            if link.after in movable:
                self.cp.add(wait >= link.min_lag)
            if link.after not in movable or link.max_lag is not None:
                short = self.cp.new_int_var(0, 4 * self.problem.horizon, "short")
                self.cp.add(short >= link.min_lag - wait)
                if link.max_lag is not None:
                    self.cp.add(short >= wait - link.max_lag)
                shorts.append(short)
        return sum(shorts)

    def _late(self) -> cp_model.LinearExprT:
        lates = []
        for activity in self.problem.activities:
            if activity.due is not None:
                late = self.cp.new_int_var(0, self.problem.horizon, "late")
                self.cp.add(late >= self.ends[activity.key][-1] - activity.due)
                lates.append(activity.due_weight * late)
        return sum(lates)

    def _finish(self) -> cp_model.LinearExprT:
        finish = self.cp.new_int_var(0, self.problem.horizon, "finish")
        self.cp.add_max_equality(finish, [self.ends[a.key][-1] for a in self.movable])
        return finish


def solve(problem: Problem, *, seconds: float, workers: int) -> Plan:
    """Build and solve within `seconds` of wall clock, building included."""
    watch = _Watch()
    model = _Model(problem)
    terms = zip(WEIGHTS, model.levels, strict=True)
    model.cp.minimize(sum(weight * level for weight, level in terms))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = 1
    built = time.perf_counter() - watch.begun
    solver.parameters.max_time_in_seconds = max(0.1, seconds - built)
    solver.solve(model.cp, watch)
    if watch.first is None:
        return Plan(None, None, None)
    value, bound = solver.objective_value, solver.best_objective_bound
    values = [0, *(int(solver.value(level)) for level in model.levels)]
    return Plan([(one, None) for one in values], (value - bound) / value, watch.first)
