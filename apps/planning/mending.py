"""A changed question solved again with little effort, from the plan that there is."""

from __future__ import annotations

from .account import draft_of
from .draft import Draft
from .generator import build
from .levels import key
from .placing import place
from .problem import Problem, Solution
from .rules import held
from .search import improve
from .site import Site
from .tidy import by_start, justify

# Small changes of the order tried after the three beginnings; each builds a plan three times.
TRIES = 2
# What one such plan costs, in plans built: three beginnings, some mended by building again, and
# the moving up of every stint.
BUILDS = 8 + 3 * TRIES
# Larger houses are mended around what is urgent only: moving up every stint takes too long.
MENDED_WHOLE = 150


def planned(
    problem: Problem, solution: Solution, first: frozenset[str], loose: str | None = None
) -> Draft:
    """A plan of a changed question made with little effort.

    Three beginnings: the plan there is, mended; its order; its order with some work first. The
    best is searched on from. So a change that breaks nothing never ends with a worse plan.

    Args:
        first: keys of the activities that come first in the third beginning.
        loose: an activity that may not stay where the plan had it.
    """
    site = Site(problem)
    order = by_start(draft_of(site, [s for s in solution.stints if s.activity in site.index]))
    urgent = {site.index[key] for key in first if key in site.index}
    begun = [
        mended(site, solution, urgent, loose),
        build(site, order)[0],
        build(site, sorted(order, key=lambda i: i not in urgent))[0],
    ]
    best = min(begun, key=key)
    return best if site.count > MENDED_WHOLE else improve(site, best, tries=TRIES)


def mended(site: Site, solution: Solution, urgent: set[int], loose: str | None) -> Draft:
    """The plan as it was where that still can be, the rest put in again, as early as can be."""
    was = draft_of(site, [s for s in solution.stints if s.activity in site.index])
    order = by_start(was)
    moved = {i for i in range(site.count) if site.fixed(i) and _elsewhere(site, i, solution)}
    if loose is not None:
        moved.add(site.index[loose])
    again = _reached(site, moved)
    for i in moved:
        own = site.activities[i].fixed or (0, 0)
        again |= {
            j
            for j in site.movable
            if set(site.uses[j]) & set(site.uses[i])
            and any(start < own[1] and end > own[0] for start, end in was.stints[j] or ())
        }
    for i in again:
        if not site.fixed(i) and was.stints[i] is not None:
            was.take(i)
    while any(_put_in(was, i) for i in order if was.stints[i] is None and i not in site.stuck):
        # What was put in may let in what waits for it.
        pass
    if site.count <= MENDED_WHOLE:
        return justify(was)
    for i in order:
        if i in urgent and was.stints[i] is not None:
            _move_up(was, i)
    return was


def _move_up(draft: Draft, i: int) -> None:
    """Place one activity as early as all others leave it, if no level gets worse."""
    before, stints = key(draft), draft.take(i)
    anew = place(draft, i)
    draft.put(i, stints)
    if anew is not None and anew[0][0] < stints[0][0] and not any(held(draft, i, anew)):
        draft.take(i)
        draft.put(i, anew)
        if key(draft) > before:
            draft.take(i)
            draft.put(i, stints)


def _put_in(draft: Draft, i: int) -> bool:
    """Place one activity if what it needs is placed and nothing breaks."""
    if any(draft.stints[j] is None for j in draft.site.needs[i]):
        return False
    stints = place(draft, i)
    if stints is None or any(held(draft, i, stints)):
        return False
    draft.put(i, stints)
    return True


def _elsewhere(site: Site, i: int, solution: Solution) -> bool:
    """Whether something fixed is not where the plan had it."""
    activity = site.activities[i]
    own = [(s.start, s.end) for s in solution.stints if s.activity == activity.key]
    return own != [activity.fixed]


def _reached(site: Site, start: set[int]) -> set[int]:
    """All that comes after some activities, movable ones only, and they themselves."""
    seen = set(start)
    stack = list(start)
    while stack:
        for tie in site.out[stack.pop()]:
            if tie.after not in seen and not site.fixed(tie.after):
                seen.add(tie.after)
                stack.append(tie.after)
    return seen
