"""What a search works on: the component, the best plan so far, the programme and its tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from apps.timber.cutting.bounds import possible_costs
from apps.timber.cutting.components import Component
from apps.timber.cutting.master import Counts, Master
from apps.timber.cutting.plans import (
    Plan,
    Use,
    cheapest,
    cheapest_by_length,
    costs,
    first_fit,
    quick_plans,
    trimmed,
    unmet,
    value,
)
from apps.timber.cutting.pricing import Duals, Pricer

PER_ROUND = 40
"""Patterns added from one table and round (tried: 10 to 100)."""
ROUNDS = 30
"""Pricing rounds between two fixings of a dive, at most."""
FINE = 20_000
"""Bins with more positions than this are first priced over a coarse table."""
COARSE = 3_000
"""Positions of the coarse table."""


@dataclass(slots=True)
class Left:
    """What is left to do once some patterns are fixed."""

    demand: Counts
    supply: Counts
    kept: dict[int, int]
    fixed: list[tuple[Use, int]] = field(default_factory=list)
    opened: set[int] = field(default_factory=set)
    spent: int = 0


class Work:
    """A component and all that is known about it. `now` is a clock in seconds from outside."""

    def __init__(self, component: Component, *, seed: int, now: Callable[[], float]) -> None:
        self.component = component
        self.now = now
        self.random = np.random.default_rng(seed)
        self.plan: Plan = {}
        self.value = value(component, {})
        for plan in quick_plans(component):
            self.offer(plan)
        self.master = Master(component)
        self.root: Duals | None = None
        self.pricer: Pricer | None = None
        self._memory: NDArray[np.int32] | None = None
        self._coarse = _coarse(component)
        self._costs: int | None = None
        self._costs_up_to = -1

    def offer(self, plan: Plan) -> bool:
        """Take a plan if it is better than the best so far."""
        worth = value(self.component, plan)
        if worth < self.value:
            self.plan, self.value = plan, worth
            return True
        return False

    def below(self, level: int) -> int:
        """A plan is better on this level if, and only if, its value is below this."""
        reached = self.value[level]
        costs_there_can_be = self._possible(level)
        if costs_there_can_be is None:
            return reached
        return (costs_there_can_be & ((1 << reached) - 1)).bit_length()

    def next_up(self, level: int, bound: int) -> int:
        """The least value a level can have that is not below a bound."""
        costs_there_can_be = self._possible(level)
        if costs_there_can_be is None or bound <= 0:
            return bound
        dearer = costs_there_can_be >> bound
        return bound + (dearer & -dearer).bit_length() - 1 if dearer else self.value[level]

    def _possible(self, level: int) -> int | None:
        """The costs there can be up to the best plan's, which may be dearer than an earlier one's
        that met less."""
        if level != self.master.levels - 4:
            return None
        if self.value[level] > self._costs_up_to:
            self._costs_up_to = self.value[level]
            self._costs = possible_costs(self.component, self._costs_up_to)
        return self._costs

    def continue_from(self, plan: Plan) -> None:
        """Offer an earlier plan, made whole by first fit where it does not meet everything."""
        if not plan:
            return
        supply = [kind.supply for kind in self.component.kinds]
        for (kind, _), count in plan.items():
            supply[kind] -= count
        missing = unmet(self.component, plan)
        for prefer in (cheapest, cheapest_by_length):
            rest = first_fit(self.component, prefer, demand=missing, supply=supply)
            self.offer(trimmed(self.component, [*plan.items(), *rest.items()]))

    def duals(self) -> Duals:
        """What the programme said last."""
        return Duals(self.master.item_duals, self.master.kind_duals, self.master.level_duals)

    def everything(self) -> Left:
        """Nothing fixed."""
        return Left(self.master.demand.copy(), self.master.supply.copy(), dict(self.master.kept))

    def fix(self, left: Left, level: int, uses: Iterable[tuple[Use, int]]) -> None:
        """Take patterns off what is left."""
        master = self.master
        for use, count in uses:
            column = master.known[use]
            left.fixed.append((use, count))
            left.demand -= count * master.matrix[column]
            left.supply[use[0]] -= count
            left.spent += count * int(master.charge[column, level])
            for other in left.kept:
                left.kept[other] -= count * int(master.charge[column, other])
            group = self.component.kinds[use[0]].group
            if group is not None:
                left.opened.add(group)

    def tables(self, left: Left) -> list[Pricer]:
        """Pricers for what is left, the coarse one first where there is one."""
        exact = self.master.exact
        fine = Pricer(self.component, left.demand, left.supply, exact=exact, memory=self._memory)
        if self._memory is None and len(fine.tables) == 1 and fine.tables[0] is not None:
            self._memory = np.empty(fine.tables[0].best.size, dtype=np.int32)
        if self._coarse is None or exact:
            return [fine]
        return [Pricer(self._coarse, left.demand, left.supply, exact=False), fine]

    def price_rest(self, level: int, goal: int, left: Left, until: float) -> bool:
        """Column generation for what is left, until the goal is in reach.

        Offers on the way the plan that fills up with first fit. False if nothing better than
        the best plan can come of it, or time is up.
        """
        master = self.master
        # These patterns cover what is left, so that the programme has an answer at all.
        rough = first_fit(
            self.component, cheapest, demand=left.demand.tolist(), supply=left.supply.tolist()
        )
        dear = sum(count * costs(self.component, use).cost for use, count in rough.items())
        if master.aim != master.levels - 4 or left.spent + dear <= self.value[level]:
            self.offer(trimmed(self.component, [*left.fixed, *rough.items()]))
        master.add(rough)
        master.restrict(left.demand, left.supply, left.kept, left.opened)
        pricers = self.tables(left)
        for number in range(ROUNDS):
            if self.now() >= until or not master.solve(until - self.now(), grown=number > 0):
                return False
            if number and left.spent + master.objective <= goal + 1e-6:
                return True
            fresh = False
            for pricer in pricers:
                priced = pricer.price(master, self.duals(), left.kept, PER_ROUND // 2)
                if pricer is pricers[-1] and left.spent + priced.bound >= self.below(level):
                    return False
                if master.add(priced.uses):
                    fresh = True
                    break
            if not fresh:
                return True
        return master.solve(until - self.now(), grown=True)

    def release(self) -> None:
        """Ask the programme for everything again."""
        left = self.everything()
        self.master.restrict(left.demand, left.supply, left.kept, left.opened)


def _coarse(component: Component) -> Component | None:
    """The same on fewer positions: sizes rounded up, rooms down, so that what fits there fits."""
    longest = max(kind.room for kind in component.kinds)
    if longest <= FINE:
        return None
    grain = -(-longest // COARSE)
    return replace(
        component,
        items=tuple(replace(item, size=-(-item.size // grain)) for item in component.items),
        kinds=tuple(replace(kind, room=kind.room // grain) for kind in component.kinds),
    )
