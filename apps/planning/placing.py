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
