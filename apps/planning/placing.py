"""Placing one activity as early as the rest of a draft lets it."""

from __future__ import annotations

from collections.abc import Sequence

from .draft import Draft
from .problem import Interval
from .site import Site
from .windows import NEVER


class Floors:
    """What earlier passes taught: floors under starts and ends, order, spans to open late."""

    def __init__(self, site: Site, start: int = 0, thrifty: frozenset[int] = frozenset()) -> None:
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
    for s in site.opened_by[i]:
        if floors is not None and s in floors.late:
            for other in site.spans[s].excludes:
                start = max(start, draft.end(other) or 0)
    return start, end


def place(draft: Draft, i: int, floors: Floors | None = None) -> list[Interval] | None:
    """Stints as early as the rules allow, or None."""
    start, end = earliest(draft, i, floors)
    if i in draft.site.special:
        return place_special(draft, i, start, end)
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


def place_special(draft: Draft, i: int, start: int, end: int) -> list[Interval] | None:
    """Work of one piece, held resources, all in one window: try the next start that may do.

    Each refusal says how far the start must move at least, so nothing earlier is passed over.
    """
    site = draft.site
    barred = draft.forbidden(i)
    blocks = [*draft.blocks(i), barred]
    holds = [(draft.full(r, units), least) for r, least, units in site.holds[i]]
    at = start
    while at < site.horizon:
        stints = _laid_from(draft, i, at, end, barred)
        if stints is None:
            return None
        begun, done = stints[0][0], stints[-1][1]
        clashes = [clash for full, least in holds
                   if (clash := _clash(full, begun, max(done, begun + least)))]  # fmt: skip
        if site.activities[i].mode != "stints":
            clashes += [clash for block in blocks if (clash := _clash(block, begun, done))]
        if not clashes:
            return stints
        at = max(begun + 1, *(until for _, until in clashes))
    return None


def _clash(block: Sequence[Interval], start: int, end: int) -> Interval | None:
    """The first stretch of a block that an interval meets."""
    return next((one for one in block if one[0] < end and one[1] > start), None)


def _laid_from(
    draft: Draft, i: int, at: int, end: int, barred: Sequence[Interval]
) -> list[Interval] | None:
    """The first way from `at` on that keeps hours, its own form and its one window."""
    site = draft.site
    within = site.within[i]
    if within is None:
        return _laid(draft, i, at, end, barred)
    for opens, closes in within.windows:
        if closes > at:
            outside = [(-NEVER, opens), (closes, NEVER)]
            stints = _laid(draft, i, max(at, opens), end, [*barred, *outside])
            if stints is not None and opens <= stints[0][0] and stints[-1][1] <= closes:
                return stints
    return None


def _laid(
    draft: Draft, i: int, at: int, end: int, barred: Sequence[Interval]
) -> list[Interval] | None:
    site = draft.site
    mode, effort = site.activities[i].mode, site.effort[i]
    if mode == "stints":
        stints, left = fill(draft, i, at, end, barred)
        return None if left else stints
    if mode == "elapsed":
        at = max(at, end - effort)
        begun = next((max(at, a) for a, b in site.windows[i] if b > at), site.horizon)
        return [(begun, begun + effort)] if begun + effort <= site.horizon else None
    return carried_on(site, i, at, end)


def carried_on(site: Site, i: int, at: int, end: int = 0) -> list[Interval] | None:
    """Carried-on work from the first open quarter at or after `at`, ending at `end` or later."""
    clock, effort = site.own_clock[i], site.effort[i]
    reading = clock.reading(at)
    until = clock.first_with(reading + effort)
    if until < end:
        reading = clock.reading(end) - effort
        until = clock.first_with(reading + effort)
        if until < end:
            # The end falls into a break: one quarter more reaches over it.
            reading += 1
            until = clock.first_with(reading + effort)
    if until > site.horizon:
        return None
    begun = clock.first_with(reading + 1) - 1
    return [(max(a, begun), min(b, until)) for a, b in clock.windows if a < until and b > begun]
