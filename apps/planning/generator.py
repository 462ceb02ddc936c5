"""Our own schedule generator: from an order of importance to a complete plan, in milliseconds.

Serial generation: the most important activity whose forerunners are placed is placed as
early as every rule lets it, cut into stints where it must be. Longest waits and ends that
hang on later work are mended by building again with a later floor under the earlier
activity. Nothing here fails: what cannot be placed is left out and explained elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heapify, heappop, heappush

from .account import solution
from .draft import Draft
from .levels import LEVELS, Key, key
from .placing import Floors, place
from .problem import Problem, Solution
from .site import Site, Span, Tie
from .windows import NEVER

# Rebuilds after a broken longest wait; each lifts every broken floor at once.
REPAIRS = 6


def generate(problem: Problem, order: Sequence[str]) -> Solution:
    """A complete plan by one order of importance (activity keys, all movable ones)."""
    site = Site(problem)
    draft, _ = build(site, [site.index[name] for name in order])
    return solution(draft, bounds=(0,) * len(LEVELS))


def build(
    site: Site, order: Sequence[int], *, start: int = 0, thrifty: frozenset[int] = frozenset()
) -> tuple[Draft, Key]:
    """The best plan that an order leads to, after mending, and its levels.

    Args:
        start: nothing begins before it.
        thrifty: activities that break off sooner than they must, so as not to leave the end
            of a window too short for anything else.
    """
    floors = Floors(site, start, thrifty)
    best: tuple[Draft, Key] | None = None
    for _ in range(REPAIRS):
        draft = _pass(site, order, floors)
        learnt = _learn(draft, floors)
        _prune(draft)
        levels = key(draft)
        if best is None or levels < best[1]:
            best = draft, levels
        if not learnt:
            break
    assert best is not None, "there is at least one pass"  # nosec B101
    return best


def _learn(draft: Draft, floors: Floors) -> bool:
    """Learn from what a pass broke; False when there is nothing new to learn."""
    site = draft.site
    learnt = False
    for tie in site.ties:
        since, until = draft.since(tie), draft.until(tie)
        if since is None or until is None:
            continue
        if not site.fixed(tie.before) and since < (at := tie.earliest_before(until)):
            learnt |= floors.lift(tie.before, end=tie.from_end, at=at)
        if site.binding(tie) and until < (at := tie.earliest_after(since)):
            learnt |= floors.lift(tie.after, end=tie.to_end, at=at)
    for s, span in enumerate(site.spans):
        if span.opens is None or site.fixed(span.opens):
            continue
        if s not in floors.late and overlapped(draft, span):
            floors.late.add(s)
            learnt = True
        for i in span.excludes - site.stuck:
            if draft.stints[i] is None and (i, span.opens) not in floors.first:
                floors.first.add((i, span.opens))
                learnt = True
    return learnt


def overlapped(draft: Draft, span: Span) -> bool:
    """Whether an excluded stint lies in a span that this plan opens."""
    if span.opens is None or draft.site.fixed(span.opens):
        return False
    opens = draft.start(span.opens)
    if opens is None:
        return False
    closes = None if span.closes is None else draft.end(span.closes)
    until = NEVER if closes is None else closes
    return any(
        start < until and end > opens and opens < until
        for i in span.excludes
        for start, end in draft.stretches(i)
    )


def _prune(draft: Draft) -> None:
    """Take out whatever breaks a rule, and all that needs it, so that the rest is a plan."""
    site = draft.site
    wrong = [i for i in site.movable if draft.stints[i] is not None and is_wrong(draft, i)]
    while wrong:
        for i in wrong:
            draft.take(i)
        wrong = [i for i in site.movable if draft.stints[i] is not None and is_wrong(draft, i)]


def is_wrong(draft: Draft, i: int) -> bool:
    """Whether a rule is broken where it lies; wishes and longest waits are none."""
    site, stints = draft.site, draft.stints
    for tie in site.into[i]:
        if _broken(draft, tie):
            return True
    for j in site.needs[i]:
        if stints[j] is None:
            return True
    if site.excluded_by[i] and _stands_on_open(draft, i):
        return True
    return any(overlapped(draft, site.spans[s]) for s in site.opened_by[i])


def _stands_on_open(draft: Draft, i: int) -> bool:
    """Whether it lies where boards are up whatever is planned.

    So it may turn out when what should have closed them was taken out again.
    """
    for span in draft.site.excluded_by[i]:
        if span.opens is not None and not draft.site.fixed(span.opens):
            continue
        opens = -NEVER if span.opens is None else draft.start(span.opens) or 0
        closes = None if span.closes is None else draft.end(span.closes)
        until = NEVER if closes is None else closes
        there = draft.stretches(i)
        if opens < until and any(start < until and end > opens for start, end in there):
            return True
    return False


def _broken(draft: Draft, tie: Tie) -> bool:
    since, until = draft.since(tie), draft.until(tie)
    return since is not None and until is not None and until < tie.earliest_after(since)


def _pass(site: Site, order: Sequence[int], floors: Floors) -> Draft:
    """One serial generation."""
    draft = Draft(site)
    rank = {i: n for n, i in enumerate(order)}
    followers: list[list[int]] = [list(site.followers[i]) for i in range(site.count)]
    for first, then in sorted(floors.first):
        if first not in site.descendants[then]:
            followers[first].append(then)
    waiting = [0] * site.count
    for following in followers:
        for j in following:
            waiting[j] += 1
    ready = [(rank[i], i) for i in site.movable if not waiting[i]]
    heapify(ready)
    had_turn: set[int] = set()
    parked: dict[int, list[int]] = {}
    while ready:
        _, i = heappop(ready)
        stints = None
        if i not in site.stuck and all(
            draft.stints[j] is not None for j in site.needs[i] if j in had_turn
        ):
            stints = place(draft, i, floors)
            if stints is None and (closes := _closing_to_come(draft, i, had_turn)) is not None:
                parked.setdefault(closes, []).append(i)
                continue
        if stints is not None:
            draft.put(i, stints)
        had_turn.add(i)
        for j in parked.pop(i, ()):
            heappush(ready, (rank[j], j))
        for j in followers[i]:
            waiting[j] -= 1
            if not waiting[j]:
                heappush(ready, (rank[j], j))
    return draft


def _closing_to_come(draft: Draft, i: int, had_turn: set[int]) -> int | None:
    """An activity that closes a span over `i` and has not had its turn yet."""
    for span in draft.site.excluded_by[i]:
        open_now = span.opens is None or draft.stints[span.opens] is not None
        closes = span.closes
        if open_now and closes is not None and closes != i:
            if draft.site.fixed(closes) or closes in had_turn:
                continue
            return closes
    return None
