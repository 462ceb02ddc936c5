"""The search for the best levelling: one goal after the other, each proven where it can be.

A free height is tried at each tenth of a millimetre in turn, the most promising first, until
the bound of the next is no better than what was found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from apps.checks.level_bounds import bounds
from apps.checks.level_model import FINE, Found, Goal, Model, Site
from apps.checks.level_results import Level, Rule

MOST_TRIES = 60
"""Heights tried at most, each with a search of its own; then the best so far is told as such."""

LEAST_EFFORT = 0.02
"""Below this much of the solver's effort a search is not worth beginning: our choice."""

FOUND = frozenset({cp_model.OPTIMAL, cp_model.FEASIBLE})


def level(site: Site, effort: Effort, *, relaxed: Sequence[Rule] = ()) -> tuple[Found | None, bool]:
    """The best levelling, and whether the search came to its end.

    With `relaxed` rules, how far those are broken is made least instead.
    """
    if relaxed or site.task.target_mm is not None:
        return in_turn(Model(site, relaxed), effort, relaxed=bool(relaxed))
    return at_free_height(site, effort)


def in_turn(model: Model, effort: Effort, *, relaxed: bool) -> tuple[Found | None, bool]:
    """Make one goal least after the other, keeping what was reached."""
    found: Found | None = None
    levels: list[Level] = []
    for goal in model.slack_goals() if relaxed else model.goals():
        solver, status = effort.solve(model, goal)
        if status not in FOUND:
            return found, status == cp_model.INFEASIBLE
        levels.append(reached(goal, solver, status))
        found = model.read(solver, levels)
        model.keep(goal.expression, round(solver.objective_value), solver)
    return found, all(one.proven for one in levels)


@dataclass(slots=True)
class Effort:
    """What is left of the solver's counted effort, so that the same question ends the same."""

    left: float

    def solve(self, model: Model, goal: Goal) -> tuple[cp_model.CpSolver, object]:
        """One search; every one gets at least a little, so that there is an answer."""
        model.made.minimize(goal.expression)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        # Presolving tightens the heights tenth by tenth, up to minutes on 50 spots, uncounted.
        solver.parameters.cp_model_presolve = False
        solver.parameters.max_deterministic_time = max(self.left, LEAST_EFFORT)
        status = solver.solve(model.made)
        self.left -= solver.response_proto.deterministic_time
        return solver, status


def reached(goal: Goal, solver: cp_model.CpSolver, status: object) -> Level:
    return goal.reached(
        round(solver.objective_value),
        solver.best_objective_bound,
        proven=status == cp_model.OPTIMAL,
    )


@dataclass(slots=True)
class Tried:
    """What one goal came to over the heights tried."""

    found: Found | None
    value: int
    level: Level | None
    proven: bool


def at_free_height(site: Site, effort: Effort) -> tuple[Found | None, bool]:
    """The best height and its levelling."""
    guess = bounds(
        site.joists,
        [(stack.tenths, stack.pieces) for stack in site.stacks],
        highest=site.highest,
        fine=FINE,
    )
    model = Model(site)
    model.begin_near(int(guess.nearest.argmin()))
    planing = model.goals()[0]
    solver, status = effort.solve(model, planing)
    if status not in FOUND:
        return None, status == cp_model.INFEASIBLE
    first, planed = reached(planing, solver, status), round(solver.objective_value)
    if planed:
        # What is planed off is shared between joists, so no joist's errors say much by themselves.
        return in_turn(model, effort, relaxed=False)
    errors = over_heights(site, guess.by_errors(), (0,), effort)
    if errors.found is None or errors.level is None:
        return model.read(solver, [first]), False
    pieces = over_heights(site, guess.by_pieces(errors.value), (0, errors.value), effort)
    last = pieces if pieces.found else errors
    assert last.found is not None  # nosec B101 # it narrows a type
    levels = [first, replace(errors.level, proven=errors.proven)]
    levels += [replace(pieces.level, proven=pieces.proven)] if pieces.level else []
    return replace(last.found, levels=tuple(levels)), all(
        one.proven for one in levels
    ) and pieces.found is not None


def over_heights(
    site: Site, order: Sequence[tuple[int, int]], limits: Sequence[int], effort: Effort
) -> Tried:
    """The least of the goal after the limited ones over some heights, best bound first."""
    best = Tried(None, 0, None, proven=True)
    for tries, (bound, height) in enumerate(order):
        if best.found is not None and bound >= best.value:
            break
        if tries == MOST_TRIES or (tries and effort.left < LEAST_EFFORT):
            best.proven = False
            break
        model = Model(site, height=height)
        model.begin_near(height)
        *held, goal = model.goals()[: len(limits) + 1]
        for one, limit in zip(held, limits, strict=True):
            model.made.add(one.expression <= limit)
        if best.found is not None:
            model.made.add(goal.expression < best.value)
        solver, status = effort.solve(model, goal)
        best.proven = best.proven and status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}
        if status in FOUND:
            best.level = reached(goal, solver, status)
            best.value = round(solver.objective_value)
            best.found = model.read(solver, ())
    return best
