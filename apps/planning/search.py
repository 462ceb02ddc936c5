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
from .levels import Key, key
from .site import Site
from .tidy import by_start, justify

SEED = 1


def first_plan(site: Site) -> Draft:
    """The best of the previous plan's order and a few orders of importance."""
    best: tuple[Draft, Key] | None = None
    for order in _orders(site):
        draft, levels = build(site, order)
        if best is None or levels < best[1]:
            best = draft, levels
    assert best is not None, "there is always the order of the record"
    return best[0]


def _orders(site: Site) -> list[list[int]]:
    """Orders worth trying, the previous plan's first: it wins when nothing is better."""
    movable = list(site.movable)
    orders = []
    was: dict[int, int] = {}
    for stint in site.problem.previous:
        if stint.activity in site.index:
            was.setdefault(site.index[stint.activity], stint.start)
    if was:
        orders.append(sorted(movable, key=lambda i: (was.get(i, site.horizon), i)))
    due, rest = tails(site)
    orders.append(sorted(movable, key=lambda i: (due[i], -rest[i], i)))
    orders.append(sorted(movable, key=lambda i: (-rest[i], due[i], i)))
    orders.append(sorted(movable, key=lambda i: (due[i] - rest[i], i)))
    orders.append(movable)
    return orders


def improve(site: Site, draft: Draft, *, tries: int, seed: int = SEED) -> Draft:
    """Move single activities and groups about in the order; keep what is not worse."""
    chance = random.Random(seed)  # noqa: S311 - a search, not a secret
    order = by_start(draft)
    best, best_key = draft, key(draft)
    if len(order) < 2:
        return best
    for _ in range(tries):
        if best_key[:3] == (0, 0, 0) and best_key[3] == 0:
            break
        candidate = _changed(order, chance)
        made, levels = build(site, candidate)
        if levels <= best_key:
            order = by_start(made) if levels < best_key else candidate
            best, best_key = made, levels
    return best


def _changed(order: Sequence[int], chance: random.Random) -> list[int]:
    """One activity, or a short run of them, moved elsewhere, mostly not far."""
    changed = list(order)
    size = len(changed)
    run = 1 if chance.random() < 0.7 else chance.randint(2, 4)
    at = chance.randrange(size)
    block = changed[at : at + run]
    del changed[at : at + run]
    reach = size if chance.random() < 0.2 else 8
    to = max(0, min(len(changed), at + chance.randint(-reach, reach)))
    changed[to:to] = block
    return changed


__all__ = ["first_plan", "improve", "justify"]
