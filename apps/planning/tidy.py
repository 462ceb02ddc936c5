"""Left-justification: nothing in a finished plan can be done sooner as it stands.

Earlier stints are a tie-break: they are tidied, not proven.
"""

from __future__ import annotations

from .draft import Draft
from .generator import build
from .levels import key
from .placing import place
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
    site = draft.site
    best, best_key = draft.copy(), key(draft)
    again, again_key = build(site, by_start(draft))
    if again_key <= best_key:
        best = again
    best = join(best)
    moving = True
    while moving:
        moving = _replace_each(best) or _shift_each(best)
    return best


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
        k = 0
        while k < len(draft.stints[i] or ()):
            start = _earliest_place(draft, i, k)
            if start is None:
                k += 1
                continue
            stints = moved(draft, i, k, start)
            draft.take(i)
            draft.put(i, _joined(draft.site, i, stints))
            better = True
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
    if site.around[i]:
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
