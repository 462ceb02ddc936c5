"""Make a plan and say how good it provably is.

First our own generator, so that there is a plan within a moment; then CP-SAT from that plan,
one level of the objective after the other, each bounded before and fixed after.
Same problem, same plan: everything is seeded and limited by counted effort, not by seconds.
"""

from __future__ import annotations

from collections.abc import Callable

from ortools.sat.python import cp_model

from .account import solution
from .bounds import (
    Heads,
    breaks_bound,
    finish_bound,
    free_windows,
    heads,
    impossible,
    open_nights_bound,
)
from .draft import Draft
from .levels import FINISH, Key, key, shortage, soft
from .model import Model
from .problem import Interval, Problem, Solution
from .search import SEED, first_plan, improve
from .site import Site
from .tidy import join, justify, settle
from .warm import giving_way
from .weeks import by_windows

# Changes of order tried before the first plan is shown and after it, times activities.
FIRST_EFFORT = 2400
SECOND_EFFORT = 7000
TRIES_PER_ACTIVITY = 4
# CP-SAT's deterministic time that one second of a 2020s server core gets through, measured on
# houses of some 110 possible stints (60 tasks); larger models get through less of it, roughly so.
EFFORT_PER_SECOND = 0.05
STINTS_AT_FULL_EFFORT = 110
# Deterministic time charged per possible stint for loading a model, which CP-SAT leaves out.
LOADING = 1e-5
# Seconds of wall clock per deterministic second after which a solve is stopped for safety.
# Reached only on a machine many times slower than any tried; the answer may then differ.
GUARD = 4.0
# The part of the effort kept for the levels after the finish.
AFTER_FINISH = 0.15
# The most that one window of a week or two may take of what is left for the finish: one in so many.
WINDOWS = 10
FOUND = frozenset({cp_model.OPTIMAL, cp_model.FEASIBLE})


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
    draft = first_plan(site)
    if site.was:
        # The plan before, giving way only where it must, is often the better beginning.
        draft = min(giving_way(site), draft, key=key)
    bounds = list(own_bounds(site, first, free, lost, key(draft)))
    if not proven(draft, bounds):
        draft = improve(site, draft, tries=_tries(site, FIRST_EFFORT))
        bounds = list(own_bounds(site, first, free, lost, key(draft)))
    draft = justify(draft)
    shown = settle(draft)
    if on_first is not None:
        on_first(solution(shown, bounds=bounds))
    if not proven(shown, bounds):
        draft = justify(improve(site, draft, tries=_tries(site, SECOND_EFFORT)))
        shown = min(settle(draft), shown, key=key)
    if not proven(shown, bounds):
        shown = _refine(
            site,
            shown,
            bounds,
            Model(site, first, lost, certain=key(shown)[0] <= bounds[0]),
            deterministic_seconds,
            workers,
        )
    return solution(shown, bounds=bounds)


def _tries(site: Site, effort: int) -> int:
    return min(TRIES_PER_ACTIVITY * site.count, effort // (site.count + 1))


def proven(draft: Draft, bounds: list[int]) -> bool:
    return all(value <= bound for value, bound in zip(key(draft), bounds, strict=True))


def own_bounds(
    site: Site, first: Heads, free: list[list[Interval]], lost: frozenset[int], values: Key
) -> Key:
    """Our own lower bounds of all levels."""
    unplaced = sum(site.activities[i].effort for i in lost)
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
    finish = breaks = 0
    if values[0] <= unplaced:
        finish = finish_bound(site, first, free, values[FINISH])
        breaks = breaks_bound(site, free, lost)
    # Kept at best where it could begin; nights nothing planned can close.
    gone = [i for i, (_, last) in site.was.items() if i in lost or first.start[i] >= last]
    disturbed = sum(i in site.settled for i in gone)
    nights = open_nights_bound(site, first)
    return unplaced, unready, late, disturbed, finish, nights, breaks, len(gone)


def _refine(
    site: Site, draft: Draft, bounds: list[int], model: Model, limit: float, workers: int
) -> Draft:
    """Improve and prove with CP-SAT, level by level. Raises `bounds` where it proves more."""
    crowd = max(1.0, model.stints / STINTS_AT_FULL_EFFORT)
    left = limit * EFFORT_PER_SECOND / crowd**1.3
    kept = AFTER_FINISH * left
    for n, level in enumerate(model.levels):
        if key(draft)[n] > bounds[n] and left > 0:
            if n == FINISH:
                draft, unused = _finish(model, draft, bounds, max(0.0, left - kept), workers)
                left = min(left, kept) + max(0.0, unused)
            else:
                draft, left = _minimise(model, draft, bounds, n, left, workers)
        if n == FINISH:
            draft = settle(draft)
        model.cp.add(level <= key(draft)[n])
    return draft


def _ask(cp: cp_model.CpModel, limit: float, workers: int) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.random_seed = SEED
    parameters.num_workers = workers
    parameters.interleave_search = workers > 1
    parameters.max_deterministic_time = limit
    parameters.max_time_in_seconds = GUARD * limit / EFFORT_PER_SECOND + 10
    # Probing every stint against every break costs seconds and finds little here.
    parameters.cp_model_probing_level = 0
    solver.solve(cp)
    return solver


def _minimise(
    model: Model, draft: Draft, bounds: list[int], n: int, left: float, workers: int
) -> tuple[Draft, float]:
    """One level in one solve, with two thirds of what is left; then our own search again."""
    level = model.levels[n]
    cp = model.with_hint(draft)
    cp.add(level >= bounds[n])
    cp.minimize(level)
    solver = _ask(cp, left * 2 / 3, workers)
    left -= solver.response_proto.deterministic_time + LOADING * model.stints
    if solver.response_proto.status in FOUND:
        found = join(model.read(solver))
        if n > FINISH:
            draft = min(settle(found), draft, key=key)
        elif key(found) < key(draft):
            tries = _tries(model.site, SECOND_EFFORT)
            draft = justify(improve(model.site, justify(found), tries=tries))
        if model.exact:
            bounds[n] = max(bounds[n], round(solver.best_objective_bound))
    return draft, left


def _finish(
    model: Model, draft: Draft, bounds: list[int], left: float, workers: int
) -> tuple[Draft, float]:
    """The finish: halve; where that stays undecided, a week or two at a time."""
    draft, unused = _halve(model, draft, bounds, 0.6 * left, workers)
    left = 0.4 * left + unused
    if key(draft)[FINISH] > bounds[FINISH] and left > 0:

        def ask(cp: cp_model.CpModel, limit: float) -> cp_model.CpSolver:
            return _ask(cp, limit, workers)

        draft, left = by_windows(model, draft, bounds[FINISH], ask, left, left / WINDOWS)
    return draft, left


def _halve(
    model: Model, draft: Draft, bounds: list[int], left: float, workers: int
) -> tuple[Draft, float]:
    """Close in on the finish from both sides: is there a plan in the earlier half?

    Refuting half of what is open is often far easier than proving the optimum in one go.
    A half that stays undecided is left alone; the later half may still hold a plan.
    """
    level = model.levels[FINISH]
    low, slice_ = bounds[FINISH], left / 2
    while left > 0 and low < (value := key(draft)[FINISH]):
        middle = (low + value) // 2
        cp = model.with_hint(draft)
        cp.add(level <= middle)
        solver = _ask(cp, min(left, slice_), workers)
        left -= solver.response_proto.deterministic_time + LOADING * model.stints
        if solver.response_proto.status in FOUND:
            found = join(model.read(solver))
            draft = min(justify(found), draft, key=key)
        else:
            refuted = solver.response_proto.status == cp_model.INFEASIBLE and model.exact
            if refuted and low == bounds[FINISH]:
                bounds[FINISH] = middle + 1
            low = middle + 1
    return draft, left
