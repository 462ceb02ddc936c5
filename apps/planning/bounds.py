"""Lower bounds of our own: what no plan can beat, whatever its order.

Three relaxations: every activity alone along its chain of links through its calendars; all
work that must end before another, on the one resource it shares (heads); and the whole load
of a resource between heads and deadlines with work broken off at will, which is feasible
exactly when earliest deadline first keeps every deadline (Horn 1974, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from .problem import Interval
from .site import Site
from .windows import NEVER, complement, intersect, merge


@dataclass(frozen=True, slots=True)
class Heads:
    """Earliest starts and ends by activity; NEVER where it cannot be placed at all."""

    start: list[int]
    end: list[int]


def soonest_end(
    windows: Sequence[Interval], start: int, effort: int, least: int, around: int
) -> int:
    """The first end that effort begun at `start` or later can have with windows to itself.

    A relaxation: stints shorter than the shortest are allowed except for the last one.
    """
    left = effort
    for opens, closes in windows:
        at = max(opens, start)
        room = closes - at - around
        if room < least:
            continue
        if room >= max(left, least):
            return at + around + max(left, least)
        left -= room
    return NEVER


def latest_start(
    windows: Sequence[Interval], end: int, effort: int, least: int, around: int
) -> int:
    """The last start that leaves an end at `end` or sooner possible."""
    mirrored = [(-closes, -opens) for opens, closes in reversed(windows)]
    return -soonest_end(mirrored, -end, effort, least, around)


def works(site: Site, i: int) -> bool:
    """Whether all it takes of its resources lies in its hours, so that loads can be added up."""
    return site.activities[i].mode != "elapsed"


def sequence(site: Site) -> list[int]:
    """Movable activities so that none comes before what it waits for; the stuck left out."""
    waiting = [0] * site.count
    for following in site.followers:
        for j in following:
            waiting[j] += 1
    order = [i for i in site.movable if not waiting[i]]
    for i in order:
        for j in site.followers[i]:
            waiting[j] -= 1
            if not waiting[j]:
                order.append(j)
    return [i for i in order if i not in site.stuck]


def free_windows(site: Site) -> list[list[Interval]]:
    """Each activity's windows less what fixed activities take of its resources."""
    taken: list[list[Interval]] = [[] for _ in site.capacity]
    for r, capacity in enumerate(site.capacity):
        fixed = [a.fixed for i, a in enumerate(site.activities) if a.fixed and r in site.uses[i]]
        if capacity == 1:
            taken[r] = merge(fixed)
    known: dict[tuple[tuple[int, ...], tuple[Interval, ...]], list[Interval]] = {}
    free = []
    for i in range(site.count):
        if site.activities[i].mode == "elapsed":
            # Only its beginning lies in its hours; what it takes then is looked at elsewhere.
            free.append([(start, end + site.effort[i] - 1) for start, end in site.windows[i]])
            continue
        own = site.uses[i], tuple(site.windows[i])
        if own not in known:
            windows: Sequence[Interval] = own[1]
            for r in own[0]:
                windows = intersect(windows, complement(taken[r], 0, site.horizon))
            known[own] = list(windows)
        free.append(known[own])
    return free


def heads(site: Site, free: list[list[Interval]]) -> Heads:
    """Earliest starts and ends, chains and shared resources considered."""
    start = list(site.release)
    end = [0] * site.count
    for i, activity in enumerate(site.activities):
        if activity.fixed is not None:
            start[i], end[i] = activity.fixed
        elif i in site.stuck:
            start[i] = end[i] = NEVER
    before: list[frozenset[int]] = [frozenset() for _ in site.activities]
    for i in sequence(site):
        for tie in site.into[i]:
            since = end[tie.before] if tie.from_end else start[tie.before]
            if tie.before not in site.stuck and since < NEVER:
                at = tie.earliest_after(since)
            else:
                at = NEVER
            if tie.to_end:
                end[i] = max(end[i], at)
            else:
                start[i] = max(start[i], at)
                if tie.from_end and tie.link.min_lag >= 0 and not site.fixed(tie.before):
                    before[i] |= before[tie.before] | {tie.before}
        around = site.around[i]
        soonest = soonest_end(free[i], start[i], site.effort[i], site.least[i], around)
        end[i] = max(end[i], soonest)
        for r in site.uses[i]:
            if site.capacity[r] == 1:
                group = [j for j in before[i] if r in site.uses[j] and works(site, j)]
                group += [i] if works(site, i) else []
                end[i] = max(end[i], _load_ends(site, free, group, start))
        if end[i] > site.horizon:
            start[i] = end[i] = NEVER
        else:
            first = soonest_end(free[i], start[i], site.least[i], site.least[i], around)
            start[i] = max(start[i], first - site.least[i] - around)
    return Heads(start, end)


def _load_ends(site: Site, free: list[list[Interval]], group: list[int], start: list[int]) -> int:
    """When one resource can have done all the work of a group, broken off at will."""
    # Most of a group has the same hours: each stretch is sorted once, not for every activity.
    windows = merge({stretch for i in group for stretch in free[i]})
    at = k = 0
    for i in sorted(group, key=lambda i: start[i]):
        left = site.effort[i] + site.around[i]
        at = max(at, start[i])
        while left and k < len(windows):
            opens, closes = windows[k]
            at = max(at, opens)
            done = min(left, max(0, closes - at))
            left -= done
            at += done
            if left:
                k += 1
        if left:
            return NEVER
    return at


def deadlines(site: Site, targets: Sequence[int], free: list[list[Interval]]) -> list[int]:
    """Latest ends so that every activity can end by its target and what follows can too."""
    end = list(targets)
    start = [NEVER] * site.count
    for i, activity in enumerate(site.activities):
        if activity.fixed is not None:
            start[i], end[i] = activity.fixed
    for i in reversed(sequence(site)):
        for tie in site.out[i]:
            if tie.after in site.stuck or not site.binding(tie):
                continue
            at = tie.latest_before(end[tie.after] if tie.to_end else start[tie.after])
            if tie.from_end:
                end[i] = min(end[i], at)
            else:
                start[i] = min(start[i], at)
        around = site.around[i]
        last = latest_start(free[i], end[i], site.effort[i], site.least[i], around)
        start[i] = min(start[i], last)
    return end


def tails(site: Site) -> tuple[list[int], list[int]]:
    """For orders of importance: the deadline each activity works toward, and the longest tail.

    The tail is the time that must pass between its end and the end of all that follows.
    """
    free = free_windows(site)
    wanted = [site.horizon if a.due is None else a.due for a in site.activities]
    for tie in site.ties:
        if not site.binding(tie) and not site.fixed(tie.before):
            start, end = site.activities[tie.after].fixed or (0, 0)
            at = tie.latest_before(end if tie.to_end else start)
            wanted[tie.before] = min(wanted[tie.before], at)
    due = deadlines(site, wanted, free)
    last = deadlines(site, [site.horizon] * site.count, free)
    return due, [site.horizon - at for at in last]


def impossible(site: Site, first: Heads) -> frozenset[int]:
    """Activities that no plan can hold, and those that need them."""
    lost = {i for i in site.movable if first.end[i] >= NEVER} | site.stuck
    growing = True
    while growing:
        more = {i for i in site.movable if i not in lost and lost & set(site.needs[i])}
        lost |= more
        growing = bool(more)
    return frozenset(lost)


def finish_bound(site: Site, first: Heads, free: list[list[Interval]], value: int) -> int:
    """The earliest finish the loads of the resources leave open, at most `value`."""
    placed = [i for i in sequence(site) if first.end[i] < NEVER]
    low = max((first.end[i] for i in placed), default=0)
    high = value
    while low < high:
        middle = (low + high) // 2
        if _fits(site, first, free, placed, middle):
            high = middle
        else:
            low = middle + 1
    return low


def _fits(
    site: Site, first: Heads, free: list[list[Interval]], placed: list[int], finish: int
) -> bool:
    """Whether all could be done by `finish` as far as these relaxations see."""
    last = deadlines(site, [finish] * site.count, free)
    if any(first.end[i] > last[i] for i in placed):
        return False
    for r, capacity in enumerate(site.capacity):
        group = [i for i in placed if r in site.uses[i] and works(site, i)]
        if capacity > 1 or not group:
            continue
        kinds: dict[tuple[Interval, ...], list[int]] = {}
        for i in group:
            kinds.setdefault(tuple(free[i]), []).append(i)
        everything = merge(stretch for kind in kinds for stretch in kind)
        for windows, members in [(everything, group), *kinds.items()]:
            jobs = [(first.start[i], last[i], site.effort[i] + site.around[i]) for i in members]
            if not _keeps(jobs, windows):
                return False
            # Work alone: no part of it lies in the set-up or clear-up that each window costs.
            ups = [site.activities[i].set_up if site.around[i] else 0 for i in members]
            downs = [site.activities[i].clear_up if site.around[i] else 0 for i in members]
            if min(ups) + min(downs):
                jobs = [
                    (first.start[i] + up, last[i] - down, site.effort[i])
                    for i, up, down in zip(members, ups, downs, strict=True)
                ]
                if not _keeps(jobs, [(a + min(ups), b - min(downs)) for a, b in windows]):
                    return False
    return True


def _keeps(jobs: Sequence[tuple[int, int, int]], windows: Sequence[Interval]) -> bool:
    """Earliest deadline first on one resource inside its windows, broken off at will.

    Each job is its head, its deadline and the quarter-hours it takes.
    """
    coming = sorted(jobs, reverse=True)
    ready: list[list[int]] = []
    for opens, closes in windows:
        at = opens
        while at < closes:
            while coming and coming[-1][0] <= at:
                _, deadline, amount = coming.pop()
                heappush(ready, [deadline, amount])
            if not ready:
                if not coming or coming[-1][0] >= closes:
                    break
                at = coming[-1][0]
                continue
            until = min(closes, coming[-1][0]) if coming else closes
            job = ready[0]
            done = min(job[1], until - at)
            at += done
            job[1] -= done
            if at > job[0]:
                return False
            if not job[1]:
                heappop(ready)
    return not ready and not coming


def breaks_bound(site: Site, free: list[list[Interval]], lost: frozenset[int]) -> int:
    """Breaks that no plan can do without: work longer than the longest stretch it could have."""
    breaks = 0
    for i in site.movable:
        if i in lost or site.activities[i].mode != "stints":
            continue
        longest = max((end - start - site.around[i] for start, end in free[i]), default=0)
        if longest > 0:
            breaks += -(-site.effort[i] // longest) - 1
    return breaks


def open_nights_bound(site: Site, first: Heads) -> int:
    """Nights for which boards are up already and cannot be down again."""
    nights: set[int] = set()
    for opens, closes in site.openings:
        since = -NEVER if opens is None else NEVER
        if opens is not None and (fixed := site.activities[opens].fixed) is not None:
            since = fixed[1]
        until = NEVER if closes is None else first.end[closes]
        nights.update(night for night in site.problem.nights if since <= night < until)
    return len(nights)
