"""Room for the compiled search: what is placed so far, now and at remembered places of an order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from apps.planning.year import kernels as k
from apps.planning.year.kernels import Bytes
from apps.planning.year.tables import Ints, Tables


@dataclass(frozen=True, slots=True)
class Search:
    """One search over the orders of one problem; `kernels` says what the arrays hold."""

    tables: Tables
    gap: Ints
    used: Ints
    mark: Bytes
    sums: Ints
    at: Ints
    orders: Ints
    score: Ints
    chosen: Ints

    def put(self, order: Ints) -> None:
        """Go on from this order; the best so far stays."""
        self.orders[0] = order
        self.orders[1] = order
        self.score[4] = 0

    def go(self, *, hot: float, cold: float, price: float, tries: int, seed: int) -> None:
        """Anneal: `tries` moves at falling temperature, `price` for each unit of broken rule."""
        t = self.tables
        k.anneal(
            t.act, t.row, t.unit, t.hour, t.res, t.span, self.gap, self.used, self.mark, self.sums,
            t.first, self.at, self.orders, self.score, self.chosen,
            np.array([hot, cold, price]), tries, seed,
        )  # fmt: skip


def search_of(t: Tables) -> Search:
    """A search with what is fixed put in, and no order yet."""
    m, resources = int((~t.fixed).sum()), len(t.res)
    blocks = m // k.BLOCK + 1
    states = 3 + 2 * blocks
    profiles = int(t.res[:, 1].max(initial=-1)) + 1
    whose = np.concatenate([t.uses(i)[:, 0] for i in range(t.n)] or [np.zeros(0, np.int64)])
    most = int(np.bincount(whose, minlength=1).max()) + 2
    search = Search(
        tables=t,
        gap=np.zeros((states, resources, most, 2), np.int64),
        used=np.zeros((states, profiles, t.horizon + 1 if profiles else 0), np.int64),
        mark=np.zeros((states, t.n), np.int8),
        sums=np.zeros((states, k.GAPS + resources + t.n), np.int64),
        at=np.repeat(t.at[None], 3, axis=0),
        orders=np.zeros((3, m), np.int64),
        score=np.array([k.FAR, k.FAR, k.FAR, k.FAR, 0], np.int64),
        chosen=np.zeros(blocks + 1, np.int64),
    )
    for r in range(resources):
        search.gap[0, r, 0] = 0, t.hour[t.res[r, 0], -1, 0]
        search.sums[0, k.GAPS + r] = 1
    for i in map(int, np.flatnonzero(t.fixed)):
        _put_in(search, i)
    k.copy_state(search.gap, search.used, search.mark, search.sums, 1, 0)
    return search


def _put_in(search: Search, i: int) -> None:
    t, sums = search.tables, search.sums[0]
    start, end = map(int, t.at[i])
    search.mark[0, i] = 1
    if 0 <= start < t.horizon:
        inside = min(end, t.horizon)
        k.take(t.act, t.row, t.hour, t.res, search.gap, search.used, search.sums, i, start, inside)
    if end > t.act[i, k.DUE]:
        sums[k.LATE] += (end - t.act[i, k.DUE]) * t.act[i, k.WEIGHT]
    sums[k.FINISH] = max(sums[k.FINISH], end)
