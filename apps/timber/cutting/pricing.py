"""Which patterns would make the linear programme better, and how much better at most.

Pricing: for duals p (items), q <= 0 (levels already settled) and the level aimed at, a pattern
of kind b has the reduced cost K_b - sum(v_i a_i) + F(rest), with K_b and v_i gathered from the
cost, pieces and cuts of the levels and F from waste and from bins that come out even. One
knapsack table for each sort of bin gives the best pattern of every kind of that sort at once.

Bound: for *any* duals, with r_b = min(0, least reduced cost of kind b),

    sum(p_i d_i) + sum(q_l kept_l) + sum over kinds(supply_b r_b)
      + sum over pieces of several runs(min(0, c + sum over its runs(supply_b r_b)))
      + sum over items(d_i min(0, u_i - p_i))

is a lower bound of the level (the Lagrangian of the demand and level rows; c and u are what an
opened piece and an unmet copy add). Where bins without end would be worth using, all p are
first scaled down until none is (Farley 1990). Duals are rounded to whole multiples of
1 / scale before all this, so the bound is exact arithmetic, not floating point.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from apps.timber.cutting.components import Component, Cut
from apps.timber.cutting.knapsack import MOST, REACHED, Table, cells_of
from apps.timber.cutting.master import Counts, Master
from apps.timber.cutting.plans import Use

Whole = NDArray[np.int64]
SHARE_FROM = 15_000_000
"""From so many numbers (60 MB) on, the tables of the sorts lie in one memory, one at a time."""


@dataclass(frozen=True, slots=True)
class Duals:
    """What the linear programme says: for items, kinds and settled levels."""

    items: NDArray[np.float64]
    kinds: NDArray[np.float64]
    levels: dict[int, float]


@dataclass(slots=True)
class Priced:
    """The outcome of one round: a lower bound of the level aimed at and patterns worth adding."""

    bound: int
    exact_bound: float
    shrink: float
    """What the item duals were multiplied by for the bound."""
    uses: list[Use]


@dataclass(slots=True)
class Rates:
    """The duals as whole numbers, `scale` to one."""

    scale: int
    items: Whole
    kinds: Whole
    level: list[int]
    """For each level: what one unit of it counts (its dual, or the aim itself)."""
    kept: dict[int, int]
    bought: int
    """What one mm of an endless bin counts beyond its cost, for what must or may be bought."""


@dataclass(frozen=True, slots=True)
class Top:
    """The best pattern of a kind: what beginning a bin costs, what it is worth, where it ends."""

    fixed: int
    worth: int
    position: int


class Pricer:
    """Tables for what is left to do: made again whenever demands or supplies change."""

    def __init__(self, component: Component, demand: Counts, supply: Counts, *, exact: bool,
                 memory: NDArray[np.int32] | None = None) -> None:  # fmt: skip
        self.component = component
        self.demand = demand
        self.supply = supply
        self.exact = exact
        self.kinds_of: list[list[int]] = [[] for _ in component.sorts]
        for number, kind in enumerate(component.kinds):
            if supply[number] > 0:
                self.kinds_of[kind.sort].append(number)
        self.takes = [[item for item in sort.takes if demand[item] > 0] for sort in component.sorts]
        asked = {number: self._asked(number) for number in range(len(self.takes))}
        cells = [cells_of(*one) for one in asked.values() if one is not None]
        self.shared = len(cells) > 1 and sum(cells) > SHARE_FROM
        if self.shared:
            memory = np.empty(max(cells), dtype=np.int32)
        elif len(cells) > 1:
            memory = None
        self.memory = memory
        self.tables: list[Table | None] = [
            None if one is None else Table(*one, exact=exact, memory=memory)
            for one in asked.values()
        ]
        self.handling = [
            np.array([rate for item, rate in zip(s.takes, s.handling, strict=True) if demand[item]])
            for s in component.sorts
        ]
        longest = max((kind.room for kind in component.kinds), default=0)
        self.waste = (
            np.array([component.waste(component.kinds[0], rest) for rest in range(longest + 1)])
            + component.kinds[0].begun_waste
            if exact
            else np.zeros(0, dtype=np.int64)
        )

    def _asked(self, sort: int) -> tuple[list[int], list[int], int] | None:
        """Sizes, copies and room of a sort's table; None where it takes nothing any more."""
        takes, kinds = self.takes[sort], self.kinds_of[sort]
        if not takes or not kinds:
            return None
        return (
            [self.component.items[item].size for item in takes],
            [int(self.demand[item]) for item in takes],
            max(self.component.kinds[kind].room for kind in kinds),
        )

    def rates(self, master: Master, duals: Duals) -> Rates:
        """Round the duals to whole numbers that the tables can hold."""
        component = self.component
        items = duals.items if self.exact else np.maximum(0.0, duals.items)
        weights = [-duals.levels.get(level, 0.0) for level in range(master.levels)]
        weights[master.aim] += 1.0
        cost, _, waste, cuts = weights[-4:]
        size = np.array([item.size for item in component.items])
        longest = max(kind.room for kind in component.kinds)
        worst = float(np.max(np.abs(duals.items) / size, initial=0.0)) * longest
        dearest = max((max(sort.handling, default=0) for sort in component.sorts), default=0)
        worst += cost * dearest * longest / float(size.min())
        worst += cuts * longest / float(size.min()) + 2.0 * waste * longest + cuts
        scale = max(1, int(MOST / max(worst, 1e-9)))
        level = [int(np.ceil(weight * scale)) for weight in weights]
        kept = {level: -int(np.ceil(-dual * scale)) for level, dual in duals.levels.items()}
        # No endless bin may be worth beginning empty, or there would be no bound at all.
        endless = [
            level[-4] * kind.cost // component.bought_mm(kind)
            for kind in component.kinds
            if component.bought_mm(kind) > 0
        ]
        kept_least = max(kept.get(master.least, 0), -min(endless, default=0))
        if master.least in kept:
            kept[master.least] = kept_least
        return Rates(
            scale=scale,
            items=np.floor(items * scale).astype(np.int64),
            kinds=np.floor(duals.kinds * scale).astype(np.int64),
            level=level,
            kept=kept,
            bought=kept_least - kept.get(master.most, 0),
        )

    def fill(self, sort: int, rates: Rates) -> None:
        """Fill one sort's table for these rates."""
        table = self.tables[sort]
        if table is not None:
            if self.shared and self.memory is not None:
                table.use(self.memory)
            values = rates.items[self.takes[sort]] - rates.level[-4] * self.handling[sort]
            table.fill(values - rates.level[-1])

    def worth(self, sort: int, kind: int, rates: Rates) -> Whole:
        """For every position of a filled table up to the kind's room: what a pattern is worth."""
        table = self.tables[sort]
        assert table is not None  # nosec B101 # it narrows a type
        room = self.component.kinds[kind].room
        worth = table.last()[: room + 1].astype(np.int64)
        if self.exact:
            reached = worth > REACHED
            begun = self.component.kinds[kind].begun_waste
            worth -= rates.level[-2] * (self.waste[: room + 1][::-1] - begun)
            worth[room] += rates.level[-1]
            worth[~reached] = 2 * REACHED
            worth[0] = 2 * REACHED
        return worth

    def fixed(self, kind: int, rates: Rates) -> int:
        """What beginning a bin of a kind costs."""
        begun = self.component.kinds[kind]
        bought = rates.bought * self.component.bought_mm(begun)
        return rates.level[-4] * begun.cost + rates.level[-3] * begun.opens + bought

    def price(self, master: Master, duals: Duals, kept: dict[int, int], most: int) -> Priced:
        """One round."""
        rates = self.rates(master, duals)
        slack = max(2, int(1e-7 * rates.scale))
        uses: list[tuple[int, Use]] = []
        tops: dict[int, Top] = {}
        for sort, table, found in self.filled(rates):
            tops |= found
            for kind, top in found.items():
                gain = top.worth - top.fixed + int(rates.kinds[kind])
                if gain > slack:
                    pattern = table.pattern(len(table.item), top.position)
                    if pattern:
                        uses.append((gain, self._use(kind, pattern)))
            uses += self._more(sort, rates, slack, most)
        uses.sort(key=lambda entry: -entry[0])
        over, under = 1, 1
        if not self.exact:
            over, under = self._scaled_down(tops)
        total = self.lagrangian(master, rates, tops, kept, over, under)
        whole = under * rates.scale
        return Priced(
            bound=-(-total // whole),
            exact_bound=total / whole,
            shrink=over / under,
            uses=[use for _, use in uses[: max(4 * most, len(tops) // 2)]],
        )

    def tops(self, rates: Rates) -> dict[int, Top]:
        """Fill the tables; the best pattern of each kind, by worth and position."""
        tops: dict[int, Top] = {}
        for _, _, found in self.filled(rates):
            tops |= found
        return tops

    def filled(self, rates: Rates) -> Iterator[tuple[int, Table, dict[int, Top]]]:
        """One table after the other, with the tops of its kinds: shared, it is filled only until
        the next."""
        for sort, table in enumerate(self.tables):
            if table is not None:
                self.fill(sort, rates)
                yield sort, table, dict(self._tops_of(sort, table, rates))

    def _tops_of(self, sort: int, table: Table, rates: Rates) -> Iterator[tuple[int, Top]]:
        last = table.last()
        for kind in self.kinds_of[sort]:
            position = self.component.kinds[kind].room
            if self.exact:
                worth = self.worth(sort, kind, rates)
                position = int(np.argmax(worth))
                value = int(worth[position])
                if value <= REACHED:
                    continue
            else:
                value = int(last[position])
            yield kind, Top(self.fixed(kind, rates), value, position)

    def _more(self, sort: int, rates: Rates, slack: int, most: int) -> list[tuple[int, Use]]:
        """Other patterns of the kinds there are many of."""
        table = self.tables[sort]
        assert table is not None  # nosec B101 # it narrows a type
        plenty = [n for n in self.kinds_of[sort] if self.component.kinds[n].supply > 1]
        many = max(4, most // max(1, len(plenty)))
        more: list[tuple[int, Use]] = []
        for kind in plenty:
            above = self.fixed(kind, rates) - int(rates.kinds[kind]) + slack
            if self.exact:
                worth = self.worth(sort, kind, rates)
                places = np.nonzero(worth > above)[0]
                places = places[np.argsort(-worth[places], kind="stable")[:many]]
                more += [
                    (int(worth[p]) - above, self._use(kind, table.pattern(len(table.item), int(p))))
                    for p in places
                ]
            else:
                room = self.component.kinds[kind].room
                found = table.many(room, above, many)
                more += [(slack + 1, self._use(kind, cut)) for cut in found]
        return more

    def _use(self, kind: int, found: Cut) -> Use:
        """A pattern of a table, whose items are numbered among those taken, as one of ours."""
        takes = self.takes[self.component.kinds[kind].sort]
        return kind, tuple((takes[number], copies) for number, copies in found)

    def _scaled_down(self, tops: dict[int, Top]) -> tuple[int, int]:
        """The fraction of all item duals at which no bin without end is worth using."""
        over, under = 1, 1
        for kind, top in tops.items():
            endless = not self.component.kinds[kind].limited
            if endless and top.worth > 0 and top.fixed * under < top.worth * over:
                over, under = top.fixed, top.worth
        return over, under

    def lagrangian(
        self, master: Master, rates: Rates, tops: dict[int, Top], kept: dict[int, int],
        over: int = 1, under: int = 1,
    ) -> int:  # fmt: skip
        """The bound above for item duals times over / under, in units of 1 / (scale under)."""
        component = self.component
        total = over * int((rates.items * self.demand).sum())
        total += under * sum(rate * kept[level] for level, rate in rates.kept.items())
        groups = [0] * component.groups
        for kind, top in tops.items():
            less = min(0, top.fixed * under - top.worth * over)
            group = component.kinds[kind].group
            if group is None:
                total += int(self.supply[kind]) * less
            else:
                groups[group] += int(self.supply[kind]) * less
        total += sum(min(0, rates.level[-3] * under + less) for less in groups)
        for number, item in enumerate(component.items):
            level = master.ranks.index(item.rank)
            if self.demand[number] and master.kept.get(level) != 0:
                short = rates.level[level] * under - int(rates.items[number]) * over
                total += int(self.demand[number]) * min(0, short)
        return total
