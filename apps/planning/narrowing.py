"""What a plan with a given finish would have to look like, and whether any can.

Destructive improvement (Klein and Scholl 1999, from memory): suppose everything ends by some
time, narrow each activity's earliest and latest times until nothing moves, and when an
activity has no time left, no plan finishes so early. The narrowing knows links, open spans,
what the more important levels leave to lateness, and the load of every single resource.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .bounds import Heads, latest_start, sequence, soonest_end
from .draft import Draft
from .levels import Key, shortage, soft
from .problem import Interval
from .site import Site, Tie
from .windows import NEVER, Clock, complement, intersect, merge

# Rounds of narrowing before a finish is taken for possible: the last ones find little.
ROUNDS = 12


@dataclass(frozen=True, slots=True)
class Least:
    """By how much each link is broken and each activity late in any plan at all."""

    unready: dict[int, int]
    late: dict[int, int]


@dataclass(frozen=True, slots=True)
class Leeway:
    """What the levels above the finish leave: latest ends, and wished-for links made looser.

    A plan no worse than the one at hand can break a link or miss a due date only by the least
    there is and what that plan loses beyond the sum of the least.
    """

    end: list[int]
    wishes: list[Tie]


@dataclass(slots=True)
class Times:
    """Earliest and latest starts and ends by activity number."""

    start: list[int]
    end: list[int]
    last_start: list[int]
    last_end: list[int]


def least(site: Site, first: Heads, lost: frozenset[int]) -> Least:
    """Each activity alone at its earliest: what the links and due dates lose even then."""
    alone = Draft(site)
    for i in site.movable:
        if i not in lost:
            alone.stints[i] = [(first.start[i], first.end[i])]
    unready: dict[int, int] = {}
    for n, tie in enumerate(site.ties):
        if not site.binding(tie):
            # A longest wait may be kept by starting later, so only lateness counts here.
            since, until = alone.since(tie), alone.until(tie)
            if since is None or site.fixed(tie.before):
                unready[n] = shortage(alone, tie)
            else:
                unready[n] = max(0, tie.link.min_lag - tie.wait(since, until or 0))
        elif tie.link.max_lag is not None and soft(tie, alone) and site.fixed(tie.before):
            unready[n] = shortage(alone, tie)
    late = {
        i: max(0, end - activity.due)
        for i, activity in enumerate(site.activities)
        if activity.due is not None and (end := alone.end(i)) is not None
    }
    return Least(unready, late)


def leeway(site: Site, floor: Least, values: Key, bounds: Sequence[int]) -> Leeway:
    """What a plan at least as good as `values` can do. A level counts once those above are proven.

    Args:
        bounds: proven lower bounds of the first three levels.
    """
    end = [site.horizon] * site.count
    wishes: list[Tie] = []
    if values[0] > bounds[0]:
        return Leeway(end, wishes)
    spare = values[1] - sum(floor.unready.values())
    for n, tie in enumerate(site.ties):
        if site.binding(tie) and tie.link.max_lag is None:
            continue
        allowed = floor.unready.get(n, 0) + spare
        most = None if tie.link.max_lag is None else tie.link.max_lag + allowed
        link = replace(tie.link, min_lag=tie.link.min_lag - allowed, max_lag=most)
        wishes.append(replace(tie, link=link))
    if values[1] <= bounds[1]:
        weights = {i: site.activities[i].due_weight for i in floor.late}
        spare = values[2] - sum(weights[i] * late for i, late in floor.late.items())
        for i, late in floor.late.items():
            due = site.activities[i].due
            if due is not None and weights[i]:
                end[i] = due + late + spare // weights[i]
    return Leeway(end, wishes)


def finish_bound(
    site: Site, first: Heads, free: list[list[Interval]], leave: Leeway, value: int
) -> int:
    """The earliest finish that narrowing cannot refute, at most `value`."""
    low = max((first.end[i] for i in sequence(site) if first.end[i] < NEVER), default=0)
    high = value
    while low < high:
        middle = (low + high) // 2
        if narrow(site, first, free, leave, middle) is None:
            low = middle + 1
        else:
            high = middle
    return low


def narrow(
    site: Site, first: Heads, free: list[list[Interval]], leave: Leeway, finish: int
) -> Times | None:
    """The times left to each activity if all is done by `finish`; None if that cannot be."""
    return _Narrowing(site, first, free, leave, finish).run()


class _Narrowing:
    """One supposed finish, followed until nothing moves."""

    def __init__(
        self, site: Site, first: Heads, free: list[list[Interval]], leave: Leeway, finish: int
    ) -> None:
        self.site = site
        self.wishes = leave.wishes
        self.free = list(free)
        self.order = [i for i in sequence(site) if first.end[i] < NEVER]
        self.known = [False] * site.count
        times = Times(
            list(first.start), list(first.end), [NEVER] * site.count, [NEVER] * site.count
        )
        for i in self.order:
            self.known[i] = True
            times.last_end[i] = times.last_start[i] = min(finish, leave.end[i])
        for i, activity in enumerate(site.activities):
            if activity.fixed is not None:
                self.known[i] = True
                times.start[i], times.end[i] = activity.fixed
                times.last_start[i], times.last_end[i] = activity.fixed
        self.times = times
        self.whole = [site.least[i] == site.effort[i] for i in range(site.count)]

    def run(self) -> Times | None:
        times = self.times
        for _ in range(ROUNDS):
            was = (sum(times.start), sum(times.end), sum(times.last_start), sum(times.last_end))
            self._wishes()
            self._spans()
            self._forward()
            self._backward()
            if any(
                times.end[i] > times.last_end[i] or times.start[i] > times.last_start[i]
                for i in self.order
            ):
                return None
            if not self._loads():
                return None
            now = (sum(times.start), sum(times.end), sum(times.last_start), sum(times.last_end))
            if now == was:
                break
        return times

    def _forward(self) -> None:
        site, times = self.site, self.times
        for i in self.order:
            for tie in site.into[i]:
                if self.known[tie.before]:
                    since = times.end if tie.from_end else times.start
                    at = tie.earliest_after(since[tie.before])
                    to = times.end if tie.to_end else times.start
                    to[i] = max(to[i], at)
            around, little = site.around[i], site.least[i]
            soonest = soonest_end(self.free[i], times.start[i], site.effort[i], little, around)
            times.end[i] = max(times.end[i], soonest)
            if self.whole[i]:
                times.start[i] = max(times.start[i], times.end[i] - site.effort[i] - around)
            first = soonest_end(self.free[i], times.start[i], little, little, around)
            times.start[i] = max(times.start[i], first - little - around)

    def _backward(self) -> None:
        site, times = self.site, self.times
        for i in reversed(self.order):
            for tie in site.out[i]:
                if self.known[tie.after] and site.binding(tie):
                    until = times.last_end if tie.to_end else times.last_start
                    at = tie.latest_before(until[tie.after])
                    to = times.last_end if tie.from_end else times.last_start
                    to[i] = min(to[i], at)
            around, little = site.around[i], site.least[i]
            last = latest_start(self.free[i], times.last_end[i], site.effort[i], little, around)
            times.last_start[i] = min(times.last_start[i], last)
            if self.whole[i]:
                at = times.last_start[i] + site.effort[i] + around
                times.last_end[i] = min(times.last_end[i], at)

    def _wishes(self) -> None:
        """Links that may be broken only so far: into what is fixed, and longest waits."""
        site, times = self.site, self.times
        for tie in self.wishes:
            if not (self.known[tie.before] and self.known[tie.after]):
                continue
            since = times.end if tie.from_end else times.start
            last_since = times.last_end if tie.from_end else times.last_start
            until = times.end if tie.to_end else times.start
            last_until = times.last_end if tie.to_end else times.last_start
            before, after = tie.before, tie.after
            if not site.fixed(before):
                since[before] = max(since[before], tie.earliest_before(until[after]))
                if site.fixed(after):
                    at = tie.latest_before(until[after])
                    last_since[before] = min(last_since[before], at)
            if not site.fixed(after) and tie.link.max_lag is not None and tie.clock is None:
                at = last_since[before] + tie.link.max_lag
                last_until[after] = min(last_until[after], at)

    def _spans(self) -> None:
        """A span surely open from its latest opening to its earliest closing bars that stretch."""
        site, times = self.site, self.times
        for span in site.spans:
            opens = 0
            closes = site.horizon
            if span.opens is not None:
                if not self.known[span.opens]:
                    continue
                opens = times.last_start[span.opens]
            if span.closes is not None and self.known[span.closes]:
                closes = times.end[span.closes]
            if opens < closes:
                open_hours = complement([(opens, closes)], 0, site.horizon)
                for i in span.excludes:
                    if not site.fixed(i):
                        self.free[i] = list(intersect(self.free[i], open_hours))

    def _loads(self) -> bool:
        """Each single resource's load, all together and per kind of hours."""
        site, times = self.site, self.times
        for r, capacity in enumerate(site.capacity):
            group = [i for i in self.order if r in site.uses[i]]
            if capacity > 1 or not group:
                continue
            for members in self._kinds(group):
                windows = merge(stretch for i in members for stretch in self.free[i])
                if not self._load(windows, members, bare=False):
                    return False
                # Work alone: no part of it lies in the set-up or clear-up of each window.
                if min(site.around[i] for i in members) and not self._load(
                    windows, members, bare=True
                ):
                    return False
        return all(times.end[i] <= times.last_end[i] for i in self.order)

    def _kinds(self, group: list[int]) -> list[list[int]]:
        """The whole group; those with the same hours; of these, those in need of long stretches."""
        site = self.site
        kinds = {tuple(group): None}
        for hours in {site.activities[i].calendars: None for i in group}:
            same = [i for i in group if site.activities[i].calendars == hours]
            for length in sorted({site.least[i] + site.around[i] for i in same}):
                long = [i for i in same if site.least[i] + site.around[i] >= length]
                kinds[tuple(long)] = None
        return [list(kind) for kind in kinds]

    def _load(self, windows: Sequence[Interval], members: list[int], *, bare: bool) -> bool:
        site, times = self.site, self.times
        up = [site.activities[i].set_up if bare else 0 for i in members]
        down = [site.activities[i].clear_up if bare else 0 for i in members]
        work = [site.effort[i] if bare else site.effort[i] + site.around[i] for i in members]
        starts = [times.start[i] + more for i, more in zip(members, up, strict=True)]
        lasts = [times.last_end[i] - more for i, more in zip(members, down, strict=True)]
        inside = [(a + min(up), b - min(down)) for a, b in windows if b - a > min(up) + min(down)]
        ends = squeeze(starts, lasts, work, inside)
        mirrored = [(-b, -a) for a, b in reversed(inside)]
        heads = squeeze([-at for at in lasts], [-at for at in starts], work, mirrored)
        if ends is None or heads is None:
            return False
        for i, end, head, before, after in zip(members, ends, heads, up, down, strict=True):
            times.end[i] = max(times.end[i], end + after)
            times.last_start[i] = min(times.last_start[i], -head - before)
        return True


def squeeze(
    starts: Sequence[int], lasts: Sequence[int], work: Sequence[int], windows: Sequence[Interval]
) -> list[int] | None:
    """Earliest ends on one resource, work broken off at will; None if it cannot all be done.

    For any stretch, what must lie wholly inside it leaves a slack. A job that could start in
    the stretch but is larger than the slack has the rest of its work after it (edge finding
    for work that may be broken off; Baptiste, Le Pape and Nuijten 2001, from memory).
    """
    clock = Clock(windows)
    heads, row = np.unique(np.array(starts), return_inverse=True)
    tails, column = np.unique(np.array(lasts), return_inverse=True)
    load = np.zeros((len(heads), len(tails)), dtype=np.int64)
    np.add.at(load, (row, column), np.array(work))
    load = np.cumsum(np.cumsum(load[::-1], axis=0)[::-1], axis=1)
    till = np.array([clock.reading(int(at)) for at in tails])
    since = np.array([clock.reading(int(at)) for at in heads])
    slack = np.maximum(till[None, :] - since[:, None], 0) - load
    if slack.min() < 0:
        return None
    slack = np.minimum.accumulate(slack, axis=0)
    inner = np.arange(len(tails))[None, :] < column[:, None]
    beyond = np.array(work)[:, None] - slack[row]
    readings = np.where(inner & (beyond > 0), till[None, :] + beyond, 0).max(axis=1)
    return [
        max(start + amount, clock.first_with(int(reading)))
        for start, amount, reading in zip(starts, work, readings, strict=True)
    ]
