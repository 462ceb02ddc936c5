"""Bounds that need no linear programme: bins of one kind by length, and costs there can be.

Martello and Toth's L2 (1990, "Knapsack Problems", ch. 8): for a threshold t, parts longer than
room - t share a bin with nothing of t or more, parts longer than half the room need a bin each,
and what of the other parts of t or more does not fit beside those needs bins by length. The
largest such count over all t is a bound; t = 0 is the plain one by length.
"""

from __future__ import annotations

from collections import Counter

import numpy as np

from apps.timber.cutting.components import Component

MOST_COST = 4_000_000
"""Dearer plans than this are not worked out to the unit."""


def possible_costs(component: Component, below: int) -> int | None:
    """Which costs up to `below` can be at all: bit c is set if bins and handling can add to c.

    Lengths are sold whole, so the cost of a plan is a sum of a few prices: between a bound and
    the next such sum there is no plan. None where that would be too long a list.
    """
    if below > MOST_COST:
        return None
    sums, mask = 1, (1 << (below + 1)) - 1
    prices = Counter[int]()
    for kind in component.kinds:
        prices[kind.cost] += kind.supply
    for sort in component.sorts:
        for item, rate in zip(sort.takes, sort.handling, strict=True):
            prices[rate] += component.items[item].demand
    for price, count in prices.items():
        left, chunk = min(count, below // price) if price else 0, 1
        while left > 0:
            take = min(chunk, left)
            sums = (sums | sums << (take * price)) & mask
            left -= take
            chunk *= 2
    return sums


def fewest_bins(component: Component) -> int:
    """L2 of a component with one kind of bin."""
    room = component.kinds[0].room
    size = np.array([item.size for item in component.items])
    count = np.array([item.demand for item in component.items])
    best = 0
    for least in (0, *size[2 * size <= room].tolist()):
        alone = size > room - least
        half = ~alone & (2 * size > room)
        small = (2 * size <= room) & (size >= least)
        beside = int((count * (room - size))[half].sum())
        rest = max(0, int((count * size)[small].sum()) - beside)
        best = max(best, int(count[alone | half].sum()) + -(-rest // room))
    return best
