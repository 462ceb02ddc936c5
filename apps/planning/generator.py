"""Our own schedule generator: from an order of importance to a complete plan, in milliseconds.

Serial generation: the most important activity whose forerunners are placed is placed as
early as every rule lets it, cut into stints where it must be. Longest waits and ends that
hang on later work are mended by building again with a later floor under the earlier
activity. Nothing here fails: what cannot be placed is left out and explained elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heapify, heappop, heappush

from .draft import Draft
from .levels import Key, key
from .problem import Interval, Problem, Solution
from .site import Site, Span, Tie
from .windows import NEVER

# Rebuilds after a broken longest wait; each lifts every broken floor at once.
REPAIRS = 6


def generate(problem: Problem, order: Sequence[str]) -> Solution:
    """A complete plan by one order of importance (activity keys, all movable ones)."""
    # The account of what has no place needs the generator itself.
    from .account import solution  # noqa: PLC0415

    site = Site(problem)
    draft, _ = build(site, [site.index[name] for name in order])
    return solution(draft, bounds=(0, 0, 0, 0))


class Floors:
    """What earlier passes taught: floors under starts and ends, order, spans to open late."""

    def __init__(self, site: Site, start: int, thrifty: frozenset[int]) -> None:
        self.thrifty = thrifty
        self.start = [start] * site.count
        self.end = [0] * site.count
        self.first: set[tuple[int, int]] = set()
        self.late: set[int] = set()

    def lift(self, i: int, *, end: bool, at: int) -> bool:
        """Raise one floor; False if it is as high already."""
        floors = self.end if end else self.start
        if at <= floors[i] or at >= NEVER:
            return False
        floors[i] = at
        return True


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
    assert best is not None, "there is at least one pass"
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
        for start, end in draft.stints[i] or ()
    )


def _prune(draft: Draft) -> None:
    """Take out whatever breaks a rule, and all that needs it, so that the rest is a plan."""
    site = draft.site
    while True:
        wrong = [
            i
            for i in site.movable
            if draft.stints[i] is not None
            and (
                any(draft.stints[j] is None for j in site.needs[i])
                or any(overlapped(draft, site.spans[s]) for s in site.opened_by[i])
                or any(_broken(draft, tie) for tie in site.into[i])
            )
        ]
        if not wrong:
            return
        for i in wrong:
            draft.take(i)


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


def earliest(draft: Draft, i: int, floors: Floors | None = None) -> tuple[int, int]:
    """The first start and the first end that releases, links and open spans leave."""
    site = draft.site
    start = site.release[i]
    end = 0
    if floors is not None:
        start, end = max(start, floors.start[i]), floors.end[i]
    for tie in site.into[i]:
        since = draft.since(tie)
        if since is None or tie.before == i:
            continue
        at = tie.earliest_after(since)
        if tie.to_end:
            end = max(end, at)
        else:
            start = max(start, at)
    for s in site.opened_by[i] if floors is not None else ():
        if s in floors.late:
            for other in site.spans[s].excludes:
                start = max(start, draft.end(other) or 0)
    return start, end


def place(draft: Draft, i: int, floors: Floors | None = None) -> list[Interval] | None:
    """Stints as early as the rules allow, or None."""
    start, end = earliest(draft, i, floors)
    spare = draft.site.crumb if floors is not None and i in floors.thrifty else 0
    stints, left = fill(draft, i, start, end, draft.forbidden(i), spare=spare)
    return None if left else stints


def fill(
    draft: Draft, i: int, start: int, end: int, forbidden: Sequence[Interval], *, spare: int = 0
) -> tuple[list[Interval], int]:
    """Fill free stretches from `start` on; the last stint ends at or after `end`.

    Where a stint would leave less than `spare` of its stretch over, it breaks off to leave
    that much, if what remains to do makes a stint.

    Returns:
        The stints and the quarter-hours of effort that found no place.
    """
    site = draft.site
    least, around, left = site.least[i], site.around[i], site.effort[i]
    stints: list[Interval] = []
    for at, until in draft.gaps(i, start, forbidden):
        room = until - at - around
        if room < least:
            continue
        if 0 < room - left < spare and least <= room - spare <= left - least:
            stints.append((at, until - spare))
            left -= room - spare
            continue
        if room >= left:
            last_end = max(at + around + left, end)
            if last_end > until:
                continue
            stints.append((last_end - around - left, last_end))
            return stints, 0
        # What is left over must be a stint of its own, or nothing.
        work = min(room, left - least)
        if work >= least:
            stints.append((at, at + around + work))
            left -= work
    return stints, left
