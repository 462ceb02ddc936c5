"""A plan under construction: what is placed, what that keeps busy, and what is still free."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence

from .problem import Interval
from .site import Site, Tie
from .windows import NEVER, full_stretches


class Draft:
    """Stints by activity number, with the full stretches of every resource kept up to date."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.stints: list[list[Interval] | None] = [None] * site.count
        self._busy: list[list[Interval]] = [[] for _ in site.capacity]
        self.full: list[list[Interval]] = [[] for _ in site.capacity]
        for i, activity in enumerate(site.activities):
            if activity.fixed is not None:
                self.stints[i] = [activity.fixed]
                for r in site.uses[i]:
                    self._busy[r].append(activity.fixed)
        for r in range(len(site.capacity)):
            self._recount(r)
        # By kind of activity: for each window the first from it on not known to be full.
        self._open: dict[int, list[int]] = {}

    def copy(self) -> Draft:
        twin = object.__new__(Draft)
        twin.site = self.site
        twin.stints = list(self.stints)
        twin._busy = [list(busy) for busy in self._busy]
        twin.full = [list(full) for full in self.full]
        twin._open = {}
        return twin

    def put(self, i: int, stints: list[Interval]) -> None:
        """Place an activity that has no stints yet."""
        self.stints[i] = stints
        for r in self.site.uses[i]:
            self._busy[r] += stints
            if self.site.capacity[r] == 1:
                for stint in stints:
                    insort(self.full[r], stint)
            else:
                self._recount(r)

    def take(self, i: int) -> list[Interval]:
        """Lift an activity out of the plan and return where it was."""
        stints = self.stints[i]
        assert stints is not None, "only what is placed can be taken out"
        self.stints[i] = None
        self._open = {}
        for r in self.site.uses[i]:
            for stint in stints:
                self._busy[r].remove(stint)
            self._recount(r)
        return stints

    def _recount(self, r: int) -> None:
        self.full[r] = full_stretches(self._busy[r], self.site.capacity[r])

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

    def gaps(self, i: int, start: int, forbidden: Sequence[Interval] = ()) -> Iterator[Interval]:
        """Free stretches for the activity from `start` on, each inside one of its windows."""
        windows = self.site.windows[i]
        blocks = [self.full[r] for r in self.site.uses[i]]
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
