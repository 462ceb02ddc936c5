"""A beginning from the plan before, in which only what has to gives way to what has changed."""

from __future__ import annotations

from .draft import Draft
from .generator import is_wrong
from .levels import key
from .placing import place
from .problem import Interval
from .rules import barred, held
from .site import Site


def giving_way(site: Site) -> Draft:
    """The plan before, changed as little as its change asks: the better of two ways.

    Either each task in turn keeps its place or takes its next one, so that what was longer
    pushes the rest; or all that can stay stays, and the rest goes into the room between.
    """
    return min((in_turn(site, stay_first=stay) for stay in (False, True)), key=key)


def in_turn(site: Site, *, stay_first: bool) -> Draft:
    """One of the two ways of `giving_way`."""
    was: dict[int, list[Interval]] = {}
    for stint in site.problem.previous:
        i = site.index.get(stint.activity)
        if i is not None and not site.fixed(i):
            was.setdefault(i, []).append((stint.start, stint.end))
    draft = Draft(site)
    waiting = sorted(site.movable, key=lambda i: (min(was.get(i, [(site.horizon, 0)])), i))
    placed = True
    while placed:
        placed = False
        before = len(waiting)
        for i in [i for i in waiting if i not in site.stuck]:
            if any(draft.stints[j] is None for j in site.needs[i]):
                continue
            old = sorted(was.get(i, []))
            stays = _stays(draft, i, old)
            if stay_first and not stays:
                continue
            stints = old if stays else place(draft, i)
            if stints is not None and not any(held(draft, i, stints)):
                draft.put(i, stints)
                waiting.remove(i)
                placed = True
        if stay_first and len(waiting) == before:
            stay_first, placed = False, bool(waiting)
        elif not placed:
            placed = _put_one_more(draft, waiting)
    return draft


def _put_one_more(draft: Draft, waiting: list[int]) -> bool:
    """Place the first of what is left that only wishes, no rules, speak against."""
    site = draft.site
    for i in waiting:
        if i in site.stuck or any(draft.stints[j] is None for j in site.needs[i]):
            continue
        stints = place(draft, i)
        if stints is not None:
            draft.put(i, stints)
            if not any(draft.stints[j] is not None and is_wrong(draft, j) for j in site.movable):
                waiting.remove(i)
                return True
            draft.take(i)
    return False


def _stays(draft: Draft, i: int, old: list[Interval]) -> bool:
    """Whether the old stints are of the right length still and break nothing."""
    site = draft.site
    work = sum(end - start - site.around[i] for start, end in old)
    if not old or i in site.special or work != site.effort[i] or any(held(draft, i, old)):
        return False
    return not any(rule for k, stint in enumerate(old) for rule in barred(draft, i, k, stint))
