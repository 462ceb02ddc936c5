"""The constraint model: is there a schedule by a limit, and how short can it be?"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Literal

from ortools.sat.python import cp_model

from .question import Question
from .windows import Windows

Verdict = Literal["closed", "open"]


class Proof:
    """One run of CP-SAT over windows that a limit has narrowed.

    `stop` may be called from another thread.
    """

    def __init__(
        self,
        question: Question,
        windows: Windows,
        limit: int,
        floor: int,
        hint: Sequence[int] | None = None,
    ) -> None:
        self.limit = limit
        self.model = model = cp_model.CpModel()
        heads, tails = windows.heads.tolist(), windows.tails.tolist()
        self.starts = [
            model.new_int_var(head, limit - tail, "")
            for head, tail in zip(heads, tails, strict=True)
        ]
        end = model.new_int_var(max(floor, windows.bound), limit, "")
        for start, length in zip(self.starts, question.durations, strict=True):
            model.add(end >= start + length)
        for arc in question.arcs:
            model.add(self.starts[arc.after] >= self.starts[arc.before] + arc.lag)
        for before, after in windows.orders:
            model.add(self.starts[after] >= self.starts[before] + question.durations[before])
        intervals = [
            model.new_fixed_size_interval_var(start, length, "")
            for start, length in zip(self.starts, question.durations, strict=True)
        ]
        for at, capacity in enumerate(question.capacities):
            used = [i for i, demand in enumerate(question.demands) if demand[at]]
            model.add_cumulative(
                [intervals[i] for i in used], [question.demands[i][at] for i in used], capacity
            )
        model.minimize(end)
        if hint is not None:
            for start, at in zip(self.starts, hint, strict=True):
                model.add_hint(start, at)
        self.solver = cp_model.CpSolver()

    def run(
        self,
        *,
        seconds: float,
        workers: int,
        seed: int,
        found: Callable[[list[int]], None],
        bounded: Callable[[int], None],
    ) -> Verdict:
        """Search; "closed" if nothing by the limit is better than what `found` was told last."""
        parameters = self.solver.parameters
        parameters.max_time_in_seconds = seconds
        parameters.num_workers = workers
        parameters.random_seed = seed
        parameters.linearization_level = 0
        self.solver.best_bound_callback = lambda bound: bounded(
            min(math.ceil(bound - 1e-6), self.limit + 1)
        )
        status = self.solver.solve(self.model, _Tell(self.starts, found))
        return "closed" if status in {cp_model.OPTIMAL, cp_model.INFEASIBLE} else "open"

    def stop(self) -> None:
        self.solver.stop_search()


class _Tell(cp_model.CpSolverSolutionCallback):
    def __init__(self, starts: list[cp_model.IntVar], found: Callable[[list[int]], None]) -> None:
        super().__init__()
        self.starts, self.found = starts, found

    def on_solution_callback(self) -> None:
        self.found([self.value(start) for start in self.starts])
