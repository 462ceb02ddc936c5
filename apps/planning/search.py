"""The first plan: several orders tried, the best one improved by small changes.

Effort is counted in plans built, never in seconds, so that the same question always has the
same answer.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from .bounds import tails
from .draft import Draft
from .generator import build
from .levels import FINISH, MOVED, OPEN_NIGHTS, Key, key, shortage
from .mirror import mirror
from .site import Site
from .tidy import by_start

SEED = 1


def first_plan(site: Site) -> Draft:
    """The best of the previous plan's order and a few orders of importance."""
    best: tuple[Draft, Key] | None = None
    for order in _orders(site):
        draft, levels = build(site, order)
        if best is None or levels < best[1]:
            best = draft, levels
    assert best is not None, "there is always the order of the record"  # nosec B101
    return best[0]


def _orders(site: Site) -> list[list[int]]:
    """Orders worth trying, the previous plan's first: it wins when nothing is better."""
    movable = list(site.movable)
    orders = []
    was = dict(_previous_starts(site))
    if was:
        orders.append(sorted(movable, key=lambda i: (was.get(i, site.horizon), i)))
    due, rest = tails(site)
    orders.append(sorted(movable, key=lambda i: (due[i], -rest[i], i)))
    orders.append(sorted(movable, key=lambda i: (-rest[i], due[i], i)))
    orders.append(sorted(movable, key=lambda i: (due[i] - rest[i], i)))
    orders.append(movable)
    return orders


def improve(site: Site, draft: Draft, *, tries: int, seed: int = SEED) -> Draft:
    """Change the order a little, build forward, backward and forward again; keep what is better.

    Between plans of equal levels the one with the earlier ends is better.
    """
    chance = random.Random(seed)  # noqa: S311  # nosec B311 # a search, not a secret
    order = by_start(draft)
    if len(order) < 2:
        return draft
    backward = Site(mirror(site.problem))
    best, best_rank = draft, _rank(draft)
    at_rank = best_rank
    thrifty: frozenset[int] = frozenset()
    for n in range(tries):
        changed, flipped = order, thrifty
        if n:
            kind = chance.random()
            if kind < 0.95:
                changed = _changed(site, best, order, chance)
            if kind > 0.85:
                flipped = thrifty ^ frozenset(chance.choices(order, k=chance.randrange(1, 4)))
        made, _ = build(site, changed, thrifty=flipped)
        for last in (False, True):
            rank = _rank(made)
            if rank <= at_rank:
                order, thrifty, at_rank = by_start(made), flipped, rank
            if rank < best_rank:
                best, best_rank = made, rank
            if not last:
                made, _ = build(site, _urgency(backward, made), thrifty=flipped)
    return min(draft, best, key=key)


def _previous_starts(site: Site) -> list[tuple[int, int]]:
    """Each activity's first start in the previous plan, the last of them first."""
    return [
        (site.index[stint.activity], stint.start)
        for stint in sorted(site.problem.previous, key=lambda stint: -stint.start)
        if stint.activity in site.index
    ]


def _rank(draft: Draft) -> tuple[int, ...]:
    """Levels, then the sum of ends. Breaks are left out: they would only mislead the search,
    and are mended afterwards."""
    levels = key(draft)
    ends = sum(draft.end(i) or 0 for i in draft.site.movable)
    return (*levels[: OPEN_NIGHTS + 1], levels[MOVED], ends)


def _urgency(backward: Site, draft: Draft) -> list[int]:
    """The order of a plan once all work has been pushed as late as its finish lets it."""
    site = draft.site
    latest_first = sorted(site.movable, key=lambda i: -(draft.end(i) or site.horizon))
    late, _ = build(backward, latest_first, start=site.horizon - key(draft)[FINISH])
    return sorted(site.movable, key=lambda i: (-(late.end(i) or site.horizon), i))


def _guilty(draft: Draft) -> list[int]:
    """What costs most in the plan: activities of the first level that is not empty."""
    site = draft.site
    lost = [i for i in site.movable if draft.stints[i] is None and i not in site.stuck]
    if lost:
        return lost
    early = [tie.before for tie in site.ties if not site.fixed(tie.before) and shortage(draft, tie)]
    late = [
        i
        for i in site.movable
        if (due := site.activities[i].due) is not None and (draft.end(i) or 0) > due
    ]
    last = max(site.movable, key=lambda i: draft.end(i) or 0)
    return [*early, *late, last]


def _changed(site: Site, draft: Draft, order: Sequence[int], chance: random.Random) -> list[int]:
    """The order with a guilty activity and its forerunners sooner, or a short run moved."""
    changed = list(order)
    if chance.random() < 0.3:
        guilty = chance.choice(_guilty(draft))
        ahead = {i for i in changed if guilty in site.descendants[i]}
        if chance.random() < 0.5:
            ahead = {i for i in ahead if chance.random() < 0.7}
        by = chance.choice((2, 5, 10, 20, len(changed)))
        place = {i: n for n, i in enumerate(changed)}
        return sorted(changed, key=lambda i: place[i] - (by + 0.5 if i in ahead else 0))
    size = len(changed)
    run = 1 if chance.random() < 0.6 else chance.randint(2, 5)
    at = chance.randrange(size)
    block = changed[at : at + run]
    del changed[at : at + run]
    reach = size if chance.random() < 0.2 else 10
    to = max(0, min(len(changed), at + chance.randint(-reach, reach)))
    changed[to:to] = block
    return changed
