"""A plan made again in a moment, from the plan before: for following the day.

Two beginnings: the plan before, in which only what has to gives way to what has changed, and
the first plan as the planner makes it. The better one by the planner's own objective is
searched on from a little and tidied. No proof is sought beyond our own lower bounds.
"""

from __future__ import annotations

from .account import solution
from .bounds import free_windows, heads, impossible
from .levels import key
from .problem import Problem, Solution
from .search import first_plan, improve
from .site import Site
from .solver import own_bounds
from .tidy import justify, settle
from .warm import giving_way

# Small changes of the order tried; each builds a plan three times.
TRIES = 8


def solve_quickly(problem: Problem) -> Solution:
    """A complete plan by counted, small effort: the same question has the same answer."""
    site = Site(problem)
    free = free_windows(site)
    first = heads(site, free)
    lost = impossible(site, first)
    draft = min((justify(one) for one in (giving_way(site), first_plan(site))), key=key)
    draft = min((draft, justify(improve(site, draft, tries=TRIES))), key=key)
    draft = settle(draft)
    return solution(draft, bounds=list(own_bounds(site, first, free, lost, key(draft))))
