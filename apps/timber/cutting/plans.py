"""Plans inside a component: what one is worth, and the quick ones everything starts from.

`first_fit` is first-fit-decreasing carried over to many kinds of bin: parts in order of rank
and length, each into the first bin begun that has room, else into a new bin. The search begins
with the best of several such plans and only ever replaces a plan by a better one, so no answer
is worse than any of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from apps.timber.cutting.components import Component, Cut, Kind

Use = tuple[int, Cut]
"""A kind and what is cut from one bin of it."""
Plan = dict[Use, int]
"""How many bins are cut which way."""


@dataclass(frozen=True, slots=True)
class Costs:
    """What one bin cut one way adds to the levels below `unmet`."""

    cost: int
    opened: int
    waste: int
    cuts: int


def costs(component: Component, use: Use) -> Costs:
    """Work out a use; a piece of several runs is counted where the plan is."""
    number, cut = use
    kind = component.kinds[number]
    sort = component.sorts[kind.sort]
    handling = dict(zip(sort.takes, sort.handling, strict=True))
    rest = kind.room - sum(component.items[i].size * count for i, count in cut)
    return Costs(
        cost=kind.cost + sum(handling[i] * count for i, count in cut),
        opened=kind.opens,
        waste=component.waste(kind, rest),
        cuts=sum(count for _, count in cut) - (rest == 0),
    )


def ranks(component: Component) -> tuple[int, ...]:
    """The ranks there are, the most important first."""
    return tuple(sorted({item.rank for item in component.items}))


def unmet(component: Component, plan: Plan) -> list[int]:
    """How many of each item nobody gets."""
    left = [item.demand for item in component.items]
    for (_, cut), count in plan.items():
        for item, copies in cut:
            left[item] -= copies * count
    return left


def value(component: Component, plan: Plan) -> tuple[int, ...]:
    """All levels of a plan, ranks of `unmet` first: the smaller tuple is the better plan."""
    missing = unmet(component, plan)
    by_rank = [
        sum(left for item, left in zip(component.items, missing, strict=True) if item.rank == rank)
        for rank in ranks(component)
    ]
    total = [0, 0, 0, 0]
    groups = set()
    for use, count in plan.items():
        one = costs(component, use)
        for place, amount in enumerate((one.cost, one.opened, one.waste, one.cuts)):
            total[place] += amount * count
        groups.add(component.kinds[use[0]].group)
    total[1] += len(groups - {None})
    return (*by_rank, *total)


def trimmed(component: Component, uses: Iterable[tuple[Use, int]]) -> Plan:
    """A plan from patterns that may cut too much: copies too many are left uncut.

    They are taken from the bins that are left the emptiest by it, and a bin left empty is not
    begun at all.
    """
    singles = [(kind, dict(cut)) for (kind, cut), count in uses for _ in range(count)]
    over = [-item.demand for item in component.items]
    for _, counts in singles:
        for item, copies in counts.items():
            over[item] += copies
    size = [item.size for item in component.items]
    for item in range(len(over)):
        while over[item] > 0:
            holders = [entry for entry in singles if entry[1].get(item)]
            kind, counts = min(
                holders, key=lambda entry: sum(size[i] * n for i, n in entry[1].items())
            )
            take = min(over[item], counts[item])
            counts[item] -= take
            over[item] -= take
    plan: Plan = Counter()
    for kind, counts in singles:
        cut = tuple(sorted((item, copies) for item, copies in counts.items() if copies))
        if cut:
            plan[kind, cut] += 1
    return dict(plan)


def first_fit(
    component: Component,
    prefer: Callable[[Kind], tuple[float, ...]],
    *,
    demand: Sequence[int],
    supply: Sequence[int],
    tightest: bool = False,
    order: Sequence[tuple[int, int]] | None = None,
) -> Plan:
    """Every copy into the first bin begun with room (or the tightest), else into a new one.

    `demand` and `supply` are what is wanted of each item and there of each kind; `prefer` says
    which kind is begun rather than another. `order` is (item, copies) in the order of cutting,
    by rank and length if not given.
    """
    if order is None:
        numbers = (number for number, wanted in enumerate(demand) if wanted)
        order = sorted(
            ((number, demand[number]) for number in numbers),
            key=lambda entry: (component.items[entry[0]].rank, -component.items[entry[0]].size),
        )
    takes = [frozenset(sort.takes) for sort in component.sorts]
    there = list(supply)
    fresh = sorted(range(len(component.kinds)), key=lambda n: prefer(component.kinds[n]))
    rest: list[int] = []
    begun: list[tuple[int, Counter[int]]] = []

    def begin(item: int, allowed: Sequence[bool]) -> bool:
        for number in fresh:
            kind = component.kinds[number]
            if there[number] and kind.room >= component.items[item].size and allowed[kind.sort]:
                there[number] -= 1
                rest.append(kind.room)
                begun.append((number, Counter()))
                return True
        return False

    for item, wanted in order:
        size = component.items[item].size
        allowed = [item in taken for taken in takes]
        start = 0
        missing = wanted
        while missing:
            open_to = (
                number
                for number in range(start, len(rest))
                if rest[number] >= size and allowed[component.kinds[begun[number][0]].sort]
            )
            if tightest:
                place = min(open_to, key=rest.__getitem__, default=None)
            else:
                place = start = next(open_to, len(rest))
            if place is None or place == len(rest):
                if not begin(item, allowed):
                    break
                place = len(rest) - 1
            # Where one copy goes, the next ones go too as long as there is room.
            copies = min(missing, rest[place] // size)
            missing -= copies
            rest[place] -= copies * size
            begun[place][1][item] += copies
    plan: Plan = Counter()
    for kind_number, counts in begun:
        plan[kind_number, tuple(sorted(counts.items()))] += 1
    return dict(plan)


def quick_plans(component: Component) -> list[Plan]:
    """First fit and best fit, beginning the cheapest, the cheapest by length and the longest."""
    demand = [item.demand for item in component.items]
    supply = [kind.supply for kind in component.kinds]
    asked = sorted(
        (item.rank, -item.size, place, number, count)
        for number, item in enumerate(component.items)
        for place, (_, count) in zip(item.places, item.keys, strict=True)
    )
    order = [(number, count) for _, _, _, number, count in asked]
    preferences = (cheapest, cheapest_whatever_it_opens, cheapest_by_length)
    return [
        first_fit(component, prefer, demand=demand, supply=supply, tightest=tightest, order=order)
        for prefer in (preferences if len(component.kinds) > 1 else preferences[:1])
        for tightest in (False, True)
    ]


def cheapest(kind: Kind) -> tuple[float, ...]:
    """Prefer what costs least to begin, then the shorter."""
    return kind.cost, kind.opens, kind.room


def cheapest_whatever_it_opens(kind: Kind) -> tuple[float, ...]:
    """Prefer what costs least to begin, then the shorter, salvaged or not."""
    return kind.cost, kind.room


def cheapest_by_length(kind: Kind) -> tuple[float, ...]:
    """Prefer what costs least for its length, then the longer."""
    return kind.cost / kind.room, -kind.room
