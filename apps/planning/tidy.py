"""Left-justification: nothing in a finished plan can be done sooner as it stands.

Earlier stints are a tie-break: they are tidied, not proven.
"""

from __future__ import annotations

from .draft import Draft
from .generator import build
from .levels import FINISH, has_moved, key
from .placing import Floors, earliest, place
from .problem import Interval
from .rules import held, moved
from .site import Site


def by_start(draft: Draft) -> list[int]:
    """The order of a plan: movable activities by start, what has no place last."""
    site = draft.site

    def rank(i: int) -> tuple[int, int, int]:
        stints = draft.stints[i]
        if stints is None:
            return site.horizon, 0, i
        return stints[0][0], stints[-1][1], i

    return sorted(site.movable, key=rank)


def justify(draft: Draft) -> Draft:
    """The plan with every stint as early as the others leave it; no level gets worse."""
    best, best_key = draft.copy(), key(draft)
    again, again_key = build(draft.site, by_start(draft))
    if again_key <= best_key:
        best = again
    best = join(best)
    moving = True
    while moving:
        moving = _replace_each(best) or _shift_each(best)
    return best


def settle(draft: Draft) -> Draft:
    """A plan to be shown: fewer breaks and moves where no level before is worse, then justified.

    Not for plans to search on from: work kept whole lies later than it could.
    """
    best = draft.copy()
    moving = True
    while moving:
        moving = _mend_breaks(best) or _stay(best)
    return min(justify(best), draft, key=key)


def _replace_each(draft: Draft) -> bool:
    """Fill each activity anew with all others standing; keep what is earlier."""
    better = False
    for i in by_start(draft):
        if draft.stints[i] is None:
            continue
        before = key(draft)
        stints = draft.take(i)
        anew = place(draft, i)
        if (
            anew is not None
            and (anew[0][0], anew[-1][1]) != (stints[0][0], stints[-1][1])
            and anew[0][0] <= stints[0][0]
            and anew[-1][1] <= stints[-1][1]
        ):
            draft.put(i, stints)
            allowed = not any(held(draft, i, anew))
            draft.take(i)
            draft.put(i, anew if allowed else stints)
            if key(draft) <= before:
                better |= allowed
                continue
            draft.take(i)
        draft.put(i, stints)
    return better


def _shift_each(draft: Draft) -> bool:
    """Move single stints to the earliest place that breaks nothing."""
    better = False
    for i in by_start(draft):
        if i in draft.site.special:
            continue
        k = 0
        while k < len(draft.stints[i] or ()):
            start = _earliest_place(draft, i, k)
            if start is None:
                k += 1
                continue
            # Sooner can be worse only for what has an old place, or lifts a household's floor.
            careful = i in draft.site.was or i in draft.site.watched
            before = key(draft) if careful else None
            stints = moved(draft, i, k, start)
            was = draft.take(i)
            draft.put(i, _joined(draft.site, i, stints))
            if before is not None and key(draft) > before:
                draft.take(i)
                draft.put(i, was)
                k += 1
                continue
            better = True
    return better


def _mend_breaks(draft: Draft) -> bool:
    """Put broken-off work into the first stretch that holds all of it, where no level is worse."""
    site = draft.site
    better = False
    for i in by_start(draft):
        if i in site.special or len(draft.stints[i] or ()) < 2:
            continue
        before = key(draft)
        stints = draft.take(i)
        size = site.effort[i] + site.around[i]
        start, end = earliest(draft, i)
        last = before[FINISH]
        for opens, until in draft.gaps(i, start, draft.forbidden(i)):
            at = max(opens, end - size)
            if at + size > last:
                break
            if at + size > until:
                continue
            draft.put(i, stints)
            allowed = not any(held(draft, i, [(at, at + size)]))
            draft.take(i)
            if not allowed:
                # What follows holds it back: no later place will do either.
                break
            draft.put(i, [(at, at + size)])
            if key(draft) < before:
                better = True
                break
            draft.take(i)
        if draft.stints[i] is None:
            draft.put(i, stints)
    return better


def _stay(draft: Draft) -> bool:
    """Put back what has moved without need: its old beginning is free, and no level is worse."""
    site = draft.site
    better = False
    for i, (first, last) in site.was.items():
        if draft.stints[i] is None or not has_moved(draft, i):
            continue
        before = key(draft)
        stints = draft.take(i)
        floors = Floors(site)
        floors.lift(i, end=False, at=first)
        anew = place(draft, i, floors)
        draft.put(i, stints)
        if anew is None or not first <= anew[0][0] < last or any(held(draft, i, anew)):
            continue
        draft.take(i)
        draft.put(i, anew)
        if key(draft) < before:
            better = True
            continue
        draft.take(i)
        draft.put(i, stints)
    return better


def _earliest_place(draft: Draft, i: int, k: int) -> int | None:
    """The earliest start for the k-th stint, None when it is there already."""
    stints = draft.stints[i] or []
    start, end = stints[k]
    low, high = -1, start
    while high - low > 1:
        middle = (low + high) // 2
        if any(held(draft, i, moved(draft, i, k, middle))):
            low = middle
        else:
            high = middle
    if high == start:
        return None
    rest = stints[:k] + stints[k + 1 :]
    # Touching its own stint it would be one stint with a set-up in its middle.
    apart = 1 if draft.site.around[i] else 0
    own = [(opens - apart, closes + apart) for opens, closes in rest]
    forbidden = [*draft.forbidden(i), *own]
    draft.take(i)
    draft.put(i, rest)
    found = None
    for at, until in draft.gaps(i, high, forbidden):
        if at >= start:
            break
        if at + end - start <= until:
            found = at
            break
    draft.take(i)
    draft.put(i, stints)
    return found


def _joined(site: Site, i: int, stints: list[Interval]) -> list[Interval]:
    """Touching stints made one, where that changes nothing else."""
    if site.around[i] or i in site.special:
        return stints
    joined: list[Interval] = []
    for start, end in stints:
        inside = joined and any(
            opens <= joined[-1][0] and end <= closes for opens, closes in site.windows[i]
        )
        if inside and joined[-1][1] == start:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((start, end))
    return joined


def join(draft: Draft) -> Draft:
    """Touching stints of one activity made one, through the whole plan."""
    for i in draft.site.movable:
        if draft.stints[i] is not None:
            stints = draft.take(i)
            draft.put(i, _joined(draft.site, i, stints))
    return draft
