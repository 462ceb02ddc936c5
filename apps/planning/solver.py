"""Make a plan and say how good it provably is.

First our own generator, so that there is a plan within a moment; then CP-SAT from that plan,
one level of the objective after the other, each bounded before and fixed after.
Same problem, same plan: everything is seeded and limited by counted effort, not by seconds.
"""

from __future__ import annotations

from collections.abc import Callable

from ortools.sat.python import cp_model

from .account import solution
from .bounds import finish_bound, free_windows, heads, impossible
from .draft import Draft
from .levels import Key, key, shortage, soft
from .model import Model
from .problem import Problem, Solution
from .search import SEED, first_plan, improve
from .site import Site
from .tidy import join, justify

# Plans built before the first one is shown, and after; divided by the number of activities.
FIRST_EFFORT = 2400
SECOND_EFFORT = 7000
# Seconds of wall clock per deterministic second after which a solve is stopped for safety.
# Reached only on a machine many times slower than any tried; the answer may then differ.
GUARD = 20.0


def solve(
    problem: Problem,
    *,
    deterministic_seconds: float,
    on_first: Callable[[Solution], None] | None = None,
    workers: int = 1,
) -> Solution:
    """The best plan found within the limit, never an error for a house that cannot be planned.

    Args:
        deterministic_seconds: CP-SAT's own measure of effort, near seconds on a usual machine.
        on_first: called once with the first complete plan.
        workers: threads; more than one are interleaved so that the answer stays the same.
    """
    site = Site(problem)
    free = free_windows(site)
    first = heads(site, free)
    lost = impossible(site, first)
    draft = improve(site, first_plan(site), tries=FIRST_EFFORT // (site.count + 1))
    draft = justify(draft)
    bounds = list(_bounds(site, first, free, lost, key(draft)))
    if on_first is not None:
        on_first(solution(draft, bounds=bounds))
    if not _proven(draft, bounds):
        draft = justify(improve(site, draft, tries=SECOND_EFFORT // (site.count + 1)))
    if not _proven(draft, bounds):
        draft = _refine(
            site,
            draft,
            bounds,
            Model(site, first, lost, certain=key(draft)[0] <= bounds[0]),
            deterministic_seconds,
            workers,
        )
    return solution(draft, bounds=bounds)


def _proven(draft: Draft, bounds: list[int]) -> bool:
    return all(value <= bound for value, bound in zip(key(draft), bounds, strict=True))


def _bounds(site: Site, first, free, lost, values: Key) -> Key:  # noqa: ANN001
    """Our own lower bounds of the four levels."""
    unplaced = sum(site.effort[i] for i in lost)
    unready = late = 0
    alone = Draft(site)
    for i in site.movable:
        if i not in lost:
            alone.stints[i] = [(first.start[i], first.end[i])]
    for tie in site.ties:
        if not site.binding(tie):
            # A longest wait may be kept by starting later, so only lateness counts here.
            since, until = alone.since(tie), alone.until(tie)
            if since is None or site.fixed(tie.before):
                unready += shortage(alone, tie)
            else:
                unready += max(0, tie.link.min_lag - tie.wait(since, until or 0))
        elif tie.link.max_lag is not None and soft(tie, alone) and site.fixed(tie.before):
            unready += shortage(alone, tie)
    for i, activity in enumerate(site.activities):
        if activity.due is not None and (end := alone.end(i)) is not None:
            late += activity.due_weight * max(0, end - activity.due)
    finish = 0
    if values[0] <= unplaced:
        finish = finish_bound(site, first, free, values[3])
    return unplaced, unready, late, finish


def _refine(
    site: Site, draft: Draft, bounds: list[int], model: Model, limit: float, workers: int
) -> Draft:
    """Improve and prove with CP-SAT, level by level. Raises `bounds` where it proves more."""
    left = limit
    for n, level in enumerate(model.levels):
        value = key(draft)[n]
        if value > bounds[n] and left > 0:
            open_levels = sum(v > b for v, b in zip(key(draft)[n:], bounds[n:], strict=True))
            share = left if open_levels == 1 else left * 0.6
            solver = cp_model.CpSolver()
            parameters = solver.parameters
            parameters.random_seed = SEED
            parameters.num_workers = workers
            parameters.interleave_search = workers > 1
            parameters.max_deterministic_time = share
            parameters.max_time_in_seconds = GUARD * share + 5
            parameters.cp_model_probing_level = 0
            model.cp.minimize(level)
            model.cp.add(level >= bounds[n])
            model.hint(draft)
            status = solver.solve(model.cp)
            left -= solver.response_proto.deterministic_time
            if status in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
                found = join(model.read(solver))
                if key(found) < key(draft):
                    draft = justify(found)
            if model.exact and status != cp_model.UNKNOWN:
                bounds[n] = max(bounds[n], round(solver.best_objective_bound))
            value = key(draft)[n]
        model.cp.add(level <= value)
    return draft
