"""All patterns that a better plan could use, where they are few enough to list.

With a lower bound L from any duals and a plan of value U, a pattern whose use would lift the
bound to U or more is in no better plan (reduced-cost fixing). What is left is listed from the
pricing tables, item by item: a partial pattern is followed only while the best that can still
come of it is good enough, so nothing is looked at that leads nowhere. A whole-number programme
over the list then gives the best plan or proves that there is no better one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from apps.timber.cutting.knapsack import REACHED, Table
from apps.timber.cutting.master import Master
from apps.timber.cutting.plans import Use
from apps.timber.cutting.pricing import Duals, Pricer, Rates, Whole

MOST_PARTIAL = 200_000


def list_patterns(
    master: Master, pricer: Pricer, duals: Duals, below: int, most: int
) -> list[Use] | None:
    """Every pattern that a plan with a value below `below` may use; None if more than `most`."""
    component = pricer.component
    rates = pricer.rates(master, duals)
    tops = pricer.tops(rates)
    total = pricer.lagrangian(master, rates, tops, master.kept)
    room_left = (below - 1) * rates.scale - total
    if room_left < 0:
        return []
    lifts = [0] * component.groups
    for kind, top in tops.items():
        group = component.kinds[kind].group
        if group is not None:
            lifts[group] += int(pricer.supply[kind]) * min(0, top.fixed - top.worth)
    uses: list[Use] = []
    for kind, top in tops.items():
        least = min(0, top.fixed - top.worth)
        group = component.kinds[kind].group
        allowed = room_left + least
        if group is not None:
            opened = rates.level[-3] + lifts[group]
            allowed += min(0, opened) - opened
        found = _of_kind(pricer, rates, kind, top.fixed - allowed, most - len(uses))
        if found is None:
            return None
        uses += found
    return uses


def _of_kind(pricer: Pricer, rates: Rates, kind: int, at_least: int, most: int) -> list[Use] | None:
    sort = pricer.component.kinds[kind].sort
    room = pricer.component.kinds[kind].room
    table, takes = pricer.tables[sort], pricer.takes[sort]
    assert table is not None  # nosec B101 # it narrows a type
    if pricer.shared:
        pricer.fill(sort, rates)
    if pricer.exact:
        worth = pricer.worth(sort, kind, rates)
        ends = np.nonzero(worth >= max(at_least, REACHED))[0]
        gained = worth[ends] - table.last()[ends]
    else:
        ends, gained = np.array([room]), np.zeros(1, dtype=np.int64)
    copies = [int(pricer.demand[item]) for item in takes]
    found = _follow(table, copies, ends, gained, at_least, most)
    if found is None:
        return None
    if not pricer.exact:
        found = found[_full(found, pricer, sort, room)]
    if len(found) > most:
        return None
    cuts = [tuple((takes[n], int(row[n])) for n in np.nonzero(row)[0].tolist()) for row in found]
    return [(kind, cut) for cut in cuts if cut]


def _follow(
    table: Table, copies: list[int], ends: Whole, gained: Whole, at_least: int, most: int
) -> NDArray[np.int32] | None:
    """Patterns as rows of counts, ending at `ends` and worth `at_least` with what is gained."""
    items = len(copies)
    through = np.zeros(items + 1, dtype=np.int64)
    for row, item in enumerate(table.item.tolist()):
        through[item + 1] = row + 1
    through = np.maximum.accumulate(through)
    position, worth = ends.astype(np.int64), gained.astype(np.int64)
    steps: list[tuple[NDArray[np.int64], NDArray[np.int32]]] = []
    for item in range(items - 1, -1, -1):
        before = table.best[through[item]]
        rows = slice(through[item], through[item + 1])
        if rows.start == rows.stop:
            continue
        size, value = int(table.size[rows.start]), int(table.worth[rows.start])
        parts = []
        for count in range(min(copies[item], table.room // size) + 1):
            there = position - count * size
            good = there >= 0
            reach = before[np.maximum(there, 0)].astype(np.int64)
            good &= (worth + count * value + reach >= at_least) & (reach > REACHED)
            chosen = np.nonzero(good)[0]
            parts.append(
                (chosen, there[chosen], worth[chosen] + count * value,
                 np.full(len(chosen), count, dtype=np.int32))
            )  # fmt: skip
        parent = np.concatenate([part[0] for part in parts])
        position = np.concatenate([part[1] for part in parts])
        worth = np.concatenate([part[2] for part in parts])
        steps.append((parent, np.concatenate([part[3] for part in parts])))
        if len(position) > MOST_PARTIAL:
            return None
    if len(position) > 4 * most:
        return None
    found = np.zeros((len(position), items), dtype=np.int32)
    pointer = np.arange(len(position))
    numbers = [item for item in range(items) if through[item] < through[item + 1]]
    for item, (parent, counts) in zip(numbers, reversed(steps), strict=True):
        found[:, item] = counts[pointer]
        pointer = parent[pointer]
    return found


def _full(found: NDArray[np.int32], pricer: Pricer, sort: int, room: int) -> NDArray[np.bool_]:
    """Which of these leave no room for another copy: the others are part of one that does."""
    takes = pricer.takes[sort]
    size = np.array([pricer.component.items[item].size for item in takes])
    copies = np.array([int(pricer.demand[item]) for item in takes])
    handled = pricer.handling[sort]
    spare = np.where((found < copies) & (handled == 0), size, room + 1)
    return np.asarray(spare.min(axis=1) > room - found @ size)
