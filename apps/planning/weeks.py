"""Better plans by re-solving a week or two at a time, keeping the order of what lies behind.

A large neighbourhood in time: what ends before the window stays where it is, what begins after
it keeps its order on the crew and moves with it, and what lies inside is free. So a window that
packs more tightly pulls everything behind it sooner, and CP-SAT decides it in a moment.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from ortools.sat.python import cp_model

from .draft import Draft
from .levels import FINISH, key
from .model import Model
from .tidy import join, justify

WEEK = 7 * 96
# Window and step in quarter-hours; the wider one when the narrow one has found all it can.
SIZES = ((WEEK, WEEK // 2), (2 * WEEK, WEEK))

# Solve with so much effort: the solver, and whether the effort was all used.
Ask = Callable[[cp_model.CpModel, float], cp_model.CpSolver]


def by_windows(
    model: Model, draft: Draft, low: int, ask: Ask, left: float, slice_: float
) -> tuple[Draft, float]:
    """Sweep windows over the plan, latest first, as long as that brings the finish forward.

    Args:
        low: the bound of the finish: reaching it ends the search.
        left: effort that may be spent; `slice_` the most for one window.

    Returns:
        The plan and the effort left.
    """
    for size, step in SIZES:
        found = True
        while found and left > 0:
            found = False
            until = key(draft)[FINISH]
            while until > 0 and left > 0 and key(draft)[FINISH] > low:
                better, spent = _window(model, draft, until - size, until, ask, min(left, slice_))
                left -= spent
                if better is not None:
                    draft, found = better, True
                until -= step
    return draft, left


def _window(
    model: Model, draft: Draft, start: int, end: int, ask: Ask, limit: float
) -> tuple[Draft | None, float]:
    site = model.site
    cp = model.with_hint(draft)
    cp.add(model.levels[FINISH] <= key(draft)[FINISH] - 1)
    behind = []
    for i, chain in model.chains.items():
        stints = draft.stints[i]
        if stints is None:
            continue
        if stints[-1][1] <= start:
            whole = [(stints[0][0], stints[-1][1])] if i in model.pieces else stints
            for k, (begins, ends) in enumerate(whole):
                cp.add(chain.starts[k] == begins)
                cp.add(chain.ends[k] == ends)
        elif stints[0][0] >= end:
            behind.append(i)
    for r, capacity in enumerate(site.capacity):
        if capacity == 1:
            users = sorted(
                (i for i in behind if r in site.uses[i]), key=lambda i: draft.start(i) or 0
            )
            for i, j in pairwise(users):
                if (draft.end(i) or 0) <= (draft.start(j) or 0):
                    cp.add(model.chains[j].starts[0] >= model.chains[i].ends[-1])
    solver = ask(cp, limit)
    spent = solver.response_proto.deterministic_time + 1e-5 * model.stints
    if solver.response_proto.status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return None, spent
    found = justify(join(model.read(solver)))
    return (found if key(found) < key(draft) else None), spent
