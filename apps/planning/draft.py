"""A plan under construction: what is placed, what that keeps busy, and what is still free."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence

from .problem import Interval
from .site import Site, Tie
from .windows import NEVER, loaded_stretches


class Draft:
    """Stints by activity number, with the full stretches of every resource kept up to date."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.stints: list[list[Interval] | None] = [None] * site.count
        # By resource: (start, end, units) of everything that takes it.
        self._busy: list[list[tuple[int, int, int]]] = [[] for _ in site.capacity]
        for i, activity in enumerate(site.activities):
            if activity.fixed is not None:
                self.stints[i] = [activity.fixed]
                for r, start, end, units in self.taken(i, self.stints[i] or []):
                    self._busy[r].append((start, end, units))
        # By resource and units wanted: where too little of it is free.
        self._full: dict[tuple[int, int], list[Interval]] = {}
        # By kind of activity: for each window the first from it on not known to be full.
        self._open: dict[int, list[int]] = {}

    def copy(self) -> Draft:
        twin = object.__new__(Draft)
        twin.site = self.site
        twin.stints = list(self.stints)
        twin._busy = [list(busy) for busy in self._busy]
        twin._full = {}
        twin._open = {}
        return twin

    def taken(self, i: int, stints: Sequence[Interval]) -> Iterator[tuple[int, int, int, int]]:
        """What an activity with these stints takes: resource, start, end, units."""
        if not stints:
            return
        site = self.site
        start, end = stints[0][0], stints[-1][1]
        # Carried-on work keeps its resources over the breaks too.
        stretches = [(start, end)] if i in site.own_clock else stints
        for r, units in zip(site.uses[i], site.demand[i], strict=True):
            for since, until in stretches:
                yield r, since, until, units
        for r, least, units in site.holds[i]:
            yield r, start, max(end, start + least), units

    def busy(self, r: int) -> list[tuple[int, int, int]]:
        """Everything that takes a resource now: start, end, units."""
        return list(self._busy[r])

    def stretches(self, i: int) -> list[Interval]:
        """Where an activity is there at all: carried-on work also in the breaks between."""
        stints = self.stints[i] or []
        return [(stints[0][0], stints[-1][1])] if stints and i in self.site.own_clock else stints

    def full(self, r: int, units: int) -> list[Interval]:
        """Where a resource has fewer than so many units left."""
        known = self._full.get((r, units))
        if known is None:
            load = self.site.capacity[r] - units + 1
            known = self._full[r, units] = loaded_stretches(self._busy[r], load)
        return known

    def put(self, i: int, stints: list[Interval]) -> None:
        """Place an activity that has no stints yet."""
        self.stints[i] = stints
        for r, start, end, units in self.taken(i, stints):
            self._busy[r].append((start, end, units))
            if self.site.capacity[r] == 1:
                if (r, 1) in self._full:
                    insort(self._full[r, 1], (start, end))
            else:
                self._forget(r)

    def take(self, i: int) -> list[Interval]:
        """Lift an activity out of the plan and return where it was."""
        stints = self.stints[i]
        assert stints is not None, "only what is placed can be taken out"  # nosec B101
        self.stints[i] = None
        self._open = {}
        for r, start, end, units in self.taken(i, stints):
            self._busy[r].remove((start, end, units))
            self._forget(r)
        return stints

    def _forget(self, r: int) -> None:
        for key in [key for key in self._full if key[0] == r]:
            del self._full[key]

    def start(self, i: int) -> int | None:
        stints = self.stints[i]
        return None if stints is None else stints[0][0]

    def end(self, i: int) -> int | None:
        stints = self.stints[i]
        return None if stints is None else stints[-1][1]

    def since(self, tie: Tie) -> int | None:
        """The time of the tie's earlier point, None if not placed."""
        return self.end(tie.before) if tie.from_end else self.start(tie.before)

    def until(self, tie: Tie) -> int | None:
        """The time of the tie's later point, None if not placed."""
        return self.end(tie.after) if tie.to_end else self.start(tie.after)

    def forbidden(self, i: int) -> list[Interval]:
        """Stretches in which open boards keep the activity out, as far as is known now.

        A span that is open and whose closing is not placed yet lasts for ever.
        """
        stretches = []
        for span in self.site.excluded_by[i]:
            start = -NEVER if span.opens is None else self.start(span.opens)
            if start is None:
                continue
            end = None if span.closes is None else self.end(span.closes)
            stretches.append((start, NEVER if end is None else end))
        return [(start, end) for start, end in stretches if start < end]

    def blocks(self, i: int) -> list[list[Interval]]:
        """Where each of an activity's resources cannot serve it."""
        site = self.site
        return [self.full(r, n) for r, n in zip(site.uses[i], site.demand[i], strict=True)]

    def gaps(self, i: int, start: int, forbidden: Sequence[Interval] = ()) -> Iterator[Interval]:
        """Free stretches for the activity from `start` on, each inside one of its windows."""
        windows = self.site.windows[i]
        blocks = self.blocks(i)
        k = bisect_left(windows, (start, -1))
        if k and windows[k - 1][1] > start:
            k -= 1
        known = self._open.get(self.site.kind[i])
        if known is None:
            known = self._open[self.site.kind[i]] = list(range(len(windows) + 1))
        while True:
            first = k
            while known[k] != k:
                k = known[k]
            known[first] = k
            if k == len(windows):
                return
            opens, closes = windows[k]
            begun = max(opens, start)
            free = _free(begun, closes, blocks, forbidden)
            if not free and begun == opens and not forbidden:
                known[k] = k + 1
            yield from free
            k += 1


def _free(
    at: int, closes: int, blocks: Sequence[Sequence[Interval]], forbidden: Sequence[Interval]
) -> list[Interval]:
    """What of one window is neither taken on any of the blocks nor forbidden."""
    cuts: list[Interval] = []
    for block in blocks:
        n = bisect_left(block, (at, -1))
        if n and block[n - 1][1] > at:
            n -= 1
        while n < len(block) and block[n][0] < closes:
            cuts.append(block[n])
            n += 1
    if forbidden:
        cuts += [barred for barred in forbidden if barred[0] < closes and barred[1] > at]
    if len(cuts) > 1:
        cuts.sort()
    free: list[Interval] = []
    for busy, until in cuts:
        if busy > at:
            free.append((at, busy))
        at = max(at, until)
    if at < closes:
        free.append((at, closes))
    return free
