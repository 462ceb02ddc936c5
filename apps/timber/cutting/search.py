"""The search inside one component: level by level, bound and plan closing in on each other.

For each level: column generation gives the bound; dives (round the linear programme, price
what is left, again), a whole-number programme over the patterns found, and the same over a few
bins at a time give plans; and where the patterns that could still help are few enough to list,
the programme over the whole list proves the plan or betters it. Then the level is kept and the
next one looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from apps.timber.cutting.bought import Aim, aims
from apps.timber.cutting.bounds import fewest_bins
from apps.timber.cutting.components import Component
from apps.timber.cutting.dives import NOISE, again, aimed_dive, dive
from apps.timber.cutting.listing import list_patterns
from apps.timber.cutting.plans import Plan, trimmed, value
from apps.timber.cutting.pricing import Duals
from apps.timber.cutting.problem import LevelName
from apps.timber.cutting.work import PER_ROUND, Work

CLOSE_AT = {2: 1_500, 14: 6_000, 40: 12_000, 120: 12_000}
"""After so many tries the whole-number programme has its turn, over no more patterns than this
as a proof: the better the plan, the fewer are left that could still better it."""
CLOSE_LATER = {14, 40, 120}
"""The same where dives are aimed at what is bought."""
LEAST_TO_CLOSE = 0.15
"""Seconds: listing patterns cannot be stopped halfway."""
TAKEN_UP = (12, 80)
"""A few bins at a time: about so many parts at first, and at most."""
GROWTH = 1.3
"""So many times more parts after a few that could not be cut better."""


@dataclass(frozen=True, slots=True)
class Settled:
    """A level of a component: what was reached and what nothing goes below."""

    value: int
    bound: int


@dataclass(frozen=True, slots=True)
class Found:
    """A component's plan and its levels."""

    plan: Plan
    levels: tuple[Settled, ...]


class Search:
    """One component's search, one level after the other."""

    def __init__(self, component: Component, *, seed: int, now: Callable[[], float]) -> None:
        self.work = Work(component, seed=seed, now=now)
        self.bounds: list[int] = []

    def settle(self, until: float) -> None:
        """Look at the next level; not beyond `until` on the clock."""
        work, level = self.work, len(self.bounds)
        if level:
            work.master.add(work.plan)
            work.master.keep(level - 1, work.value[level - 1])
        self.bounds.append(_settle(work, level, until))

    def found(self) -> Found:
        """The answer so far, with a bound that needs no work for levels not looked at yet.

        Looking at a later level may have bettered one that was not proven.
        """
        value = self.work.value
        later = [_least(self.work, level) for level in range(len(self.bounds), len(value))]
        bounds = [*self.bounds, *later]
        return Found(
            self.work.plan,
            tuple(
                Settled(reached, min(bound, reached))
                for reached, bound in zip(value, bounds, strict=True)
            ),
        )


SHARES: Mapping[LevelName, float] = {
    "unmet": 0.5, "cost": 0.8, "opened": 0.4, "waste": 0.7, "cuts": 1.0,
}  # fmt: skip
"""How much of the time still left a level may take: what matters most has the first call."""


def settle_all(
    searches: Sequence[Search],
    names: Sequence[LevelName],
    end: float,
    report: Callable[[], None] = lambda: None,
) -> None:
    """Level by level over all components, the small ones first: they leave time to the large.

    `report` is called after every level.
    """
    if not searches:
        return
    clock = searches[0].work.now
    by_size = sorted(searches, key=lambda search: len(search.work.component.items))
    for name in names:
        rounds = max((len(search.work.master.ranks) for search in searches), default=0)
        for number in range(rounds if name == "unmet" else 1):
            now = clock()
            last = name == names[-1] and name != "unmet"
            until = now + max(0.0, end - now) * (1.0 if last else SHARES[name])
            left = sum(len(search.work.component.items) for search in searches)
            for search in by_size:
                size = len(search.work.component.items)
                if name != "unmet" or number < len(search.work.master.ranks):
                    now = clock()
                    search.settle(now + max(0.0, until - now) * size / left)
                left -= size
            report()


def _least(work: Work, level: int) -> int:
    """What a level cannot go below, without any work."""
    component = work.component
    if level == work.master.levels - 2:
        return -sum(kind.supply * kind.begun_waste for kind in component.kinds)
    if (
        level == work.master.levels - 4
        and len(component.kinds) == 1
        and not any(work.value[:level])
    ):
        return component.kinds[0].cost * fewest_bins(component)
    return 0


def _settle(work: Work, level: int, until: float) -> int:
    bound = _least(work, level)
    if work.value[level] <= bound or work.now() >= until:
        return bound
    work.master.aim_at(level)
    work.master.add(work.plan)
    bound = work.next_up(level, max(bound, _generate(work, level, until)))
    ways: list[Aim] = []
    if work.value[level] > bound and work.now() < until:
        ways = aims(work, level, lambda: _generate(work, level, until))
        if ways:
            bound = work.next_up(level, max(bound, min(way.bound for way in ways[:2])))
    parts, tries = TAKEN_UP[0], 0
    while work.value[level] > bound and work.now() < until:
        if ways and ways[0].bound >= work.below(level):
            # A better plan buys more than the first way would have it.
            work.master.buy(ways[1].least, None)
        dearer = [way for way in ways if way.better(work, level)]
        turn = tries in (CLOSE_LATER if ways else CLOSE_AT)
        if turn and until - work.now() > LEAST_TO_CLOSE:
            bound = max(bound, _close(work, level, until, bound, CLOSE_AT[tries]))
        elif tries and dearer and tries % 3:
            aimed_dive(work, level, bound, dearer[(tries + 1) % 2 % len(dearer)], until)
        elif (tries < 2 or tries % 3 == 0) and not work.master.exact:
            # Free of what must be bought these end elsewhere than the aimed ones: both are wanted.
            work.master.buy(None, None)
            dive(work, level, bound, NOISE if tries else 0.0, until)
        elif not again(work, level, parts, until):
            parts = int(parts * GROWTH) if parts < TAKEN_UP[1] else TAKEN_UP[0]
        tries += 2 if work.master.exact and tries < 1 else 1
    work.master.buy(None, None)
    return min(bound, work.value[level])


def _generate(work: Work, level: int, until: float, *, to_the_end: bool = False) -> int:
    """Column generation; the bound. Leaves the duals that gave it in `work.root`.

    Stops as soon as no better whole number can come of it; `to_the_end` goes on for the
    sharpest duals.
    """
    master = work.master
    pricers = work.tables(work.everything())
    bound, work.root = _least(work, level), None
    best, grown = -np.inf, False
    while work.now() < until and master.solve(until - work.now(), grown=grown):
        grown = True
        duals = work.duals()
        fresh = False
        for pricer in pricers:
            priced = pricer.price(master, duals, master.kept, PER_ROUND)
            if pricer is pricers[-1]:
                if priced.exact_bound > best:
                    best = priced.exact_bound
                    work.root = Duals(duals.items * priced.shrink, duals.kinds, duals.levels)
                bound = max(bound, priced.bound)
            if master.add(priced.uses):
                fresh = True
                break
        enough = bound >= np.ceil(master.objective - 1e-6) and not to_the_end
        if not fresh or enough or bound >= work.below(level):
            break
    work.pricer = pricers[-1]
    return bound


def _close(work: Work, level: int, until: float, bound: int, most: int) -> int:
    """The whole-number programme; a better bound if every pattern that matters was in it."""
    master = work.master
    before = work.value[level]
    uses = None
    bound = max(bound, _generate(work, level, until, to_the_end=True))
    if bound >= work.below(level):
        return before
    if work.root is not None and work.pricer is not None:
        uses = list_patterns(master, work.pricer, work.root, work.below(level), most)
    master.add(work.plan)
    if uses is not None:
        master.add(uses)
        columns = [master.known[use] for use in (*uses, *work.plan)]
    else:
        columns = list(range(master.count))
    share = (0.3 if uses is not None else 0.2) * (until - work.now())
    found, proven = master.whole(columns, work.below(level) - 1, share)
    reached = before
    if found is not None:
        plan = trimmed(work.component, found)
        reached = min(before, value(work.component, plan)[level])
        work.offer(plan)
    return reached if uses is not None and proven else bound
